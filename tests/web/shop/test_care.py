"""Care advice: what is shipped, what the workshop adds, and what it does not give, on every page that gives it."""

from __future__ import annotations

from portal.db.engine import Database
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.public.test_snow import COLD, walk

NEW = {
    "stage": "in_use",
    "condition": "Pollen lies on the track",
    "advice": "Wipe the base with a dry cloth after every lap.",
    "snow": ["wet"],
    "harmless": "y",
}


def pair_of(alice: Visitor, database: Database, cast: Cast) -> int:
    """A pair of Alice's whose answers know no wet snow."""
    with database.write.begin() as session:
        number = make.pair(session, owner_id=cast.alice.person_id).id
    alice.send(walk(alice, alice.post("/snow", {"pair": number}), COLD), "/finish")
    return number


def test_own_advice_reaches_whom_it_is_for(visitor: Visitor, cast: Cast, database: Database) -> None:
    alice = visitor.as_(cast.alice)
    pair_id = pair_of(alice, database, cast)
    mia = visitor.as_(cast.mia)
    form = mia.get("/shop/care/new")
    refused = mia.send(form)
    assert "Choose when the advice is due" in refused.text
    assert "Write what is to be done" in refused.text
    refused = mia.send(form, **NEW | {"advice": "Wipe it 3 times.", "harmless": None})
    assert "Name where the number comes from, or leave it out" in refused.text
    assert "Write what can hurt, or tick that nothing can" in refused.text
    listed = mia.send(form, **NEW)
    assert "Pollen lies on the track" in listed.text
    everybody = visitor.get("/care")
    assert "Wipe the base with a dry cloth after every lap." in everybody.text
    assert "Pollen" not in alice.get(f"/my/pairs/{pair_id}").text, "no wet snow among her days"

    mia.send(
        mia.get(next(link for link in listed.links if link.startswith("/shop/care/") and link[-1].isdigit())),
        snow=[],
        advice="Wash it off.",
        source="A. Invented (2020) On pollen",
    )
    assert "Wash it off." in alice.get(f"/my/pairs/{pair_id}").text
    assert "A. Invented (2020) On pollen" in visitor.get("/care").text
    told = mia.get("/shop/audit").text
    assert "Care advice changed" in told


def test_what_is_left_out_is_said_nowhere_until_it_is_given_again(visitor: Visitor, cast: Cast) -> None:
    mia, words = visitor.as_(cast.mia), "the pair dry in a warm room"
    assert words in visitor.get("/care").text
    for _ in range(2):
        mia.post("/shop/care/dry-first/leave-out", status=200)
    assert words not in visitor.get("/care").text
    assert words in mia.get("/shop/care").text
    mia.post("/shop/care/dry-first/give", status=200)
    assert words in visitor.get("/care").text
    mia.post("/shop/care/dry-first/burn", status=404)
    mia.post("/shop/care/nothing/give", status=404)


def test_the_rules_about_wax_are_dated_and_sourced(visitor: Visitor) -> None:
    page = visitor.get("/care").text
    for words in ("As gathered on", "Check the rules that apply to you", "Regulation (EU) 2024/2462"):
        assert words in page


def test_only_the_shop_manager_changes_it(visitor: Visitor, cast: Cast) -> None:
    tina = visitor.as_(cast.tina)
    for path in ("/shop/care", "/shop/care/new"):
        tina.get(path, status=403)
    tina.post("/shop/care/dry-first/leave-out", status=403)
    visitor.as_(cast.alice).get("/shop/care", status=404)


def test_own_words_stand_under_no_publication(visitor: Visitor, cast: Cast) -> None:
    mia, title = visitor.as_(cast.mia), "The Engineering of Sport 7"
    assert title in visitor.get("/care").text
    page = mia.get("/shop/texts/care.soft-after-waxing.advice")
    refused = mia.send(page, words="Hot wax 7 times at 180 °C.")
    assert "Leave the numbers out" in refused.text
    mia.send(page, words="Wax it hot all the same.")
    everybody = visitor.get("/care").text
    assert "Wax it hot all the same." in everybody
    assert title not in everybody
