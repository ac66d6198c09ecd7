"""Rillbook: the web portal of a workshop that stone-grinds cross-country skis."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from portal.config import Settings


def create_app(settings: Settings) -> Flask:
    """The web application for these settings."""
    # Imported here, so that `import portal` (and with it every small command) does not load the web.
    from portal.web import make_app

    return make_app(settings)
