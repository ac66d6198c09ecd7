"""Glide notes of a skier: written in three steps, read on the pair's page, deleted; nobody else sees or touches them."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import urlencode

import pytest
from sqlalchemy import select

from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.db.people import Person
from portal.domain.answers import Discipline, Humidity
from portal.domain.conditions import Moisture, Outcome
from portal.domain.set_aside import SetAside
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Page, Visitor

NEW = "/my/glide-notes/new"


@pytest.fixture
def other_id(database: Database, cast: Cast) -> int:
    """A second pair of Alice's; hers and this one have a structure on the base since November."""
    with database.write.begin() as session:
        other = make.pair(session, session.get_one(Person, cast.alice.person_id), model="Lom")
        for number, pair_id in enumerate((cast.pair_id, other.id)):
            ground(session, pair_id, number)
        return other.id


def ground(session: Any, pair_id: int, number: int = 0, day: date = date(2026, 11, 2)) -> None:
    structure = make.structure(session, number=number)
    grinds.add(session, pair_id, grinds.GrindFacts(structure.id, day, "Tina"), make.NOW)


def third(database: Database, cast: Cast, **given: Any) -> int:
    with database.write.begin() as session:
        made = make.pair(
            session, session.get_one(Person, cast.alice.person_id), **{"model": "Tinde", **given}
        )
        ground(session, made.id, 2)
        return made.id


def snow(**given: Any) -> dict[str, Any]:
    return {
        "skied_on": "2026-12-05",
        "about": "-6",
        "kind": "settled",
        "moisture": "dry",
        "step": "pairs",
        **given,
    }


def step(visitor: Visitor, **given: Any) -> Page:
    return visitor.get(f"{NEW}?{urlencode(given, doseq=True)}")


def last_step(visitor: Visitor, pairs: list[int], **given: Any) -> Page:
    return step(visitor, **snow(step="ran", pair=pairs, **given))


def rows(database: Database) -> list[GlideNote]:
    with database.read() as session:
        return list(session.scalars(select(GlideNote).order_by(GlideNote.id)))


