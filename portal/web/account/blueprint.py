"""The blueprint of the account pages. It has no door: most of its pages are for people who are not signed in."""

from __future__ import annotations

from flask import Blueprint

bp = Blueprint("account", __name__)
