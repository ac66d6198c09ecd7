"""Camber measured at the bench, and the force on the stone along the ski that follows from it."""

from __future__ import annotations

from typing import Any

import pytest

from portal.db.workshop import Workshop
from portal.queries import pairs as find_pairs
from tests.cast import Cast
from tests.page import Visitor

MEASURED = {"camber_mm": "24", "contact_cm": "160 cm"}


def measured(desk: Any, cast: Cast) -> tuple[float | None, int | None]:
    pair = desk.read(find_pairs.one, cast.tina, cast.pair_id)
    return pair.camber_mm, pair.contact_cm


def test_an_unmeasured_pair_says_what_to_measure_and_leads_there(tina: Visitor, cast: Cast) -> None:
    page = tina.get(f"/shop/pair/{cast.pair_id}")
    assert "Camber height and contact length were not measured" in page.text
    assert f"/shop/pair/{cast.pair_id}/camber" in page.links
    assert "maker's manual" not in page.text


def test_a_measured_pair_shows_the_force_along_it_and_who_decides(
    tina: Visitor, cast: Cast, desk: Any
) -> None:
    page = tina.send(tina.get(f"/shop/pair/{cast.pair_id}/camber"), **MEASURED)
    assert "The camber of" in page.text
    assert measured(desk, cast) == (24.0, 160)
    # 250 N and 30 % are what a workshop starts with; slope at the ends 4 * 24 / 1600 = 0.06, so
    # 250 * (cos a - 0.3 sin a) = 245.06 N at the front end and 254.04 N at the rear end.
    assert (
        "160 cm of the ski for a wheel force of 250 N: 245 N at the front end, 254 N at the rear end."
        in page.text
    )
    assert (
        "The limits in the machine maker's manual and the trained operator decide, not this page."
        in page.text
    )
    assert "a camber of 24 mm over 160 cm, a wheel force of 250 N and a drag of 30 % of it" in page.text
    # The middle of zone 1 of 4 lies 15 + 145 / 8 cm behind the front end: tan a = 4 * 24 * (662.5 - 1600) / 1600² = -0.03516,
    # 0.99938 - 0.3 * 0.03513 = 0.9888.
    assert "1 15–51 247 98.9 253" in page.text


def test_the_wheel_of_the_workshop_counts(tina: Visitor, cast: Cast, desk: Any) -> None:
    tina.send(tina.get(f"/shop/pair/{cast.pair_id}/camber"), **MEASURED)
    with desk.database.write.begin() as session:
        session.query(Workshop).update({"wheel_force_n": 400, "wheel_drag_pct": 0})
    assert (
        "a wheel force of 400 N: 399 N at the front end, 399 N" in tina.get(f"/shop/pair/{cast.pair_id}").text
    )


def test_at_the_bench_the_line_stands_beside_the_structure_that_is_ground(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    tina.send(tina.get(f"/shop/pair/{booked.pair_id}/camber"), **MEASURED)
    page = tina.get(f"/shop/pairs/{booked.item_id}/record")
    assert "Pressure along the ski for" in page.text
    assert "layer" in page.text
    assert "250 N: 245 N at the front end" in page.text


WRONG = (
    (
        {"camber_mm": "24", "contact_cm": ""},
        "Enter both the camber height and the contact length, or leave both empty",
    ),
    ({"camber_mm": "", "contact_cm": "160"}, "Enter both the camber height and the contact length"),
    ({"camber_mm": "high", "contact_cm": "160"}, "Camber height: enter digits only"),
    ({"camber_mm": "61", "contact_cm": "160"}, "Camber height: enter a number from 0 to 60"),
    ({"camber_mm": "24", "contact_cm": "1600"}, "Contact length: enter a number from 30 to 230"),
    ({"camber_mm": "24", "contact_cm": "160.5"}, "Contact length: enter a whole number"),
)


@pytest.mark.parametrize(("typed", "told"), WRONG)
def test_a_wrong_camber_is_told_what_to_do_and_changes_nothing(
    tina: Visitor, cast: Cast, desk: Any, typed: dict[str, str], told: str
) -> None:
    page = tina.send(tina.get(f"/shop/pair/{cast.pair_id}/camber"), **typed)
    assert told in page.text
    assert page.form()["camber_mm"] == typed["camber_mm"]
    assert measured(desk, cast) == (None, None)


def test_an_emptied_camber_is_not_measured_again(tina: Visitor, cast: Cast, desk: Any) -> None:
    form = tina.get(f"/shop/pair/{cast.pair_id}/camber")
    tina.send(form, **MEASURED)
    tina.send(form, camber_mm="", contact_cm="")
    assert measured(desk, cast) == (None, None)


def test_for_its_owner_the_form_does_not_exist(visitor: Visitor, cast: Cast) -> None:
    visitor.as_(cast.alice).get(f"/shop/pair/{cast.pair_id}/camber", status=404)
