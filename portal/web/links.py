"""The links in letters, with the keys of this installation."""

from __future__ import annotations

from portal.services.links import Links
from portal.web.request import portal


def links() -> Links:
    """What makes and reads them."""
    return Links(portal().settings.secret_keys)
