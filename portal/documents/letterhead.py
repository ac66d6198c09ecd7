"""Who a paper is from: the same head on all of them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Letterhead:
    """Who made the paper and how to reach them."""

    name: str
    address_lines: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    web: str = ""
    hours: str = ""
