"""What the service history of a pair, or of several, says."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

from pypdf import PdfReader

from portal.documents.history import render, render_fleet
from portal.domain.base_life import BaseLife, Place, Reading, Thickness
from portal.domain.next_grind import Judgement, Worth
from portal.domain.words import Phrase
from tests.documents.histories import (
    LONG_REMARK,
    MADE_ON,
    PAIR,
    SAID,
    fleet,
    grinds,
    history,
    paper,
    whole,
)
from tests.documents.reading import elements, square_codes, structure_of, text_of


def test_a_whole_history_shows_surface_snow_notes_and_how_to_check_it() -> None:
    it = whole(history(grinds(6)))
    pdf = paper(it)
    text = text_of(pdf)
    assert "Cloudberry suits 83 of 100 of your days, by the answers of Wed 30 September 2026." in text
    assert "Sa, Arithmetic mean height 3.21 µm" in text
    assert "it was not measured on this base" in text
    assert "What the notes of all skiers say of Cloudberry:" in text
    assert text.index("27 Jun 2025") < text.index("8 Dec 2026")
    assert it.seal is not None
    # The range of the life is checked in its own tests; here it only has to be shown with its meaning.
    assert "About 9 (7 to 11 in 80 of 100 cases), at an expected 0.043 mm each." in text
    assert "An invented rule about wax." in text
    assert "Source: An invented rule book, 4.2. Written from memory, not read again." in text
    # The check code stands on the first page, and in the foot of each.
    assert text.count(it.seal.code) == 1 + len(PdfReader(BytesIO(pdf)).pages)
    square, line, relief, section = elements(pdf, "/Figure")
    assert "on which this paper is checked" in square["/Alt"]
    assert "grinds left" in line["/Alt"]
    assert relief["/Alt"].startswith("Shaded relief of")
    assert section["/Alt"].startswith("Cross-section of")
    assert square_codes(pdf) == [it.seal.address]


def test_papers_of_several_pairs_begin_with_a_row_a_pair_that_says_on_which_page_it_is() -> None:
    it = fleet(5)
    pdf = render_fleet(it, SAID)
    reader = PdfReader(BytesIO(pdf))
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert it.seal is not None
    assert square_codes(pdf) == [it.seal.address]
    for number, one in enumerate(it.pairs, 1):
        (first,) = [at for at, page in enumerate(pages, 1) if f"Reference Pair {number} " in page]
        assert re.search(rf"Blue {number} {re.escape(one.history.pair.tag)} .*? {first} ", pages[0] + " ")
    # A pair begins where the one before it leaves room, and structures stand two to a page.
    assert any(0 < page.find("Glide notes") < page.find("Reference Pair") for page in pages)
    assert any("Structure Cloudberry" in page and "Structure Sedge" in page for page in pages)
    # What is the same for several pairs is printed once.
    joined = " ".join(pages)
    assert joined.count("After a grind When") == 1
    reliefs = [one for one in elements(pdf, "/Figure") if one["/Alt"].startswith("Shaded relief")]
    assert len(reliefs) == len(it.surfaces)
    assert joined.count("This is general advice.") == 1
    assert joined.count("An invented rule about wax.") == 1


def test_a_club_reads_who_skis_which_pair_and_one_without_pairs_is_told_so() -> None:
    text = text_of(render_fleet(fleet(3, is_club=True), SAID))
    assert "Skied by" in text
    assert "Junior 2: Fjellrapp Skate Long 152 cm" in text
    assert "No pair is registered." in text_of(render_fleet(fleet(0), SAID))


def test_an_empty_history_says_so_and_promises_nothing() -> None:
    text = text_of(paper(history(())))
    assert "No grind is recorded yet." in text
    assert "Not known: no grind is recorded here." in text
    assert "Not measured" in text
    assert "expected" not in text


def test_an_unmeasured_base_is_never_given_a_number_of_grinds() -> None:
    pdf = paper(history(grinds(3, measured=False)))
    text = text_of(pdf)
    assert "Not measured: ask for a measurement" in text
    assert "The base was not measured, so nothing is said about how long it lasts." in text
    assert "expected" not in text
    assert elements(pdf, "/Figure") == []


def test_what_matters_now_stands_on_the_first_page() -> None:
    text = PdfReader(BytesIO(paper(history(grinds(60))))).pages[0].extract_text()
    said = " ".join(text.split())
    assert "Cloudberry, Crossed, on the base since Tue 6 October 2026" in said
    assert "0.55 mm at the tail, measured on Tue 6 October 2026." in said


def test_the_line_of_the_base_stands_on_the_first_page_however_much_is_said_above_it() -> None:
    judged = Judgement(Worth.DEPENDS, (Phrase("A sentence that takes two lines on this paper. " * 3),))
    for count in (1, 6, 60):
        for size in ("A4", "letter"):
            it = replace(whole(history(grinds(count))), next_grind=judged)
            first = PdfReader(BytesIO(render(it, SAID, paper=size))).pages[0].extract_text()
            said = " ".join(first.split())
            assert "Base life" in said
            assert "The statement counts as much as three measured grinds." in said
            assert "It depends. A sentence" in said
            assert "Look for the signs under “When to grind again” after each winter." in said
            assert ("one measured grind of this pair makes" in said) == (count == 1)


def test_readings_finer_than_a_hundredth_are_shown_as_they_were_taken() -> None:
    (line,) = grinds(1)
    fine = replace(line, before_um=Thickness(1001, 990, 985), after_um=Thickness(961, 950, None))
    text = text_of(paper(history((fine,))))
    for shown in ("1.001", "0.990", "0.985", "0.961", "0.950", "0.500 mm"):
        assert shown in text


def test_a_base_at_its_minimum_has_no_grind_left() -> None:
    (line,) = grinds(1)
    worn = replace(line, before_um=Thickness(560, 560, 560), after_um=Thickness(520, 520, 520))
    assert "None: another grind would pass the workshop's minimum." in text_of(paper(history((worn,))))


def test_a_base_that_was_measured_but_never_ground_here_says_how_much_room_it_has() -> None:
    bare = history(())
    for um, left, due in (
        (
            520,
            "0.02 mm above the workshop's minimum: ask the workshop first.",
            "Talk with the workshop before the next grind",
        ),
        (900, "Not ground here yet, so grinds left are not counted.", "A first grind: answer"),
    ):
        reading = Reading(um, Place.TIP, MADE_ON, 0, is_beside=True)
        life = BaseLife((), bare.base_life.minimum_um, 0, 0, reading, None)
        text = text_of(paper(replace(bare, base_life=life)))
        assert left in text
        assert due in text
        assert "Not measured" not in text


def test_a_reading_from_before_the_last_grind_says_so() -> None:
    (line,) = grinds(1)
    it = history((replace(line, after_um=None),))
    assert "1 grind came after this measurement." in text_of(paper(it))


def test_care_steps_carry_their_caution_and_what_they_rest_on() -> None:
    it = history(grinds(2))
    text = text_of(paper(it))
    assert text.count("Common practice") == 5
    assert text.count("Source: Freberg et al. 2013") == 3
    # Poppler joins the lines of a cell without a space, so all spaces are left out.
    before, care = "".join(structure_of(paper(it)).split()).split('"Afteragrind"')
    # The caution for all of it stands before the first step.
    general = before.split('P(block)"Caution.Thisisgeneraladvice.')[1]
    assert general.startswith("Localrules,themanualsofthosewhomadeyourskis")
    rows = [row for row in care.split("TRTH:")[1:] if not row.startswith("/Scope/Column")]
    steps = [step for group in it.care for step in group.steps]
    for step, row in zip(steps, rows, strict=True):
        assert "".join(str(step.when).split()) in row
        assert ("Caution." in row) == bool(step.caution)
        assert "".join(str(step.caution).split()) in row


def test_what_to_do_after_a_grind_stands_on_one_page_with_the_caution_for_all_of_it() -> None:
    for count in (0, 1, 4, 6):
        reader = PdfReader(BytesIO(paper(whole(history(grinds(count))))))
        pages = [" ".join(page.extract_text().split()) for page in reader.pages]
        (after,) = [page for page in pages if "After a grind When" in page]
        assert "Between winters" in after
        assert "ask the workshop before you heat, scrape or clean." in after


def test_a_workshop_without_care_texts_still_gives_the_caution() -> None:
    text = text_of(paper(replace(history(()), care=())))
    assert "The workshop has written no care advice yet." in text
    assert "Caution. This is general advice." in text


def test_a_grind_says_that_it_was_made_good_or_what_it_makes_good() -> None:
    bad, good = grinds(2)
    short = Phrase("Made good, because: %(reason)s", {"reason": "it is uneven <b>at the tip</b>."})
    lines = (replace(bad, again=(short,)), replace(good, again=(f"Ground again, because {LONG_REMARK}",)))
    text = text_of(render(history(lines), SAID))
    assert "Made good, because: it is uneven <b>at the tip</b>." in text
    # What is long stands below the table, whole and once.
    assert "Remarks below the table." in text
    assert text.count("Ground again, because") == 1


def test_nothing_personal_is_shown_that_was_not_passed_in() -> None:
    pair = replace(PAIR, owner="", mark="")
    text = text_of(paper(history(grinds(1), pair=pair)))
    assert "Owner" not in text
    assert "Kari" not in text