def test_three_taps_write_a_note_that_stands_on_the_pages_of_both_pairs(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    assert f"{NEW}?pair={cast.pair_id}" in alice.get(f"/my/pairs/{cast.pair_id}").links
    first = alice.get(f"{NEW}?pair={cast.pair_id}")
    assert first.h1 == "How did they run?"
    second = step(alice, **{**first.form(), "about": "-6", "kind": "settled", "moisture": "dry"})
    # Of two pairs there is nothing to choose, and the step between can still be opened.
    pairs = alice.get(next(link for link in second.links if "step=pairs" in link))
    assert pairs.h1 == "Which pairs did you compare?"
    assert set(pairs.form()["pair"]) == {str(cast.pair_id), str(other_id)}
    third_step = second
    assert third_step.h1 == "How did Fennmark Skarv 187 cm run beside Fennmark Lom 187 cm?"
    assert "Settled fine snow, dry, −6 °C" in third_step.text
    page = alice.send(
        third_step, **{f"felt_{cast.pair_id}": "faster", "remarks": "Two runs each, the same wax."}
    )
    assert "The note is kept." in page.text
    assert "It counts for both structures." in page.text
    assert "Settled fine snow, −6 °C" in page.text
    assert "Two runs each, the same wax." in page.text
    (kept,) = rows(database)
    assert (kept.air_c, kept.humidity, kept.outcome) == (-6.0, Humidity.UNSURE, Outcome.FASTER)
    assert (kept.pair_id, kept.other_pair_id, kept.skied_on) == (cast.pair_id, other_id, make.TODAY)
    assert "Slower, beside Fennmark Skarv 187 cm" in alice.get(f"/my/pairs/{other_id}").text
    # A second note of the day starts where something is left to ask, with the snow of the first.
    again = alice.get(NEW)
    assert again.h1.startswith("How did Fennmark")
    assert again.form()["kind"] == "settled"
    # What is sent twice is kept once.
    alice.send(third_step, **{f"felt_{cast.pair_id}": "faster"})
    assert len(rows(database)) == 1


def test_times_are_worked_out_kept_and_shown_from_both_sides(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(
        last_step(alice, [cast.pair_id, other_id]),
        **{f"times_{cast.pair_id}": "12,41 12,52 12,38", f"times_{other_id}": "12.60; 12.74; 12.61"},
    )
    assert (
        "Speed +1.7 %; between +1.3 and +2.1 % in 95 of 100 such comparisons. From 3 and 3 timed runs."
        in page.text
    )
    assert "Faster, beside Fennmark Lom 187 cm" in page.text
    assert "Speed −1.7 %" in alice.get(f"/my/pairs/{other_id}").text
    (kept,) = rows(database)
    assert kept.timed is not None
    assert kept.timed["own_s"] == [12.41, 12.52, 12.38]
    unclear = alice.send(
        last_step(alice, [cast.pair_id, other_id], kind="new"),
        **{f"times_{cast.pair_id}": "20 21.5 20", f"times_{other_id}": "21 20.2 20.9"},
    )
    assert "Cannot tell, beside Fennmark Lom 187 cm" in unclear.text
    assert "Kept, but not counted, because the times differ too much from run to run" in unclear.text


WRONG_TIMES = (
    ("12.4 12.5", "", "in_turn", "Write the times of Fennmark Lom 187 cm too"),
    ("", "12.4 12.5", "in_turn", "Write the times of Fennmark Skarv 187 cm too"),
    ("12.4 12.5 12.6", "12.4 12.5", "in_turn", "Write as many times for Fennmark Skarv 187 cm as for"),
    ("quick", "12.4 12.5", "in_turn", "Fennmark Skarv 187 cm: Write the times of this pair in seconds"),
    ("12.4 12.5", "12.4", "apart", "Fennmark Lom 187 cm: Write the times of 2 to 20 runs of this pair"),
    ("0.1 0.2", "12.4 12.5", "in_turn", "Fennmark Skarv 187 cm: Write times from 1 to 3600 seconds"),
    ("", "", "in_turn", "Choose whether Fennmark Skarv 187 cm ran faster, the same or slower"),
    ("12.4 12.5", "12.6 12.7", "sideways", "Choose how you ran them"),
)


def test_what_is_wrong_with_times_is_said_and_everything_is_kept(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    form = last_step(alice, [cast.pair_id, other_id])
    for mine, theirs, order, problem in WRONG_TIMES:
        times = {f"times_{cast.pair_id}": mine, f"times_{other_id}": theirs}
        page = alice.send(form, **times, order=order, remarks="Windy.")
        assert len(page.errors) == 1, (mine, theirs)
        assert page.errors[0].startswith(problem)
        assert {name: page.form()[name] for name in times} == times
        assert page.form()["remarks"].strip() == "Windy."
    assert rows(database) == []


def test_times_that_can_hardly_be_are_asked_about_once(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    form = last_step(alice, [cast.pair_id, other_id])
    typed = {f"times_{cast.pair_id}": "12:41 12:52", f"times_{other_id}": "12.60 12.74"}
    asked = alice.send(form, **typed, remarks="Windy.")
    assert "differ more than any structure was measured to make: 12:41 12:52 / 12.60 12.74." in asked.text
    assert {name: asked.form()[name] for name in typed} == typed
    assert asked.form()["remarks"].strip() == "Windy."
    assert "I meant 12.41 s" in asked.text
    assert rows(database) == []
    alice.send(asked, meant="points")
    (kept,) = rows(database)
    assert kept.timed is not None
    assert (kept.timed["own_s"], kept.set_aside) == ([12.41, 12.52], None)
    # A fall: nothing else could be meant, and it is kept and set aside once they say so.
    fallen = alice.send(
        last_step(alice, [cast.pair_id, other_id], kind="new"),
        **{f"times_{cast.pair_id}": "12.4 18.9 12.5", f"times_{other_id}": "12.6 12.7 12.6"},
    )
    assert "The times of one pair differ by more than a quarter from run to run" in fallen.text
    assert "I meant" not in fallen.text
    assert "Kept, but not counted" in alice.send(fallen, meant="as_it_is").text


def test_three_pairs_are_held_against_one_and_written_at_once(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    third_id, alice = third(database, cast), visitor.as_(cast.alice)
    page = last_step(alice, [cast.pair_id, other_id, third_id])
    beside = int(page.form()["beside"])
    ran = [one for one in (cast.pair_id, other_id, third_id) if one != beside]
    wrong = alice.send(page, **{f"felt_{ran[0]}": "slower"})
    assert len(wrong.errors) == 1
    assert wrong.form()[f"felt_{ran[0]}"] == "slower"
    kept = alice.send(wrong, **{f"felt_{ran[1]}": "same"})
    assert "2 notes are kept." in kept.text
    assert [(note.pair_id, note.other_pair_id, note.outcome) for note in rows(database)] == [
        (ran[0], beside, Outcome.SLOWER),
        (ran[1], beside, Outcome.SAME),
    ]
    turned = last_step(alice, [cast.pair_id, other_id, third_id], beside=ran[0])
    assert turned.form()["beside"] == str(ran[0])


WRONG_SNOW = (
    ({"skied_on": "yesterday"}, "Enter the day as year-month-day, for example 2026-12-05"),
    ({"skied_on": "2026-12-08"}, "Enter a day that is not still to come"),
    ({"about": ""}, "Choose the air temperature"),
    ({"about": "-5"}, "Choose the air temperature"),
    ({"about": "", "air": "warm"}, "Enter the temperature as a number, for example -6"),
    ({"air": "-14"}, "Another temperature is chosen above: choose that one, or leave this empty"),
    ({"kind": "slippery"}, "Choose the kind of snow"),
    ({"moisture": ""}, "Choose how wet the track was"),
    ({"humidity": "?"}, "Choose an answer, or “I am not sure”"),
)


def test_what_is_wrong_with_the_snow_is_said_on_its_page(visitor: Visitor, cast: Cast, other_id: int) -> None:
    alice = visitor.as_(cast.alice)
    for given, problem in WRONG_SNOW:
        page = step(alice, **snow(pair=[cast.pair_id], **given))
        assert page.errors == [problem], given
        assert page.h1 == "How did they run?"
        assert page.form()["pair"] == str(cast.pair_id)


def test_only_pairs_that_can_be_compared_are_offered(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    third(database, cast, model="Classic", discipline=Discipline.CLASSIC)
    with database.write.begin() as session:
        make.pair(session, session.get_one(Person, cast.alice.person_id), model="Bare")
    alice = visitor.as_(cast.alice)
    page = step(alice, **snow(step="ran", pair=[cast.pair_id]))
    assert page.errors == ["Choose two pairs or more from the list"]
    labels = " ".join(page.words(label) for label in page.all("label"))
    assert "Fennmark Lom" in labels
    assert "Bare" not in labels
    assert "Classic" not in labels
    assert "Fennmark Bare" in page.text
    early = step(alice, **snow(skied_on="2026-10-08"))
    assert "only one of your pairs, or none" in early.text
    another = third(database, cast, model="Klassisk", discipline=Discipline.CLASSIC)
    one_kind = step(alice, **snow(skied_on=make.TODAY.isoformat()))
    labels = " ".join(one_kind.words(label) for label in one_kind.all("label"))
    assert ("Klassisk" in labels) != ("Lom" in labels), "one kind of skiing at a time"
    assert any("skiing=" in link for link in one_kind.links)
    assert "since 2 Nov 2026" in labels
    mixed = last_step(alice, [cast.pair_id, another])
    assert mixed.errors == ["Choose pairs of one kind of skiing"]


def test_what_cannot_have_been_is_kept_and_said_not_to_count(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    form = last_step(alice, [cast.pair_id, other_id], about="", air="−9,5 °C", moisture="wet")
    # No database text holds the character that a page never made.
    page = alice.send(form, **{f"felt_{cast.pair_id}": "slower", "key": "a key\0"})
    assert page.text.count("because no track was measured to be that wet at that air temperature") == 2
    (kept,) = rows(database)
    assert (kept.set_aside, kept.air_c, kept.moisture) == (SetAside.TRACK, -9.5, Moisture.WET)
    # The paper counts what counts, and says that there is more.
    paper = text_of(alice.raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf").data)
    assert "1 more of your notes is kept and not counted." in paper
    assert "One skier's notes" not in paper


def test_which_pair_today_leads_on_to_how_they_ran(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get("/my/today?air=-6&kind=settled&humidity=unsure&moisture=dry")
    link = next(one for one in page.links if one.startswith(NEW))
    chosen = alice.get(link)
    assert chosen.h1 == "How did Fennmark Lom 187 cm run beside Fennmark Skarv 187 cm?"
    unsure = alice.get("/my/today?air=-6&kind=settled&humidity=unsure&moisture=unsure")
    asked = alice.get(next(one for one in unsure.links if one.startswith(NEW)))
    assert asked.h1 == "How did they run?"
    assert (asked.form()["kind"], asked.form()["about"]) == ("settled", "-6")
    # What was answered today is there on every way to a note, until one was written.
    alice.get("/my/today?air=-7&kind=new&humidity=unsure&moisture=dry")
    other_way = alice.get(next(one for one in alice.get("/my/pairs").links if one.startswith(NEW)))
    assert "New snow, dry, −7 °C" in other_way.text
    assert other_way.h1.startswith("How did Fennmark")


def test_without_two_pairs_the_page_says_what_is_missing(visitor: Visitor, cast: Cast) -> None:
    assert "You do not have two such pairs yet" in visitor.as_(cast.alice).get(NEW).text


def test_a_note_is_deleted_by_whoever_wrote_it(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(last_step(alice, [cast.pair_id, other_id]), **{f"felt_{cast.pair_id}": "same"})
    assert "counts no longer" in alice.send(page, "/delete").text
    assert rows(database) == []


@pytest.mark.parametrize("who", ["carl", "cora", "tina"])
def test_nobody_else_finds_the_pairs_the_note_or_a_way_to_delete_it(
    visitor: Visitor, cast: Cast, other_id: int, database: Database, who: str
) -> None:
    alice = visitor.as_(cast.alice)
    form = last_step(alice, [cast.pair_id, other_id])
    alice.send(form, **{f"felt_{cast.pair_id}": "faster", "remarks": "Two runs each."})
    (kept,) = rows(database)
    stranger = visitor.as_(getattr(cast, who))
    stranger.get(f"{NEW}?pair={cast.pair_id}", 404)
    stranger.post(NEW, {**snow(step="ran"), "pair": [cast.pair_id, other_id]}, 404)
    stranger.post(f"/my/glide-notes/{kept.id}/delete", status=404)
    if who == "tina":
        assert "Two runs each" not in stranger.get(f"/my/pairs/{cast.pair_id}").text
    assert len(rows(database)) == 1
    with database.write.begin() as session:
        theirs = make.pair(session, session.get_one(Person, cast.carl.person_id))
        ground(session, theirs.id)
        their_id = theirs.id
    alice.get(f"{NEW}?{urlencode(snow(step='ran', pair=[cast.pair_id, their_id]), doseq=True)}", 404)
