"""The price list: dates, extras, club tiers, one rounding."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest

from portal.domain.errors import NotNow
from portal.domain.prices import Item, ListedPrice, Tier, bill, is_express, price_on

LIST = (
    ListedPrice(Item.GRIND, Decimal("45.00"), date(2025, 1, 1)),
    ListedPrice(Item.GRIND, Decimal("49.00"), date(2026, 9, 1)),
    ListedPrice(Item.FLATTENING, Decimal("18.00"), date(2025, 1, 1)),
    ListedPrice(Item.SATURATION, Decimal("15.55"), date(2025, 1, 1)),
)
TIERS = (Tier(5, Decimal("5.00")), Tier(20, Decimal("12.50")))
DAY = date(2026, 12, 7)


def test_a_price_counts_from_its_day_until_the_next_one() -> None:
    assert price_on(LIST, Item.GRIND, date(2026, 8, 31)) == Decimal("45.00")
    assert price_on(LIST, Item.GRIND, date(2026, 9, 1)) == Decimal("49.00")


def test_without_a_price_the_workshop_is_to_be_asked() -> None:
    with pytest.raises(NotNow, match="no price for “Grind”"):
        price_on(LIST, Item.GRIND, date(2024, 12, 31))


def test_a_bill_counts_each_item_once_a_pair() -> None:
    pairs = [frozenset({Item.GRIND}), frozenset({Item.GRIND, Item.FLATTENING, Item.SATURATION})]
    made = bill(pairs, LIST, DAY)
    assert [(str(line.label), line.count, line.each) for line in made.lines] == [
        ("Grind", 2, Decimal("49.00")),
        ("Base flattening", 1, Decimal("18.00")),
        ("Hot-wax saturation", 1, Decimal("15.55")),
    ]
    assert made.total == Decimal("131.55")


def test_a_club_saves_by_the_highest_tier_it_reaches_rounded_half_up_once() -> None:
    four = bill([frozenset({Item.GRIND})] * 4, LIST, DAY, TIERS)
    assert four.total == Decimal("196.00")
    five = bill([frozenset({Item.GRIND, Item.SATURATION})] * 5, LIST, DAY, TIERS)
    # 5 x 64.55 = 322.75; 5 % of it is 16.1375, rounded half up 16.14.
    assert five.lines[-1].amount == Decimal("-16.14")
    assert str(five.lines[-1].label) == "Club saving of 5 % for 5 pairs"
    assert five.total == Decimal("306.61")
    twenty = bill([frozenset({Item.GRIND})] * 20, LIST, DAY, TIERS)
    assert twenty.lines[-1].amount == Decimal("-122.50")


def test_nothing_wanted_costs_nothing() -> None:
    assert bill([], LIST, DAY, TIERS).total == Decimal("0.00")


def test_a_round_saving_is_written_as_people_write_it() -> None:
    ten = bill([frozenset({Item.GRIND})] * 5, LIST, DAY, [Tier(5, Decimal("10.00"))])
    assert str(ten.lines[-1].label) == "Club saving of 10 % for 5 pairs"


def test_what_is_charged_once_counts_once_and_no_club_saves_on_it() -> None:
    prices = (*LIST, ListedPrice(Item.RETURN_POST, Decimal("18.90"), date(2025, 1, 1)))
    made = bill([frozenset({Item.GRIND})] * 5, prices, DAY, TIERS, once=[Item.RETURN_POST])
    assert [(line.item, line.count, line.amount) for line in made.lines] == [
        (Item.GRIND, 5, Decimal("245.00")),
        (Item.RETURN_POST, 1, Decimal("18.90")),
        (None, 1, Decimal("-12.25")),
    ]


WEEK = [date(2026, 12, day) for day in (7, 8, 9, 10, 11, 14, 15)]


@pytest.mark.parametrize(
    ("arrival", "ready", "within", "express"),
    [
        (date(2026, 12, 8), date(2026, 12, 9), 2, True),
        (date(2026, 12, 8), date(2026, 12, 10), 2, True),
        (date(2026, 12, 8), date(2026, 12, 11), 2, False),
        # Over the weekend only the days on which the stone runs count.
        (date(2026, 12, 11), date(2026, 12, 15), 2, True),
        (date(2026, 12, 12), date(2026, 12, 14), 1, True),
        (date(2026, 12, 8), date(2026, 12, 9), 0, False),
    ],
)
def test_a_near_ready_day_is_express_counted_in_working_days(
    arrival: date, ready: date, within: int, express: bool
) -> None:
    assert is_express(WEEK, arrival, ready, within) is express


def test_of_the_tiers_and_what_was_agreed_with_a_club_the_better_one_counts_and_never_both() -> None:
    agreed = Tier(0, Decimal("7.50"), agreed=True)
    pair = frozenset({Item.GRIND})
    few = bill([pair] * 5, LIST, DAY, (*TIERS, agreed))
    many = bill([pair] * 20, LIST, DAY, (*TIERS, agreed))
    grind = few.lines[0].each
    # 7.5 % of five is more than the step's 5 %; 12.5 % of twenty is more than what was agreed.
    assert few.lines[1].amount == -(grind * 5 * Decimal("0.075")).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert few.lines[1].label.text == "Agreed club saving of %(percent)s %%"
    assert many.lines[1].amount == -(grind * 20 * Decimal("0.125")).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert len(few.lines) == len(many.lines) == 2
