"""Lists of juniors as clubs have them: headings, cells, pairs in several shapes, and what each row brings.

The lists are written by hand, as common practice has them; what each must give is worked out by hand beside it.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from portal.domain.answers import Discipline
from portal.domain.importing.columns import columns_of
from portal.domain.importing.customers import pair_key
from portal.domain.importing.readings import Content, Subject, first_reading, read
from portal.domain.importing.roster_fields import ROSTER_FIELDS, guess_roster
from portal.domain.importing.roster_verdicts import KnownRoster, RosterVerdict, judge_roster
from portal.domain.importing.rosters import (
    BadCell,
    RosterOptions,
    Shown,
    read_birth_year,
    read_skis,
    read_weight_kg,
)
from portal.domain.importing.sheets import Sheet, sheet_of
from portal.domain.importing.verdicts import Standing

TODAY = date(2026, 11, 27)
CLASSIC, SKATE = Discipline.CLASSIC, Discipline.SKATE
AS_USUAL, NOBODY_HERE = RosterOptions(), KnownRoster()


def meant(headings: str) -> str:
    columns = columns_of(sheet_of("", [headings.split(";")]), 1)
    found = guess_roster(columns)
    return ";".join(found.get(at, "") for at in range(len(headings.split(";"))))


@pytest.mark.parametrize(
    ("headings", "keys"),
    [
        ("Name;Born;Maker;Model;Length", "name;birth;pair_1_maker;pair_1_model;pair_1_length"),
        # What a junior skis stands before any pair, what a pair is for beside it.
        ("Name;Style;Brand;Length (cm)", "name;skis;pair_1_maker;pair_1_length"),
        ("Name;Brand;Style;Length", "name;pair_1_maker;pair_1_discipline;pair_1_length"),
        ("Vorname;Nachname;Jahrgang;Ski;Länge", "first_name;last_name;birth;pair_1_ski;pair_1_length"),
        (
            "Navn;Født;Klassisk;Lengde;Skøyting;Lengde",
            "name;birth;classic_ski;classic_length;skate_ski;skate_length",
        ),
        ("Nimi;Syntymävuosi;Perinteinen;Vapaa;Paino", "name;birth;classic_ski;skate_ski;weight"),
        ("Namn;Klassisk skida längd;Skate längd", "name;classic_length;skate_length"),
        ("Name;Ski 1;Länge 1;Ski 2;Länge 2", "name;pair_1_ski;pair_1_length;pair_2_ski;pair_2_length"),
        (
            "Name;Maker;Length;Maker;Length;Maker;Length",
            "name;pair_1_maker;pair_1_length;pair_2_maker;pair_2_length;pair_3_maker;pair_3_length",
        ),
        ("Name;Ski;Ski", "name;pair_1_ski;pair_2_ski"),
        ("Klassiskski;Skateski", "classic_ski;skate_ski"),
        ("Name;Phone of the parents;Licence", "name;;"),
    ],
)
def test_headings_are_known_by_their_words_and_by_what_stands_before_them(headings: str, keys: str) -> None:
    assert meant(headings) == keys


def test_no_field_is_guessed_twice_and_every_guess_is_a_field() -> None:
    keys = [key for key in meant(";".join(["Ski", "Length", "Maker", "Name", "Born"] * 5)).split(";") if key]
    assert len(keys) == len(set(keys))
    assert set(keys) <= {field.key for field in ROSTER_FIELDS}


@pytest.mark.parametrize(
    ("cell", "year"),
    [
        (2013, 2013),
        ("2013", 2013),
        (2013.0, 2013),
        ("13", 2013),
        ("'08", 2008),
        ("06.05.2013", 2013),
        ("6. 5. 2013", 2013),
        ("6/5/13", 2013),
        ("2013-05-06", 2013),
        ("2013-05-06 00:00:00", 2013),
        (date(2013, 5, 6), 2013),
        # ECMA-376 part 1, 18.17.4.1: 41400 is 2013-05-06, whatever the cell is shown as.
        (41400, 2013),
        ("41400", 2013),
        (None, None),
        ("", None),
    ],
)
def test_a_birth_year(cell: Any, year: int | None) -> None:
    assert read_birth_year(cell, TODAY) == year


@pytest.mark.parametrize("cell", ["U14", 1850, "2027", 12.5, "twelve", True, "1.13"])
def test_what_is_no_birth_year_says_what_would_be(cell: Any) -> None:
    with pytest.raises(BadCell, match="Write four digits from 1990 to 2026"):
        read_birth_year(cell, TODAY)


@pytest.mark.parametrize(
    ("cell", "skis"),
    [
        ("both", None), ("beides", None), ("classic and skate", None), ("klassisk og fristil", None), ("C/S", None),
        ("classic", CLASSIC), ("Skating", SKATE), ("", None), (None, None),
    ],
)  # fmt: skip
def test_what_a_junior_skis(cell: Any, skis: Discipline | None) -> None:
    assert read_skis(cell) is skis


@pytest.mark.parametrize("cell", ["alpine", "classic and jumping"])
def test_what_nobody_skis_here_is_told(cell: str) -> None:
    with pytest.raises(BadCell):
        read_skis(cell)


@pytest.mark.parametrize(("cell", "kg"), [("41 kg", 41), ("41,6", 42), (38, 38), ("", None)])
def test_a_weight(cell: Any, kg: int | None) -> None:
    assert read_weight_kg(cell) == kg


@pytest.mark.parametrize("cell", ["410", "light", "41 lb"])
def test_what_is_no_weight_says_what_would_be(cell: Any) -> None:
    with pytest.raises(BadCell, match="Write kg from 10 to 150"):
        read_weight_kg(cell)


def judged(
    text: str, options: RosterOptions = AS_USUAL, known: KnownRoster = NOBODY_HERE
) -> list[RosterVerdict]:
    content = Content.of_text(text.encode())
    reading = first_reading(content, Subject.ROSTER)
    sheet = read(content, reading)
    return verdicts(sheet, reading.heading, options, known)


def verdicts(sheet: Sheet, heading: int, options: RosterOptions, known: KnownRoster) -> list[RosterVerdict]:
    columns = columns_of(sheet, heading)
    found = guess_roster(columns)
    places = {found[one.at]: one for one in columns if one.at in found}
    return judge_roster(sheet, heading, places, options, known, TODAY)


def told(found: list[RosterVerdict]) -> list[str]:
    """Each row in short: who, the pairs it brings, or what is wrong."""
    lines = []
    for one in found:
        if one.brought is None:
            lines.append(f"{one.row} ! " + " ".join(str(fault.told) for fault in one.faults))
            continue
        pairs = ", ".join(
            f"{pair.maker}/{pair.model}/{pair.length_cm}/{pair.discipline.value}"
            for pair in one.brought.pairs
        )
        junior = one.brought.junior
        new = f"+{junior.name} {junior.birth_year}" if junior else f"={one.brought.who[0]}"
        lines.append(f"{one.row} {new}: {pairs}")
    return lines


def test_a_list_below_titles_with_a_pair_for_each_kind_of_skiing_in_one_row() -> None:
    found = judged(
        "Alder Valley juniors 2026/27;;;\n;;;\nName;Born;Classic;Skate\n"
        "Ada;2012;Fennmark Lom 187 cm;\nBo;2013;Fennmark Lom 1,72;165 Tundraline Vind\n\nCleo;;;Tundraline Vind, 170\n"
    )
    assert told(found) == [
        "4 +Ada 2012: Fennmark/Lom/187/classic",
        "5 +Bo 2013: Fennmark/Lom/172/classic, Tundraline/Vind/165/skate",
        "7 +Cleo None: Tundraline/Vind/170/skate",
    ]


def test_a_junior_with_a_row_for_each_pair_is_one_junior() -> None:
    found = judged(
        "first name,last name,maker,model,style,length,mark\n"
        'Ada,Berg,Fennmark,Lom,classic,187 cm,A1\nAda,Berg,Tundraline,Vind,skate,"1,80",\nada,BERG,Fennmark,Lom,classic,187,A1\n'
    )
    assert told(found) == [
        "2 +Ada Berg None: Fennmark/Lom/187/classic",
        "3 =ada berg: Tundraline/Vind/180/skate",
        "4 =ada berg: ",
    ]
    assert [one.standing for one in found] == [Standing.NEW, Standing.NEW, Standing.THERE]
    assert [str(phrase) for phrase in found[2].told] == ["Junior of row 2", "Pair of row 2"]


def test_several_pairs_in_one_cell() -> None:
    found = judged(
        'name;skis owned;classic\nAda;x;"Fennmark Lom 187; Fennmark Skarv 182"\nBo;x;Fennmark Lom 172 / Tundraline 175\n'
    )
    assert told(found) == [
        "2 +Ada None: Fennmark/Lom/187/classic, Fennmark/Skarv/182/classic",
        "3 +Bo None: Fennmark/Lom/172/classic, Tundraline//175/classic",
    ]


def test_what_stands_in_columns_of_its_own_counts_more() -> None:
    found = judged("name;ski;maker;length;style\nAda;Lom 187;Fennmark;192;classic\n")
    assert told(found) == ["2 +Ada None: Fennmark/Lom/192/classic"]


def test_two_juniors_of_one_name_are_told_apart_by_their_birth_year() -> None:
    found = judged(
        "name;born;ski;style\nBo;2012;Fennmark 170;classic\nBo;2014;Fennmark 160;classic\nBo;;Fennmark 150;classic\nBo;2012;Fennmark 175;skate\n"
    )
    assert told(found) == [
        "2 +Bo 2012: Fennmark//170/classic",
        "3 +Bo 2014: Fennmark//160/classic",
        "4 ! born: Several juniors are called Bo. Enter the birth year.",
        "5 =bo: Fennmark//175/skate",
    ]


def test_a_birth_year_that_only_one_row_has_holds_for_all_of_the_name() -> None:
    found = judged("name;born;ski;style\nBo;;Fennmark 170;classic\nBo;2014;Fennmark 160;skate\n")
    assert told(found) == ["2 +Bo None: Fennmark//170/classic", "3 =bo: Fennmark//160/skate"]
    assert {one.brought.who for one in found if one.brought} == {("bo", 2014)}


def test_what_is_on_the_roster_stays_and_is_not_brought_again() -> None:
    bo = ("bo", 2012)
    lom = (CLASSIC, pair_key("Fennmark", "Lom", 170, ""))
    marked = (SKATE, pair_key("Tundraline", "", 165, "B7"))
    known = KnownRoster([bo], frozenset({(bo, lom)}), {marked: "Ada"})
    found = judged(
        "name;born;ski;style;mark\nBo;2012;fennmark LOM 170;classic;\nBo;;Fennmark Lom 170;skate;\nBo;;Tundraline 165;skate;B7\n",
        known=known,
    )
    assert told(found) == ["2 =bo: ", "3 =bo: Fennmark/Lom/170/skate", "4 =bo: "]
    assert [str(phrase) for phrase in found[2].told] == ["This pair is here already, with Ada"]


def test_two_of_one_name_on_the_roster_are_never_mixed_up() -> None:
    known = KnownRoster([("bo", None), ("bo", None), ("ada", 2012), ("ada", 2014)])
    found = judged("name;born\nBo;\nAda;\nAda;2014\nAda;2015\n", known=known)
    assert told(found) == [
        "2 ! name: Two on the roster are called Bo. Change one of the two names there first.",
        "3 ! born: Several juniors are called Ada. Enter the birth year.",
        "4 =ada: ",
        "5 +Ada 2015: ",
    ]


def test_every_fault_of_a_row_is_told_with_its_column_and_what_would_be_right() -> None:
    found = judged(
        "name;born;ski;length;style\nAda;U14;Fennmark;18,7;ski jumping\n;2012;;;\nBo;;;187;classic\nCleo;;Fennmark 187;;\n"
    )
    assert [[str(fault.told) for fault in one.faults] for one in found] == [
        [
            "born: “U14” is no birth year. Write four digits from 1990 to 2026.",
            "length: “18,7” is no length of skis. Write it in cm from 70 to 230, such as 187.",
            "style: “ski jumping” is not known. Write classic or skate.",
            "style: Enter classic or skate, or choose with the columns what pairs without it are.",
        ],
        ["name: Enter the name of the junior."],
        ["ski: Enter who made the skis."],
        ["style: Enter classic or skate, or choose with the columns what pairs without it are."],
    ]


def test_what_pairs_are_for_comes_from_the_cell_the_column_the_junior_or_the_option_in_this_order() -> None:
    text = "name;skate;style\nAda;Fennmark 187;\n"
    assert told(judged(text, RosterOptions(CLASSIC))) == ["2 +Ada None: Fennmark//187/skate"]
    text = "name;style;ski\nAda;skate;Fennmark 187\nBo;;Fennmark 187\n"
    assert told(judged(text, RosterOptions(CLASSIC))) == [
        "2 +Ada None: Fennmark//187/skate",
        "3 +Bo None: Fennmark//187/classic",
    ]


@pytest.mark.parametrize(
    ("shown", "names"),
    [
        (Shown.WHOLE, ["Anna Berg", "Bo", "Åse Mo"]),
        (Shown.INITIAL, ["Anna B.", "Bo", "Åse M."]),
        (Shown.FIRST, ["Anna", "Bo", "Åse"]),
    ],
)
def test_no_more_of_a_name_is_kept_than_is_wanted(shown: Shown, names: list[str]) -> None:
    found = judged('name;born\n"Berg, Anna";\nBo;\nÅse Mo;\n', RosterOptions(shown=shown))
    assert [one.brought.junior.name for one in found if one.brought and one.brought.junior] == names


def test_a_formula_in_a_cell_stays_text() -> None:
    found = judged('name;ski;style\n"=cmd|calc";"=1+1";classic\n')
    assert told(found)[0].startswith("2 +=cmd|calc")
