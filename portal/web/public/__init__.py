"""Pages that anyone may open."""

from portal.web.public import advice, demo, home, snow, structures

__all__ = ["advice", "demo", "home", "snow", "structures"]
