"""The receipts of whoever ordered, a skier or a club: the workshop gives out the first paper, so these say that they are copies."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.queries import payments as find_payments
from portal.web.receipts import receipt_answer
from portal.web.request import actor, db
from portal.web.skier.blueprint import bp


@bp.get("/receipts/<int:payment_id>/receipt.pdf")
def receipt(payment_id: int) -> Response:
    return receipt_answer(find_payments.one(db(), actor(), payment_id), is_copy=True)
