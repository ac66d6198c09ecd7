"""Letters about a pair to whoever has or had it: a person, or each manager of a club."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.handovers import Holder
from portal.mail import outbox, pair_letters
from portal.mail.pair_letters import News
from portal.queries import clubs as find_clubs
from portal.queries import own_texts as find_own_texts
from portal.queries import workshop as find_workshop
from portal.services.notices import recipients


def people_of(session: Session, holder: Holder) -> list[Person]:
    """Who is written to for a holder; nobody where the holder is forgotten."""
    if holder.club_id is not None:
        return find_clubs.managers(session, holder.club_id)
    person = session.get(Person, holder.person_id) if holder.person_id is not None else None
    return [person] if person is not None else []


def tell(session: Session, news: News, holder: Holder, pair_id: int, title: str, now: datetime) -> int:
    """Write to the holder what happened to a pair; gives back how many have an address to write to."""
    workshop = find_workshop.the(session)
    to = recipients(people_of(session, holder), find_own_texts.current(session))
    for recipient in to:
        letter = pair_letters.news_of(news, workshop, recipient, _page(holder, pair_id), title, now)
        outbox.put(session, letter, now)
    return len(to)


def _page(holder: Holder, pair_id: int) -> str:
    if holder.club_id is not None:
        return f"{outbox.SITE}/club/{holder.club_id}/pairs/{pair_id}"
    return f"{outbox.SITE}/my/pairs/{pair_id}"
