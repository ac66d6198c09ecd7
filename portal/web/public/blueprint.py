"""The pages without a door."""

from __future__ import annotations

from flask import Blueprint

bp = Blueprint("public", __name__)
