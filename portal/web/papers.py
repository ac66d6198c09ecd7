"""Papers as answers: who they are from, what font helps out, and how the browser takes them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from werkzeug.wrappers import Response

from portal.documents.letterhead import Letterhead
from portal.web.hours import hours_in_one_line
from portal.web.request import portal


def fallback_fonts() -> Sequence[Path] | None:
    """The font file that is set for letters the papers' own type lacks, or nothing, for those of the system."""
    fallback = portal().settings.fallback_font
    return [fallback] if fallback else None


def letterhead(workshop: Any) -> Letterhead:
    """The workshop as it stands on its papers."""
    return Letterhead(
        workshop.name,
        tuple(workshop.address.splitlines()),
        workshop.phone,
        workshop.email,
        portal().settings.base_url,
        hours_in_one_line(workshop),
    )


def pdf(paper: bytes, name: str, *, to_keep: bool = False) -> Response:
    """The file ``name``.pdf: to look at and print, or ``to_keep``."""
    way = "attachment" if to_keep else "inline"
    return Response(
        paper,
        mimetype="application/pdf",
        headers={"Content-Disposition": f'{way}; filename="{name}.pdf"'},
    )
