"""The invoices of whoever ordered, a skier or a club, as files."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.queries import invoices as find_invoices
from portal.web.invoice_files import paper_answer, xml_answer
from portal.web.request import actor, db
from portal.web.skier.blueprint import bp


@bp.get("/invoices/<int:invoice_id>/invoice.pdf")
def invoice_paper(invoice_id: int) -> Response:
    return paper_answer(find_invoices.one(db(), actor(), invoice_id))


@bp.get("/invoices/<int:invoice_id>/invoice.xml")
def invoice_xml(invoice_id: int) -> Response:
    return xml_answer(find_invoices.one(db(), actor(), invoice_id))
