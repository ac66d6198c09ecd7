"""Two invented venues with an invented winter each: one that skiers can choose, one that waits to be looked at."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from random import Random

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.services import venues

WINTER_DAYS = 181
# (name, height in m, air in °C on an ordinary day, how far a cold and a mild day lie from it, humidity in %)
KEPT = ("Hollowmere valley tracks", 210, -4.5, 5.5, 80)
WAITING = ("High Fell loop", 780, -8.5, 6.0, 68)


def load(session: Session, manager: Actor, winter: date, now: datetime) -> None:
    """Load both from files as a manager would; ``winter`` is the 1 November on which the readings begin."""
    made = venues.load(session, manager, KEPT[0], "hollowmere-valley.csv", _file(*KEPT, winter), now)
    venues.keep(session, manager, made.id, now + timedelta(minutes=4))
    rows = _file(*WAITING, winter).decode().splitlines()
    # A logger that froze for three hours, and one row typed by hand.
    for number in (900, 901, 902):
        rows[number] = f"{rows[number].split(';')[0]};;"
    rows[1500] = "in the afternoon;-7;70"
    file = "\n".join(rows).encode()
    venues.load(session, manager, WAITING[0], "high-fell-logger.csv", file, now + timedelta(minutes=9))


def _file(name: str, height_m: int, ordinary_c: float, spread_c: float, humidity: int, winter: date) -> bytes:
    """A table of a winter's hours: coldest in January, colder by night, with spells of a few days."""
    # Not for secrets: the winter of a venue has to be the same every time.
    rng = Random(name)  # noqa: S311
    lines = [
        f"# place: {name}",
        "# latitude: 61.2",
        f"# elevation: {height_m} m",
        "time;air [°C];humidity [%]",
    ]
    spell = 0.0
    for day in range(WINTER_DAYS):
        spell = 0.75 * spell + 0.6 * spread_c * rng.gauss(0, 1)
        season = 4 * math.cos(2 * math.pi * (day - 80) / 365) - 3
        for hour in range(24):
            at = datetime.combine(winter, datetime.min.time()) + timedelta(days=day, hours=hour)
            sun = math.sin(2 * math.pi * (hour - 8) / 24)
            air_c = ordinary_c - season + spell + 2.5 * sun + rng.gauss(0, 0.4)
            damp = min(100.0, max(30.0, humidity - 6 * sun + rng.gauss(0, 4)))
            lines.append(f"{at:%Y-%m-%d %H:%M};{air_c:.1f};{damp:.0f}")
    return ("\n".join(lines) + "\n").encode()
