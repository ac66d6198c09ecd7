"""Everybody in the demo: invented names, confirmed addresses, and a password for four of them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from demo_seed.sign_ins import CLUB_MANAGER, SHOP_MANAGER, SKIER, TECHNICIAN
from portal.db.people import Person
from portal.domain.access import Actor, StaffRole
from portal.queries import people as find_people

# The first is the demo's skier.
SKIERS = (
    "Tilda Ferncombe",
    "Osk Brambleford",
    "Maren Underhay",
    "Jory Pinewater",
    "Elka Stonebeck",
    "Bram Withyfield",
    "Sunniva Larkmoor",
    "Teo Marshgate",
    "Ida Rushmere",
    "Kaleb Thornwick",
    "Wenna Birchgarth",
    "Halvar Mossley-Reed",
    "Petra Coldwell-Ash",
    "Lorn Heatherside",
    "Runa Sedgewater",
    "Anselm Crowhurst-Fell",
    "Yrsa Bellbracken",
    "Dov Alderslade",
    "Freja Ryegrove",
    "Nils-Ove Tarnbeck",
    "Oda Hazelrigg-Moor",
    "Casper Willowthwaite",
    "Bente Snowsgill",
    "Ivo Larchmantle",
    "Signy Fellbridge",
    "Matteo Junipero-Vale",
    "Alva Harebell",
    "Gard Ottershaw-Lund",
    "Linnea Reedmace",
    "Pavo Cloudberry",
)
# The first is the demo's club manager.
CLUB_MANAGERS = ("Greta Hollinwood", "Aron Vetchley", "Disa Ploverton", "Kit Hawkbit")
STAFF = (
    ("Merle Oakhanger", SHOP_MANAGER, StaffRole.MANAGER),
    ("Tove Millrace", TECHNICIAN, StaffRole.TECHNICIAN),
    ("Eskil Grindstead", "eskil@hollowmere.example", StaffRole.TECHNICIAN),
)


class People:
    """The actors, as the rules see them."""

    def __init__(self, session: Session, password_hash: str, now: datetime) -> None:
        self._session, self._hash, self._now = session, password_hash, now
        self.staff = [self._add(name, email, role) for name, email, role in STAFF]
        self.skiers = [
            self._add(name, address(name) if number else SKIER) for number, name in enumerate(SKIERS)
        ]
        self.club_managers = [
            self._add(name, address(name) if number else CLUB_MANAGER)
            for number, name in enumerate(CLUB_MANAGERS)
        ]

    @property
    def shop_manager(self) -> Actor:
        return self.staff[0]

    @property
    def technicians(self) -> list[Actor]:
        return self.staff[1:]

    def newcomer(self, name: str, now: datetime) -> Actor:
        """Somebody who comes for the first time, and not to sign in."""
        return self._add(name, address(name), confirmed=now)

    def _add(
        self, name: str, email: str, role: StaffRole | None = None, confirmed: datetime | None = None
    ) -> Actor:
        # Not by the sign-up: it wants a password of each, and hashing thirty-odd of them would take seconds.
        can_sign_in = email in {SKIER, TECHNICIAN, SHOP_MANAGER, CLUB_MANAGER}
        person = Person(
            email=email,
            name=name,
            password_hash=self._hash if can_sign_in else None,
            staff_role=role,
            staff_since=self._now if role else None,
            confirmed_at=confirmed or self._now,
            created_at=confirmed or self._now,
        )
        self._session.add(person)
        self._session.flush()  # The actor carries the person's number.
        return find_people.actor_of(self._session, person)


def address(name: str) -> str:
    """An address that no letter can ever reach."""
    return ".".join(name.lower().replace("-", "").split()) + "@skiers.example"
