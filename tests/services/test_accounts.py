"""Accounts: who is let in, who is told what, and what a stranger can learn."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from argon2 import PasswordHasher
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.outbox import OutboxLetter
from portal.db.pairs import SnowAnswers
from portal.db.people import FailedTry, LoginSession, Person
from portal.domain.access import StaffRole
from portal.domain.errors import NotFound
from portal.queries import people as find_people
from portal.services import accounts, sign_ins, snow_answers, throttle
from portal.services.addresses import network_of, normal_email
from portal.services.links import Link, Links, Purpose
from portal.services.passwords import Passwords, passwords, weakness
from tests import make

NOW = datetime(2026, 12, 7, 9, 0, tzinfo=UTC)
HASHER = passwords(cheap=True)
LINKS = Links(["a key for tests that is long enough to sign"])
GOOD = "seven pines in fog"
OTHER = "the kettle sings low"
HERE = "192.0.2.7"


def new_person(
    email: str = "ada@example.test", password: str = GOOD, name: str = "Ada"
) -> accounts.NewPerson:
    return accounts.NewPerson(email, name, HASHER.hash(password))


def member(session: Session, password: str = GOOD, **given: object) -> Person:
    return make.person(
        session, **{"email": "ada@example.test", "password_hash": HASHER.hash(password), **given}
    )


def try_in(
    session: Session,
    email: str,
    password: str,
    now: datetime = NOW,
    network: str = HERE,
    login_id: str = "login",
) -> sign_ins.Verdict:
    attempt = sign_ins.weigh(session, HASHER, email, password)
    return sign_ins.sign_in(session, attempt, sign_ins.Browser(login_id, "Firefox", network), now)


def letters(session: Session) -> list[OutboxLetter]:
    session.flush()
    return list(session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)))


def token_in(letter: OutboxLetter) -> str:
    found = re.search(r"\{site\}/(?:confirm|reset)/(\S+)", letter.body)
    assert found, letter.body
    return found[1]


def count(session: Session, table: type) -> int:
    return session.scalar(select(func.count()).select_from(table)) or 0


# Signing up


def test_whoever_signs_up_gets_a_link_and_is_let_in_once_it_is_used(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    (letter,) = letters(session)
    assert letter.recipient == "ada@example.test"
    assert try_in(session, "ada@example.test", GOOD).actor is None
    assert accounts.confirm(session, LINKS, token_in(letter), NOW) is not None
    verdict = try_in(session, "ada@example.test", GOOD)
    assert verdict.actor is not None
    assert verdict.actor.name == "Ada"


def test_a_confirming_link_works_once(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    token = token_in(letters(session)[0])
    assert accounts.confirm(session, LINKS, token, NOW)
    assert accounts.to_confirm(session, LINKS, token, NOW) is None
    assert accounts.confirm(session, LINKS, token, NOW) is None


def test_a_confirming_link_ends_after_two_days(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    token = token_in(letters(session)[0])
    assert accounts.to_confirm(session, LINKS, token, NOW + timedelta(days=2)) is not None
    assert accounts.to_confirm(session, LINKS, token, NOW + timedelta(days=2, seconds=1)) is None


def test_signing_up_with_a_known_address_changes_nothing_and_tells_its_owner(session: Session) -> None:
    person = member(session)
    before = (person.name, person.password_hash)
    verdict = accounts.sign_up(session, LINKS, new_person(password=OTHER, name="Eve"), HERE, NOW)
    assert verdict == sign_ins.Verdict()
    assert (person.name, person.password_hash) == before
    (letter,) = letters(session)
    assert letter.recipient == "ada@example.test"
    assert "have an account here already" in letter.body
    assert "/confirm/" not in letter.body
    assert "Eve" not in letter.subject + letter.body


def test_an_address_is_one_account_however_it_is_cased(session: Session) -> None:
    member(session)
    accounts.sign_up(
        session, LINKS, new_person(email=normal_email("ADA@Example.test", test_names=True) or ""), HERE, NOW
    )
    session.flush()
    assert count(session, Person) == 1


def test_the_newest_sign_up_counts_and_ends_the_link_of_the_one_before(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    accounts.sign_up(session, LINKS, new_person(password=OTHER), HERE, NOW)
    first, second = letters(session)
    assert accounts.confirm(session, LINKS, token_in(first), NOW) is None
    assert accounts.confirm(session, LINKS, token_in(second), NOW) is not None
    assert try_in(session, "ada@example.test", GOOD).actor is None
    assert try_in(session, "ada@example.test", OTHER).actor is not None


def test_signing_up_with_an_invited_address_sets_no_password(session: Session) -> None:
    accounts.enrol(session, LINKS, "tina@example.test", "Tina", StaffRole.TECHNICIAN, NOW)
    accounts.sign_up(session, LINKS, new_person(email="tina@example.test"), HERE, NOW)
    person = find_people.by_email(session, "tina@example.test")
    assert person is not None
    assert person.password_hash is None
    assert ["/reset/" in letter.body for letter in letters(session)] == [True, True]


def test_letters_to_strangers_never_repeat_the_name_that_was_typed(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(name="Win skis at bad.example"), HERE, NOW)
    (letter,) = letters(session)
    assert "bad.example" not in letter.subject + letter.body


def test_a_mailbox_gets_no_more_than_five_letters_an_hour(session: Session) -> None:
    member(session)
    for _ in range(8):
        assert accounts.ask_for_reset(session, LINKS, "ada@example.test", HERE, NOW).wait_until is None
    assert len(letters(session)) == 5
    accounts.ask_for_reset(session, LINKS, "ada@example.test", HERE, NOW + timedelta(hours=1, seconds=1))
    assert len(letters(session)) == 6


@pytest.mark.parametrize("known", [True, False])
def test_a_network_may_ask_for_thirty_letters_an_hour_whether_or_not_they_are_sent(
    session: Session, known: bool
) -> None:
    if known:
        member(session)
    for _ in range(30):
        assert accounts.ask_for_reset(session, LINKS, "ada@example.test", HERE, NOW).wait_until is None
        session.flush()
    assert accounts.ask_for_reset(
        session, LINKS, "ada@example.test", HERE, NOW
    ).wait_until == NOW + timedelta(hours=1)
    assert accounts.send_again(session, LINKS, "ada@example.test", HERE, NOW).wait_until == NOW + timedelta(
        hours=1
    )
    assert accounts.sign_up(session, LINKS, new_person(), HERE, NOW).wait_until == NOW + timedelta(hours=1)
    assert accounts.ask_for_reset(session, LINKS, "ada@example.test", "198.51.100.9", NOW).wait_until is None


def test_sending_again_writes_to_the_unconfirmed_and_to_nobody_unknown(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    accounts.send_again(session, LINKS, "ada@example.test", HERE, NOW)
    accounts.send_again(session, LINKS, "nobody@example.test", HERE, NOW)
    assert [letter.recipient for letter in letters(session)] == ["ada@example.test"] * 2
    assert accounts.confirm(session, LINKS, token_in(letters(session)[1]), NOW)


def test_answers_given_before_signing_up_belong_to_whoever_confirms(session: Session) -> None:
    snow_answers.begin(session, None, "held-token", NOW)
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW, ["held-token"])
    answers = session.scalars(select(SnowAnswers)).one()
    assert answers.person_id is None
    person = accounts.confirm(session, LINKS, token_in(letters(session)[0]), NOW)
    assert person is not None
    assert answers.person_id == person.id


# Signing in


def test_answers_given_before_signing_in_belong_to_whoever_signs_in(session: Session) -> None:
    person = member(session)
    snow_answers.begin(session, None, "held-token", NOW)
    attempt = sign_ins.weigh(session, HASHER, person.email, GOOD)
    sign_ins.sign_in(session, attempt, sign_ins.Browser("login", "", HERE), NOW, ["held-token"])
    assert session.scalars(select(SnowAnswers)).one().person_id == person.id


@pytest.mark.parametrize(
    ("email", "password"),
    [
        ("ada@example.test", OTHER),
        ("nobody@example.test", GOOD),
        ("new@example.test", GOOD),
        ("invited@example.test", GOOD),
    ],
)
def test_wrong_unknown_unconfirmed_and_invited_are_all_told_the_same(
    session: Session, email: str, password: str
) -> None:
    member(session)
    member(session, email="new@example.test", confirmed_at=None)
    make.person(session, email="invited@example.test", confirmed_at=None)
    verdict = try_in(session, email, password)
    assert verdict == sign_ins.Verdict()
    session.flush()
    assert count(session, LoginSession) == 0
    buckets = set(session.scalars(select(FailedTry.bucket)))
    assert buckets == {f"account:{email}", f"network:{HERE}"}


@pytest.mark.parametrize("email", ["ada@example.test", "nobody@example.test"])
def test_after_ten_failures_even_the_right_password_has_to_wait_a_quarter_of_an_hour(
    session: Session, email: str
) -> None:
    member(session)
    for minute in range(10):
        assert try_in(session, email, "wrong", NOW + timedelta(minutes=minute)) == sign_ins.Verdict()
        session.flush()
    at = NOW + timedelta(minutes=10)
    assert try_in(session, email, GOOD, at).wait_until == NOW + timedelta(minutes=15)
    # A try that was not let through is not counted: the wait does not grow by asking.
    assert try_in(session, email, GOOD, at).wait_until == NOW + timedelta(minutes=15)
    later = try_in(session, email, GOOD, NOW + timedelta(minutes=15))
    assert (later.actor is not None) == (email == "ada@example.test")
    assert later.wait_until is None


def test_a_network_is_stopped_after_fifty_failures_over_many_accounts(session: Session) -> None:
    member(session)
    for number in range(50):
        assert try_in(session, f"guess{number}@example.test", GOOD).wait_until is None
        session.flush()
    assert try_in(session, "ada@example.test", GOOD).wait_until == NOW + timedelta(minutes=15)
    assert try_in(session, "ada@example.test", GOOD, network="198.51.100.9").actor is not None


def test_signing_in_starts_the_count_of_the_account_again(session: Session) -> None:
    member(session)
    for _ in range(9):
        try_in(session, "ada@example.test", "wrong")
    assert try_in(session, "ada@example.test", GOOD).actor is not None
    session.flush()
    assert throttle.free_at(session, throttle.SIGN_IN_ACCOUNT, "ada@example.test", NOW) is None
    assert session.scalar(select(func.count()).where(FailedTry.bucket == "account:ada@example.test")) == 0


def test_old_tries_are_forgotten_in_the_end(session: Session) -> None:
    try_in(session, "ada@example.test", "wrong")
    try_in(session, "ada@example.test", "wrong", NOW + timedelta(days=2))
    session.flush()
    assert count(session, FailedTry) == 2


def test_a_hash_with_old_parameters_is_replaced_at_the_next_sign_in(session: Session) -> None:
    old = PasswordHasher(time_cost=2, memory_cost=16, parallelism=1).hash(GOOD)
    person = member(session, password_hash=old)
    assert try_in(session, person.email, GOOD).actor is not None
    assert person.password_hash != old
    assert not HASHER.is_outdated(person.password_hash or "")
    assert try_in(session, person.email, GOOD, login_id="again").actor is not None


def test_a_password_changed_while_it_was_weighed_lets_nobody_in(session: Session) -> None:
    person = member(session)
    attempt = sign_ins.weigh(session, HASHER, person.email, GOOD)
    person.password_hash = HASHER.hash(OTHER)
    assert sign_ins.sign_in(session, attempt, sign_ins.Browser("login", "", HERE), NOW).actor is None


def test_an_unknown_address_costs_as_much_work_as_a_known_one(session: Session) -> None:
    dear = passwords(cheap=False)
    member(session, password_hash=dear.hash(GOOD))

    def spent(email: str) -> float:
        begun = time.process_time()
        assert sign_ins.weigh(session, dear, email, "wrong") == sign_ins.Attempt(email)
        return time.process_time() - begun

    known = min(spent("ada@example.test") for _ in range(3))
    unknown = min(spent("nobody@example.test") for _ in range(3))
    assert 0.5 < unknown / known < 2


def test_the_password_that_stands_in_for_nobodys_lets_nobody_in() -> None:
    assert not HASHER.matches(None, "nobody has this password")


def test_an_agent_is_kept_short_and_printable(session: Session) -> None:
    person = member(session)
    attempt = sign_ins.weigh(session, HASHER, person.email, GOOD)
    sign_ins.sign_in(session, attempt, sign_ins.Browser("login", "Fire\x00fox\n" + "x" * 500, HERE), NOW)
    (login,) = find_people.logins(session, person.id)
    assert login.agent.startswith("Firefoxxx")
    assert len(login.agent) == 200


# Signing out


def test_signing_out_ends_one_browser_and_does_not_mind_doing_it_twice(session: Session) -> None:
    person = member(session)
    try_in(session, person.email, GOOD, login_id="phone")
    try_in(session, person.email, GOOD, login_id="desk")
    sign_ins.sign_out(session, "phone")
    sign_ins.sign_out(session, "phone")
    assert [login.id for login in find_people.logins(session, person.id)] == ["desk"]


def test_a_person_may_end_their_own_sign_ins_and_nobody_elses(session: Session) -> None:
    ada, eve = member(session), make.person(session)
    try_in(session, ada.email, GOOD, login_id="phone")
    with pytest.raises(NotFound):
        sign_ins.end_login(session, make.actor(session, eve), "phone")
    with pytest.raises(NotFound):
        sign_ins.end_login(session, make.actor(session, ada), "no such")
    sign_ins.end_login(session, make.actor(session, ada), "phone")
    session.flush()
    assert find_people.login(session, "phone") is None


def test_a_sign_in_of_half_a_year_ago_ends_at_the_next_one(session: Session) -> None:
    person = member(session)
    try_in(session, person.email, GOOD, login_id="old")
    try_in(session, person.email, GOOD, NOW + timedelta(days=181), login_id="new")
    assert [login.id for login in find_people.logins(session, person.id)] == ["new"]


# New passwords


def test_a_reset_sets_the_password_once_signs_out_everywhere_and_tells(session: Session) -> None:
    person = member(session)
    try_in(session, person.email, GOOD, login_id="phone")
    accounts.ask_for_reset(session, LINKS, person.email, HERE, NOW)
    token = token_in(letters(session)[0])
    assert accounts.reset_password(session, LINKS, token, HASHER.hash(OTHER), NOW) is person
    assert find_people.logins(session, person.id) == []
    assert try_in(session, person.email, GOOD).actor is None
    assert try_in(session, person.email, OTHER).actor is not None
    assert accounts.reset_password(session, LINKS, token, HASHER.hash(GOOD), NOW) is None
    assert "was changed" in letters(session)[1].subject


def test_a_reset_link_ends_after_two_hours(session: Session) -> None:
    person = member(session)
    accounts.ask_for_reset(session, LINKS, person.email, HERE, NOW)
    token = token_in(letters(session)[0])
    assert accounts.to_reset(session, LINKS, token, NOW + timedelta(hours=2)) is person
    assert accounts.to_reset(session, LINKS, token, NOW + timedelta(hours=2, seconds=1)) is None


def test_nothing_is_mailed_to_an_unknown_address(session: Session) -> None:
    assert accounts.ask_for_reset(session, LINKS, "nobody@example.test", HERE, NOW) == sign_ins.Verdict()
    assert letters(session) == []


def test_a_reset_proves_the_address_of_somebody_who_never_confirmed(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(), HERE, NOW)
    accounts.ask_for_reset(session, LINKS, "ada@example.test", HERE, NOW)
    accounts.reset_password(session, LINKS, token_in(letters(session)[1]), HASHER.hash(OTHER), NOW)
    assert try_in(session, "ada@example.test", OTHER).actor is not None


def test_a_reset_lets_somebody_in_whose_account_guessers_have_blocked(session: Session) -> None:
    person = member(session)
    for _ in range(10):
        try_in(session, person.email, "wrong")
    accounts.ask_for_reset(session, LINKS, person.email, HERE, NOW)
    accounts.reset_password(session, LINKS, token_in(letters(session)[0]), HASHER.hash(OTHER), NOW)
    assert try_in(session, person.email, OTHER).actor is not None


def test_a_changed_password_keeps_this_browser_and_ends_the_others(session: Session) -> None:
    person = member(session)
    for login in ("phone", "desk"):
        try_in(session, person.email, GOOD, login_id=login)
    attempt = sign_ins.weigh(session, HASHER, person.email, GOOD)
    verdict = accounts.change_password(
        session, make.actor(session, person), attempt, HERE, HASHER.hash(OTHER), "desk", NOW
    )
    assert verdict.actor is not None
    assert [login.id for login in find_people.logins(session, person.id)] == ["desk"]
    assert HASHER.matches(person.password_hash, OTHER)
    assert "was changed" in letters(session)[0].subject


def test_changing_the_password_takes_the_one_they_have_and_counts_wrong_ones(session: Session) -> None:
    person = member(session)
    actor = make.actor(session, person)
    for _ in range(10):
        attempt = sign_ins.weigh(session, HASHER, person.email, "wrong")
        assert accounts.change_password(session, actor, attempt, HERE, "new", None, NOW) == sign_ins.Verdict()
        session.flush()
    attempt = sign_ins.weigh(session, HASHER, person.email, GOOD)
    assert accounts.change_password(session, actor, attempt, HERE, "new", None, NOW).wait_until is not None
    assert HASHER.matches(person.password_hash, GOOD)


def test_nobody_changes_a_password_with_somebody_elses(session: Session) -> None:
    ada, eve = member(session), make.person(session)
    attempt = sign_ins.weigh(session, HASHER, ada.email, GOOD)
    with pytest.raises(NotFound):
        accounts.change_password(session, make.actor(session, eve), attempt, HERE, "new", None, NOW)


def test_name_and_language_can_be_changed(session: Session) -> None:
    person = member(session)
    actor = make.actor(session, person)
    accounts.change_name(session, actor, "Ada of the Marsh", NOW)
    accounts.change_language(session, actor, "nb")
    assert (person.name, person.language) == ("Ada of the Marsh", "nb")


# Links


def forged(purpose: Purpose = Purpose.RESET, *, keys: list[str] | None = None, until: datetime = NOW) -> str:
    return Links(keys or ["another key that is long enough for this"]).token(purpose, Link(1, ""), until)


@pytest.mark.parametrize(
    "token",
    [
        "",
        "nothing",
        "a.b",
        "W10.x",
        forged(),
        LINKS.token(Purpose.CONFIRM, Link(1, ""), NOW + timedelta(days=1)),
    ],
)
def test_a_link_that_is_not_ours_or_for_something_else_says_nothing(token: str) -> None:
    assert LINKS.read(Purpose.RESET, token, NOW) is None


def test_the_first_key_signs_and_older_ones_are_still_read() -> None:
    old, new = "the key of last year, long enough", "the key of this year, long enough"
    before = Links([old]).token(Purpose.RESET, Link(1, "m"), NOW)
    both = Links([new, old])
    assert both.read(Purpose.RESET, before, NOW) == Link(1, "m")
    assert Links([new]).read(Purpose.RESET, both.token(Purpose.RESET, Link(1, "m"), NOW), NOW) == Link(1, "m")


def test_a_link_to_somebody_who_is_gone_says_nothing(session: Session) -> None:
    token = LINKS.token(Purpose.RESET, Link(999, ""), NOW)
    assert accounts.to_reset(session, LINKS, token, NOW) is None


# Staff


def test_somebody_new_at_the_workshop_chooses_a_password_by_letter(session: Session) -> None:
    enrolled = accounts.enrol(session, LINKS, "tina@example.test", "Tina", StaffRole.TECHNICIAN, NOW)
    assert enrolled == accounts.Enrolled(enrolled.person_id, is_new=True, is_changed=True, is_invited=True)
    (letter,) = letters(session)
    assert "Bench technician" in letter.body
    at = NOW + timedelta(days=6)
    accounts.reset_password(session, LINKS, token_in(letter), HASHER.hash(GOOD), at)
    verdict = try_in(session, "tina@example.test", GOOD, at)
    assert verdict.actor is not None
    assert verdict.actor.staff_role is StaffRole.TECHNICIAN
    assert len(letters(session)) == 1, "a first password is no change to be told of"


def test_enrolling_twice_changes_nothing_and_writes_once(session: Session) -> None:
    accounts.enrol(session, LINKS, "tina@example.test", "Tina", StaffRole.TECHNICIAN, NOW)
    again = accounts.enrol(session, LINKS, "tina@example.test", "Tina", StaffRole.TECHNICIAN, NOW)
    assert (again.is_new, again.is_changed, again.is_invited) == (False, False, False)
    assert len(letters(session)) == 1


def test_a_confirmed_person_is_promoted_without_a_letter_and_keeps_the_password(session: Session) -> None:
    person = member(session)
    enrolled = accounts.enrol(session, LINKS, person.email, "", StaffRole.MANAGER, NOW)
    assert (enrolled.is_new, enrolled.is_changed, enrolled.is_invited) == (False, True, False)
    assert person.staff_role is StaffRole.MANAGER
    assert HASHER.matches(person.password_hash, GOOD)
    assert letters(session) == []


def test_whoever_signed_up_with_a_future_managers_address_does_not_become_manager(session: Session) -> None:
    accounts.sign_up(session, LINKS, new_person(email="mia@example.test"), HERE, NOW)
    stale = token_in(letters(session)[0])
    accounts.enrol(session, LINKS, "mia@example.test", "Mia", StaffRole.MANAGER, NOW)
    assert accounts.confirm(session, LINKS, stale, NOW) is None
    accounts.reset_password(session, LINKS, token_in(letters(session)[1]), HASHER.hash(OTHER), NOW)
    assert try_in(session, "mia@example.test", GOOD).actor is None
    assert try_in(session, "mia@example.test", OTHER).actor is not None


# What a password and an address must be like


@pytest.mark.parametrize(
    ("password", "told"),
    [
        ("", "Enter a password"),
        ("short", "at least 10"),
        ("x" * 257, "at most 256"),
        ("password12", "fewer people"),
        ("abcdefghij", "rows"),
        ("aaaaaaaaaaaa", "rows"),
        ("brambleford", "your name"),
    ],
)
def test_a_password_that_is_easy_to_guess_says_what_to_do(password: str, told: str) -> None:
    fault = weakness(password, ["Tove Brambleford", "tove@example.test"])
    assert fault is not None
    assert told in str(fault)


@pytest.mark.parametrize("password", [GOOD, OTHER, "blåbærsti og torvmose", "x9$Kq2!vLm", "word " * 51])
def test_a_password_that_is_hard_to_guess_is_taken(password: str) -> None:
    assert weakness(password, ["Tove Brambleford", "tove@example.test"]) is None


def test_a_password_is_the_same_however_its_accents_are_composed() -> None:
    # U+00E5, and a followed by U+030A: the same letter by Unicode's canonical equivalence (UAX 15).
    assert HASHER.matches(HASHER.hash("bl\u00e5 himmel og is"), "bla\u030a himmel og is")


def test_a_damaged_hash_lets_nobody_in() -> None:
    assert not HASHER.matches("no hash", GOOD)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        (" Ada@Example.ORG ", "ada@example.org"),
        ("ada+ski@example.org", "ada+ski@example.org"),
        # The A-label of the worked example in RFC 5891 and of every IDNA 2008 implementation; never "strasse".
        ("Ada@straße.example.org", "ada@xn--strae-oqa.example.org"),
        ("no address", None),
        ("a@b@example.org", None),
        ("ada@example.org\nBcc: eve@example.org", None),
        ("ada\x00@example.org", None),
        ("", None),
    ],
)
def test_an_address_has_one_form(typed: str, kept: str | None) -> None:
    assert normal_email(typed) == kept


def test_reserved_names_are_let_through_only_where_asked() -> None:
    assert normal_email("ada@hollowmere.test") is None
    assert normal_email("ada@hollowmere.test", test_names=True) == "ada@hollowmere.test"


def test_all_addresses_of_an_ipv6_site_are_one_network() -> None:
    # 2001:db8::/32 is for documentation (RFC 3849).
    assert network_of("2001:db8:1:2:3:4:5:6") == network_of("2001:db8:1:2:ffff::1") == "2001:db8:1:2::/64"
    assert network_of("2001:db8:1:3::1") != network_of("2001:db8:1:2::1")
    assert network_of("192.0.2.7") == "192.0.2.7"
    # An IPv4 address written as an IPv6 one (RFC 4291, 2.5.5.2) is still the one it is.
    assert network_of("::ffff:192.0.2.7") == "192.0.2.7"


def test_the_two_hashers_differ_in_cost_and_each_is_made_once() -> None:
    make_hasher: Callable[..., Passwords] = passwords
    assert make_hasher(False) is make_hasher(False)
    dear = make_hasher(False).hash(GOOD)
    # The library's defaults are RFC 9106's second recommended option: 64 MiB, three passes, four lanes.
    assert dear.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert make_hasher(True).is_outdated(dear)
