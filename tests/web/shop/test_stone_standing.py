"""What a page says of how good a plan is."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask import Flask, g

from portal.domain.planning.problem import Bound, Plan
from portal.i18n import voice
from portal.web.language import say
from portal.web.shop.stone_standing import how_good


@pytest.fixture
def said(app: Flask) -> Iterator[None]:
    with app.test_request_context("/"):
        g.voice = voice("en", "UTC")
        yield


def made(
    bound: Bound, *, late: int = 0, minutes: int = 60, moved: int | None = None, proved: bool = False
) -> Plan:
    return Plan((), (), 5, minutes, late, bound, proved=proved, moved=moved)


@pytest.mark.usefixtures("said")
@pytest.mark.parametrize(
    ("plan", "told"),
    [
        (made(Bound(0, 60, 60), proved=True), ["Proved: no plan is better."]),
        (
            made(Bound(0, 60, 60), late=6),
            ["It is not proved that there is no better plan.", "Proved: no plan as punctual needs"],
        ),
        (made(Bound(4, 60, 60), late=6), ["no plan has fewer than 4.", "Proved"]),
        (made(Bound(6, 60, 60), late=6), ["Proved: no plan has fewer weighted pair-days late.", "Proved"]),
        (made(Bound(0, 50, 50)), ["Nothing is late", "no plan as punctual needs fewer than 50."]),
        (
            made(Bound(0, 50, 58)),
            [
                "Nothing is late",
                "fewer than 50.",
                "No plan that keeps no dressing overnight needs fewer than 58.",
            ],
        ),
        # Four moves of half a minute each are two minutes.
        (
            made(Bound(0, 50, 50, 62.0), moved=4),
            ["Nothing is late", "Proved: no plan as punctual comes to fewer dressing minutes"],
        ),
        (made(Bound(0, 50, 50, 61.5), moved=4), ["Nothing is late", "come to 62.0, where"]),
    ],
)
def test_what_is_proved_is_told_from_what_is_only_the_best_found(plan: Plan, told: list[str]) -> None:
    phrases = [say(phrase) for phrase in how_good(plan, 0.5)]
    assert len(phrases) == len(told)
    for phrase, words in zip(phrases, told, strict=True):
        assert words in phrase
