"""Invoices as files: the paper and the XML, the same for the workshop, for whoever pays, and for their letter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from werkzeug.wrappers import Response

from portal.documents import invoice as paper
from portal.documents import ubl
from portal.domain.enclosures import Enclosure
from portal.domain.invoices import Invoice
from portal.services import invoices
from portal.web.papers import fallback_fonts, pdf

if TYPE_CHECKING:
    from portal.db.invoices import IssuedInvoice


def printed(it: Invoice) -> tuple[Enclosure, ...]:
    """What goes with the letter."""
    return (
        Enclosure(f"{it.number}.pdf", "application/pdf", paper.render(it, fallback_fonts=fallback_fonts())),
        Enclosure(f"{it.number}.xml", "application/xml", ubl.render(it)),
    )


def paper_answer(issued: IssuedInvoice) -> Response:
    """The invoice as PDF."""
    it = invoices.content_of(issued)
    return pdf(paper.render(it, fallback_fonts=fallback_fonts()), it.number)


def xml_answer(issued: IssuedInvoice) -> Response:
    """The invoice as XML, to be kept."""
    it = invoices.content_of(issued)
    return Response(
        ubl.render(it),
        mimetype="application/xml",
        headers={"Content-Disposition": f'attachment; filename="{it.number}.xml"'},
    )
