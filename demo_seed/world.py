"""The whole demo world, from an empty database."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from demo_seed import (
    answers,
    bills,
    desk,
    glide_notes,
    hands,
    past,
    planned,
    reworks,
    rosters,
    setting,
    stone,
    venues,
    workshop_words,
)
from demo_seed.bench import Bench, moment
from demo_seed.counter import Counter
from demo_seed.families import Families
from demo_seed.people import People
from demo_seed.present import Present
from demo_seed.stories import live
from portal.db.people import Person
from portal.queries import letters as find_letters
from portal.reference import Reference
from portal.services import letters

LETTERS_LEFT = 8
LETTERS_AT_MOST = 100_000


def has_people(session: Session) -> bool:
    """Whether somebody is in this database already."""
    return bool(session.scalar(select(func.count()).select_from(Person)))


def fill(session: Session, reference: Reference, password_hash: str, today: date) -> None:
    """Make the world as it is on the morning of ``today``: the same for the same day, but for the hash."""
    # Not for secrets: the world has to be the same every time.
    rng = Random("a morning at Hollowmere")  # noqa: S311
    start = setting.winters(today)[0][0] - timedelta(days=30)
    setting.set_up(session, reference, today)
    setting.open_days(session, rng, today)
    people = People(session, password_hash, moment(start, 9))
    setting.open_places(session, people.shop_manager, moment(start, 9))
    workshop_words.say(session, people.shop_manager, reference, moment(start, 9))
    bench = Bench(session, rng, people.shop_manager, people.technicians)
    rosters.give_skiers_pairs(session, rng, bench, people, today, moment(start, 10))
    clubs = rosters.found_clubs(session, rng, bench, people, today, moment(start, 11))
    venues.load(session, people.shop_manager, setting.winters(today)[0][0], moment(start, 13))
    answers.answer(session, rng, people, clubs, moment(start, 12))
    past.live_through(bench, rng, people.skiers, clubs, today)
    present = Present(bench, rng, people.skiers, today)
    # Chance of their own, so that the families leave the rest of the world as it is.
    families = Families(session, Random("the skis of a whole house"), people, today, bench.runs)  # noqa: S311
    live([*families.stories(), *present.stories(clubs), families.stone()], today)
    planned.take_a_plan(session, people.technicians[0], today)
    present.go_on()
    # Chance of its own as well.
    Counter(session, Random("a hand on every base"), bench, people, today).open(present.before)  # noqa: S311
    # Chance of its own, so that the notes leave the rest of the world as it is.
    glide_notes.write(session, Random("two pairs on one hill"), people.skiers, reference.tables, today)  # noqa: S311
    # What was booked until now keeps the structure it was booked with.
    stone.change(session, people.shop_manager, today - timedelta(days=12), moment(today, 7))
    desk.open_up(session, bench, people, today)
    reworks.look_back(session, people.technicians[0], today)
    # Chance of its own here too.
    hands.pass_on(session, Random("sold in autumn"), people.skiers, people.technicians[0], today)  # noqa: S311
    bills.issue(session, people.shop_manager, clubs[0][0], today)
    workshop_words.keep_hours(session, people.shop_manager, today, moment(today, 7))
    _send_old_letters(session)


def _send_old_letters(session: Session) -> None:
    """All letters but the last few have left the house long ago."""
    session.flush()  # The letters are numbered when they are written.
    for letter in find_letters.newest(session, LETTERS_AT_MOST)[LETTERS_LEFT:]:
        letters.mark_sent(session, letter.id, letter.created_at + timedelta(minutes=1))
