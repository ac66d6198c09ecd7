"""A drawing as a page shows it, with its words and its numbers; ``components/picture.html`` writes it."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from portal.pictures.ink import Table
from portal.pictures.svg import Drawing, inline


@dataclass(frozen=True)
class Shown:
    """One picture, ready for a page, with its words and its numbers."""

    title: str
    svg: Markup
    described: str
    table: Table


def on_page(drawing: Drawing, uid: str, title: str, described: str) -> Markup:
    """The drawing as SVG within a page; two on one page need two ``uid``."""
    # Written by our own drawing; the words in it are escaped by the XML writer.
    return Markup(inline(drawing, uid, title, described))  # noqa: S704


def shown(drawing: Drawing, uid: str, title: str, described: str, table: Table) -> Shown:
    """The drawing with all that stands beside it."""
    return Shown(title, on_page(drawing, uid, title, described), described, table)
