"""Pages that anyone may open."""

from portal.web.public import advice, demo, home, orders, snow, structures, tags
from portal.web.public.blueprint import bp

__all__ = ["advice", "bp", "demo", "home", "orders", "snow", "structures", "tags"]
