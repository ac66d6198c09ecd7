"""The workshop's door: whoever works here."""

from __future__ import annotations

from flask import Blueprint, redirect, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotAllowed
from portal.queries import second_factors as find_factors
from portal.queries import workshop as find_workshop
from portal.web.request import actor, db, door

bp = Blueprint("shop", __name__, url_prefix="/shop")
bp.before_request(door(lambda who: who.is_staff))


@bp.before_request
def lead_to_second_step() -> Response | None:
    """Where the workshop asks everybody for a second step, no page opens before there is one."""
    workshop = find_workshop.the_or_none(db())
    if workshop is None or not workshop.second_factor_required:
        return None
    if find_factors.has_any(db(), actor().person_id):
        return None
    return redirect(url_for("account.how_you_sign_in"), 303)


def insist_on_manager() -> None:
    """Pass for whoever runs the shop: days and capacity have no thing to ask the table of rules about."""
    if not actor().is_manager:
        raise NotAllowed
