"""The four people of the demo that can sign in. Everybody else in it has no password."""

from __future__ import annotations

PASSWORD = "seven quiet larches"  # noqa: S105 - printed for everybody who tries the demo

SKIER = "skier@hollowmere.example"
TECHNICIAN = "technician@hollowmere.example"
SHOP_MANAGER = "manager@hollowmere.example"
CLUB_MANAGER = "club@hollowmere.example"

SIGN_INS = {
    "skier": SKIER,
    "bench technician": TECHNICIAN,
    "shop manager": SHOP_MANAGER,
    "club manager": CLUB_MANAGER,
}
