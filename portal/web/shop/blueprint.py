"""The workshop's door: whoever works here."""

from __future__ import annotations

from flask import Blueprint

from portal.domain.errors import NotAllowed
from portal.web.request import actor, door

bp = Blueprint("shop", __name__, url_prefix="/shop")
bp.before_request(door(lambda who: who.is_staff))


def insist_on_manager() -> None:
    """Pass for whoever runs the shop: days and capacity have no thing to ask the table of rules about."""
    if not actor().is_manager:
        raise NotAllowed
