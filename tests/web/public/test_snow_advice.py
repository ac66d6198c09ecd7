"""The whole advice on a page: how sure, what ties, what would change it, the coverage map and what skiers found."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.domain.answers import Humidity
from portal.domain.conditions import Moisture, Outcome
from portal.domain.snow import SnowKind
from portal.web import advising
from portal.web.kept import Kept
from tests import make
from tests.page import Page, Visitor
from tests.web.public.test_snow import COLD, WET, advice

TIED = {
    **COLD,
    "air": {"cold": "-1", "ordinary": "0", "mild": "1"},
    "humidity": {"humidity": "humid"},
    "snow": {
        **dict.fromkeys(("new", "settled", "machine_made", "sugary", "refrozen", "icy"), "never"),
        "wet": "mostly",
    },
    "track_wet": {"track_wet": "often"},
}


def section(page: Page, heading: str) -> str:
    """The text under a heading of the page."""
    for element in page.all("section"):
        if any(page.words(one) == heading for one in element.iter() if one.tag.endswith("}h2")):
            return page.words(element)
    raise AssertionError(f"no section {heading!r}")


def test_the_page_says_how_sure_it_is_and_what_would_change_it(visitor: Visitor) -> None:
    page = advice(visitor, COLD)
    assert "of 100 ways in which your answers could be meant" in section(page, "How sure this is")
    changes = section(page, "What would change it")
    assert "would fit better" in changes or "Nothing that you could answer otherwise" in changes
    assert "Comes out best" in section(page, "All families")


def test_opening_the_page_again_says_the_same(visitor: Visitor) -> None:
    page = advice(visitor, WET)
    path = page.response.request.path
    first = visitor.get(path).text
    advising.forget()
    assert visitor.get(path).text == first


def test_families_that_cannot_be_told_apart_are_a_tie(visitor: Visitor) -> None:
    page = advice(visitor, TIED)
    assert "As good for you:" in section(page, "How sure this is")
    headings = [page.words(heading) for heading in page.all("h2")]
    assert any(heading.startswith("As good: the") for heading in headings)
    assert "As good for you:" not in advice(visitor, COLD).text


def test_the_coverage_map_stands_with_its_words_and_its_table(visitor: Visitor) -> None:
    page = advice(visitor, COLD)
    (figure,) = page.all("figure")
    (svg,) = [element for element in figure.iter() if element.tag.endswith("}svg")]
    assert svg.get("role") == "img"
    assert "kinds of snow down" in page.words(svg)
    captions = [page.words(caption) for caption in page.all("caption")]
    assert any(caption.startswith("Your days by kind of snow and air") for caption in captions)


def notes_on_all(session: Session, skiers: int) -> None:
    """So many skiers, each with one note in which every structure beat the next one."""
    found = make.catalogue(session)
    for _ in range(skiers):
        who = make.person(session)
        pair = make.pair(session, who)
        for number, structure in enumerate(found):
            session.add(
                GlideNote(
                    person_id=who.id,
                    pair_id=pair.id,
                    structure_id=structure.id,
                    other_structure_id=found[number - 1].id,
                    skied_on=make.TODAY,
                    air_c=-9.0,
                    humidity=Humidity.UNSURE,
                    kind=SnowKind.SETTLED,
                    moisture=Moisture.DRY,
                    outcome=Outcome.FASTER,
                    created_at=make.NOW,
                )
            )


@pytest.mark.parametrize(("skiers", "says"), [(1, "Too few to tell"), (8, "95 % interval:")])
def test_what_skiers_found_is_counted_and_shown_with_n_and_an_interval(
    visitor: Visitor, database: Database, skiers: int, says: str
) -> None:
    before = advice(visitor, COLD)
    assert "No skier has written a glide note on it yet" in before.text
    with database.write.begin() as session:
        notes_on_all(session, skiers)
    page = visitor.get(before.response.request.path)
    assert "Settled fine snow, dry" in page.text
    assert says in page.text
    assert f"{2 * skiers} by {skiers} skier" in page.text


def test_only_so_many_results_are_kept() -> None:
    made: list[int] = []

    def make_it(number: int) -> int:
        made.append(number)
        return number

    kept: Kept[int, int] = Kept(2)
    for number in (1, 2, 1, 3, 1, 2):
        assert kept.get(number, lambda number=number: make_it(number)) == number  # type: ignore[misc]
    # 2 was asked for longest ago when 3 came, so it went and was made again.
    assert made == [1, 2, 3, 2]
