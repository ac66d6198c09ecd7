"""Pages that anyone may open."""

from portal.web.public import advice, care, demo, home, orders, papers, season_letter, snow, structures, tags
from portal.web.public.blueprint import bp

__all__ = [
    "advice",
    "bp",
    "care",
    "demo",
    "home",
    "orders",
    "papers",
    "season_letter",
    "snow",
    "structures",
    "tags",
]
