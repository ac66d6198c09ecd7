"""The workshop this installation serves."""

from __future__ import annotations

from sqlalchemy.orm import Session

from portal.db.workshop import Workshop
from portal.queries import workshop as find_workshop


def set_up(
    session: Session,
    *,
    name: str | None = None,
    email: str | None = None,
    phone: str | None = None,
    address: str | None = None,
    timezone: str | None = None,
    currency: str | None = None,
) -> Workshop:
    """Make the workshop, or change what is given and leave the rest; a new one needs a name."""
    workshop = find_workshop.the_or_none(session)
    if workshop is None:
        if not name:
            raise ValueError("a new workshop without a name")
        workshop = Workshop(name=name)
        session.add(workshop)
    given = {
        "name": name,
        "email": email,
        "phone": phone,
        "address": address,
        "timezone": timezone,
        "currency": currency,
    }
    for column, value in given.items():
        if value is not None:
            setattr(workshop, column, value)
    return workshop
