"""A structure's surface on a page: pictures with words and tables, numbers with their symbols, and a policy that fits."""

from __future__ import annotations

import re

import pytest
from flask import Flask

from portal.domain.layers import Layer
from portal.domain.texture import texture
from portal.web.structure_pictures import AREAL, PROFILE, Group, StructurePictures, structure_pictures
from tests.page import Visitor
from tests.pictures.structures import CROSSED, FINE, STRAIGHT, TWO


def shown(app: Flask, layers: tuple[Layer, ...]) -> StructurePictures:
    with app.test_request_context("/"):
        return structure_pictures(layers)


def values(group: Group) -> dict[str, str]:
    return {row.symbol or row.label: row.value for row in group.rows}


def test_the_page_shows_three_pictures_with_words_and_tables(visitor: Visitor) -> None:
    page = visitor.get("/components")
    assert page.html.count("data:image/png;base64,") == 1
    for name in ("Relief", "Cross-section", "Stacked sections"):
        assert f"{name} in numbers" in page.text
    assert "Shaded relief of 10 by 10 mm" in page.html
    assert "Computed after ISO 25178-2 and ISO 21920-2 from nominal geometry, not measured." in page.text


def test_images_may_come_as_data_and_nothing_else_may(visitor: Visitor) -> None:
    with visitor.raw("GET", "/") as answer:
        policy = dict(one.split(" ", 1) for one in answer.headers["Content-Security-Policy"].split("; "))
    assert policy["img-src"] == "'self' data:"
    assert [name for name, sources in policy.items() if "data:" in sources] == ["img-src"]


def test_every_number_of_the_standards_has_its_words(app: Flask) -> None:
    made = texture(STRAIGHT)
    assert list(AREAL) == [name for name, _ in made.areal.items()]
    assert list(PROFILE) == [name for name, _ in made.profile.items()]
    assert not [words for words, _ in [*AREAL.values(), *PROFILE.values()] if "depth" in words.lower()]


def test_numbers_carry_three_digits_and_their_unit(app: Flask) -> None:
    void, surface, profile = shown(app, STRAIGHT).groups
    # V grooves of 0.2 mm every 0.5 mm, 20 µm deep: void 4 mL/m², plateau 60 %, Ra 5.12 µm, RSm 500 µm.
    assert values(void) == {
        "Void volume": "4.00\xa0mL/m²",
        "Plateau share": "60.0\xa0%",
        "Base it costs, on average": "4.00\xa0µm",
        "Base it costs, at the deepest": "20.0\xa0µm",
    }
    assert values(surface)["Ssk"] == "−1.26"
    assert values(profile)["Ra"] == "5.12\xa0µm"
    assert values(profile)["RSm"] == "500\xa0µm"
    assert not [one for one in (*values(surface).values(), *values(profile).values()) if "e-" in one]


def test_parallel_lines_are_said_to_be_strongly_directional(app: Flask) -> None:
    assert values(shown(app, STRAIGHT).groups[1])["Str"] == "strongly directional"
    assert re.fullmatch(r"0\.\d+", values(shown(app, CROSSED).groups[1])["Str"])


def test_each_dressing_has_its_own_numbers(app: Flask) -> None:
    assert [group.title for group in shown(app, FINE).groups[3:]] == ["Dressing"]
    twice = shown(app, (*FINE, *TWO, *FINE))
    assert [group.title for group in twice.groups[3:]] == ["Dressing 1", "Dressing 2"]
    assert values(twice.groups[3])["Height of the cusps"] == "4.92\xa0µm"


def test_the_same_layers_are_drawn_once(app: Flask) -> None:
    with app.test_request_context("/"):
        assert structure_pictures(TWO) is structure_pictures(tuple(TWO))
        assert structure_pictures(TWO) is not structure_pictures(TWO, uid="other")


@pytest.mark.parametrize("uid", ["one", "other"])
def test_ids_begin_with_what_the_page_gives(app: Flask, uid: str) -> None:
    with app.test_request_context("/"):
        made = structure_pictures(TWO, uid)
    ids = [one for picture in made.pictures for one in re.findall(r'\bid="([^"]+)"', picture.svg)]
    assert len(ids) == len(set(ids))
    assert all(one.startswith(f"{uid}-") for one in ids)
