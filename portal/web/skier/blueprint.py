"""The skier's door: whoever is signed in."""

from __future__ import annotations

from flask import Blueprint

from portal.web.request import door

bp = Blueprint("skier", __name__, url_prefix="/my")
bp.before_request(door(lambda _who: True))
