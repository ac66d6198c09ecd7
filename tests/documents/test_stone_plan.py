"""The stone plan read back by other programs: every pair in the order of work, minutes that add up, and pages that break well."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from portal.documents.stone_plan import DayLine, OrderLine, PairLine, StonePlan, render
from portal.i18n import voice
from tests.documents.reading import elements, structure_of, text_of
from tests.documents.stone_plans import (
    BASE,
    CROSSED,
    MONDAY,
    ORDERS,
    empty_plan,
    long_plan,
    pairs,
    stone_plan,
)

SAID = voice("en")


MADE: dict[str, bytes] = {}


def paper(it: StonePlan, **options: Any) -> bytes:
    """Each paper is set once for all tests that read it."""
    key = repr((it, options))
    if key not in MADE:
        MADE[key] = render(it, SAID, fallback_fonts=(), **options)
    return MADE[key]


@cache
def pages(pdf: bytes) -> tuple[str, ...]:
    return tuple(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)


def a_day(*runs: Any, minutes: int = 154, **more: Any) -> StonePlan:
    return replace(stone_plan(), days=(DayLine(MONDAY, "", minutes, runs),), orders=(), **more)


def test_each_pair_stands_there_once_in_the_order_of_work() -> None:
    it = stone_plan()
    wanted = [pair.tag for day in it.days for run in day.runs for pair in run.pairs]
    assert re.findall(r"P-\d{4}", text_of(paper(it))) == wanted
    assert len(wanted) == 30


def test_a_box_stands_beside_every_pair_and_every_dressing() -> None:
    it = a_day(
        replace(BASE, dressings=2, life_pairs=3, pairs=pairs(5)),
        replace(CROSSED, dressings=0, pairs=pairs(2, 9)),
    )
    reader = PdfReader(BytesIO(paper(it)))
    boxes = sum(
        len(re.findall(rb"\b9 9 re\b", content.get_data()))
        for page in reader.pages
        if (content := page.get_contents()) is not None
    )
    # Two dressings and five pairs, then two pairs on the dressing that is there.
    assert boxes == 2 + 5 + 2


def test_the_minutes_run_on_through_dressings_and_pairs() -> None:
    # Three pairs a dressing: 12, 3 x 4, 12, 2 x 4.
    text = text_of(paper(a_day(replace(BASE, dressings=2, life_pairs=3, pairs=pairs(5)))))
    order = ["Dress the stone for", "P-0001", "P-0002", "P-0003", "Dress again for", "P-0004", "P-0005"]
    assert [text.index(words) for words in order] == sorted(text.index(words) for words in order)
    rows = elements(paper(a_day(replace(BASE, dressings=2, life_pairs=3, pairs=pairs(5)))), "/TR")
    assert len(rows) >= 7
    for minutes, until in (("12", "12"), ("4", "16"), ("4", "24"), ("12", "36"), ("4", "44")):
        assert re.search(rf"\b{minutes} {until}\b", text), (minutes, until)


def test_a_run_without_a_dressing_goes_on_with_what_is_on_the_stone() -> None:
    text = text_of(paper(a_day(replace(CROSSED, dressings=0, pairs=pairs(2)))))
    assert "Go on with Cloudberry, crossed: the stone is dressed for it" in text
    assert "Dress the stone" not in text
    assert "Dressings 0, 0 minutes" in text


def test_settings_stand_at_the_first_dressing_of_a_run_only() -> None:
    text = text_of(paper(a_day(replace(BASE, dressings=2, life_pairs=3, pairs=pairs(5)))))
    assert text.count("Diamond D-2, 0.60 mm a turn, 0.012 mm deep") == 1


def test_a_day_says_where_its_minutes_go() -> None:
    # 12 + 9 x 4 and 14 + 6 x 3 minutes.
    text = text_of(paper(stone_plan()))
    assert "154 minutes: 26 for dressing, 54 for running pairs, 74 free." in text
    assert "The club's crate is fetched at three o'clock." in text
    assert "Wed 9 December 2026 Closed." in text


def test_an_over_full_day_says_so() -> None:
    text = text_of(paper(a_day(replace(BASE, pairs=pairs(9)), minutes=40)))
    assert "40 minutes: 12 for dressing, 36 for running pairs, 8 more than there are." in text


def test_what_is_late_stands_on_the_first_page_with_its_reason() -> None:
    first = pages(paper(stone_plan()))[0]
    assert "What gets late" in first
    assert "R-0117 Alder Valley Ski Club 7 Dec 2026 8 Dec 2026 1 working day late" in first
    assert "From its arrival to its due day 8 of 154 minutes are left." in first
    assert "Late orders 1 of 3" in first
    # Its pairs say it in a word, not by a colour.
    assert text_of(paper(stone_plan())).count(" late ") >= 4


def test_the_tightest_order_is_the_first_in_the_list_of_room() -> None:
    text = text_of(paper(stone_plan())).split("How much room is left")[1]
    named = ["R-0117", "R-0113", "R-0120"]
    assert [text.index(name) for name in named] == sorted(text.index(name) for name in named)
    assert "1 late" in text


def test_an_unfinished_order_is_not_given_a_day() -> None:
    open_one = OrderLine("R-0130", MONDAY, None, -5, "No grinder runs.")
    text = " ".join(pages(paper(replace(stone_plan(), orders=(*ORDERS, open_one)))))
    assert "R-0130 7 Dec 2026 not in this plan No grinder runs." in text
    assert "5 working days" not in text


def test_nothing_late_and_nothing_to_do_say_so() -> None:
    text = text_of(paper(empty_plan()))
    assert "Late orders None" in text
    assert "What gets late" not in text
    assert "154 minutes: 0 for dressing, 0 for running pairs, 154 free." in text
    assert "no days" in text_of(paper(replace(empty_plan(), days=())))


def test_it_carries_its_caution_workshop_moment_and_page_numbers() -> None:
    told = pages(paper(long_plan()))
    assert "Caution. A stone machine turns" in told[0]
    assert "Local rules, the maker's manual and what trained people show you come first" in told[0]
    for number, text in enumerate(told, 1):
        assert f"Page {number} of {len(told)}" in text
        assert "Hollowmere Ski Grinding" in text
        assert "Plan 14" in text
        assert "Made Sun 6 December 2026, 16:40" in text


def test_a_long_day_repeats_its_head_and_names_the_day_on_every_page() -> None:
    told = pages(paper(long_plan()))
    long = [text for text in told if "Work of Mon 7 December 2026, left stone" in text]
    assert len(long) >= 3
    assert structure_of(paper(long_plan())).count("Work of Mon 7 December 2026, left stone") == 1


@pytest.mark.parametrize("count", [7, 8, 9])
def test_no_dressing_stands_alone_at_the_foot_of_a_page(count: int) -> None:
    """Wherever the page ends, what the stone is dressed for is followed by a pair on the same page.

    With eight pairs in the first run the second dressing would just have room at the foot of the first page.
    """
    more = (replace(CROSSED, pairs=pairs(7, 100 * number)) for number in (1, 2))
    told = pages(paper(a_day(replace(BASE, pairs=pairs(count)), *more)))
    for text in told:
        dressed = [match.end() for match in re.finditer(r"Dress the stone for", text)]
        if dressed:
            assert re.search(r"P-\d{4}", text[dressed[-1] :])
    assert sum(text.count("Dress the stone for") for text in told) == 3


def test_a_day_can_begin_on_a_page_of_its_own() -> None:
    def page_of_each_day(**options: Any) -> list[int | None]:
        reader = PdfReader(BytesIO(paper(stone_plan(), **options)))
        _top, below = reader.outline
        days = [entry for entry in below if "December" in entry["/Title"]]  # type: ignore[union-attr,index,call-overload,operator]
        return [reader.get_destination_page_number(entry) for entry in days]  # type: ignore[arg-type]

    assert page_of_each_day() == [0, 1, 2]
    assert page_of_each_day(page_a_day=True) == [1, 2, 3]


def test_the_picture_is_told_in_words() -> None:
    first, second = elements(paper(stone_plan()), "/Figure")
    assert "2 runs, 2 dressings, 80 minutes in all" in first["/Alt"]
    assert "1 run has late pairs." in second["/Alt"]


def test_the_file_names_itself_and_its_days() -> None:
    reader = PdfReader(BytesIO(paper(stone_plan())))
    assert reader.metadata is not None
    assert reader.metadata.title == "Stone plan: Mon 7 December 2026 to Wed 9 December 2026"
    _top, below = reader.outline
    titles = [entry["/Title"] for entry in below]  # type: ignore[union-attr,index,call-overload]
    assert titles == [
        "What gets late",
        "Mon 7 December 2026",
        "Tue 8 December 2026",
        "Wed 9 December 2026",
        "How much room is left",
    ]


def test_there_is_no_ink_but_black_and_grey() -> None:
    reader = PdfReader(BytesIO(paper(stone_plan())))
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        for paint in re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG)\b", content.get_data()):
            shares = [float(share) for share in paint]
            # The paper's inks are a little green, as all papers are, and read as grey.
            assert max(shares) - min(shares) <= 0.06


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert render(stone_plan(), SAID, fallback_fonts=()) == paper(stone_plan())
    assert paper(stone_plan()) != paper(empty_plan())


@pytest.mark.parametrize(("name", "size"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_it_is_set_on_the_paper_that_was_asked_for(name: str, size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(paper(stone_plan(), paper=name))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_names_come_back_exactly_and_markup_prints_as_text() -> None:
    odd = PairLine("<b>&amp;", "Снежана Щукина %(x)s", "Łucja </para>")
    it = a_day(
        replace(BASE, layer="<i>Sedge", settings=("<img src=x>",), pairs=(odd, *pairs(2, 200))), minutes=2000
    )
    text = text_of(paper(it))
    for words in ("<b>&amp;", "Снежана Щукина %(x)s", "Łucja </para>", "<i>Sedge", "<img src=x>"):
        assert words in text
