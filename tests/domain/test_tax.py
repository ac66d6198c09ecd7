"""Tax within prices: worked examples of others, and that nothing is lost by rounding."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.prices import (
    ZERO,
    Bill,
    Item,
    Line,
    ListedPrice,
    ListedRate,
    TaxSum,
    Tier,
    bill,
    rate_on,
    spread,
    tax_within,
    taxes_of_part,
)
from portal.domain.words import Phrase

DAY = date(2026, 12, 7)


@pytest.mark.parametrize(
    ("gross", "rate", "tax"),
    [
        # HM Revenue & Customs, "Calculating VAT for VAT-inclusive and VAT-exclusive prices" and its VAT fractions: 100 and
        # the tax on it make the gross; 1/6 of it at 20 %, 7/47 at 17.5 %, 3/23 at 15 %, 1/21 at 5 %.
        ("120.00", "20", "20.00"),
        ("117.50", "17.5", "17.50"),
        ("115.00", "15", "15.00"),
        ("105.00", "5", "5.00"),
        # CEN/TC 434, example invoice 2 of EN 16931 (VAT breakdown, rule BR-CO-17, half up): 25 % of 1460.50 is 365.125,
        # stated as 365.13; 15 % of 1.00 is 0.15; 0 % of -25.00 is nothing.
        ("1825.63", "25", "365.13"),
        ("1.15", "15", "0.15"),
        ("-25.00", "0", "0.00"),
    ],
)
def test_the_tax_within_a_price_as_others_work_it_out(gross: str, rate: str, tax: str) -> None:
    assert tax_within(Decimal(gross), Decimal(rate)) == Decimal(tax)


def line(amount: str, rate: str | None, count: int = 1) -> Line:
    return Line(Phrase("x"), count, Decimal(amount), None if rate is None else Decimal(rate))


def test_tax_is_worked_out_on_the_sum_of_each_rate_and_not_line_by_line() -> None:
    # Three times 0.02 would each hold no cent of tax at 25 %; together they hold one.
    made = Bill((line("0.02", "25"), line("0.02", "25"), line("0.02", "25"), line("10.00", "12")))
    assert made.taxes == (
        TaxSum(Decimal(25), Decimal("0.06"), Decimal("0.01")),
        TaxSum(Decimal(12), Decimal("10.00"), Decimal("1.07")),
    )


def test_lines_of_before_tax_was_stated_state_none() -> None:
    assert Bill((line("49.00", None),)).taxes == ()


def test_a_rate_counts_from_its_day_and_is_kept_in_the_line() -> None:
    rates = [
        ListedRate(Item.GRIND, Decimal("24.00"), date(2025, 1, 1)),
        ListedRate(Item.GRIND, Decimal("25.50"), date(2026, 9, 1)),
    ]
    assert rate_on(rates, Item.GRIND, date(2026, 8, 31)) == Decimal("24.00")
    assert rate_on(rates, Item.FLATTENING, DAY) is None
    prices = [ListedPrice(Item.GRIND, Decimal("49.00"), date(2025, 1, 1))]
    made = bill([frozenset({Item.GRIND})], prices, DAY, rates=rates)
    assert made.lines[0].rate == Decimal("25.50")
    # 49 x 25.5 / 125.5 = 9.956...
    assert made.taxes == (TaxSum(Decimal("25.50"), Decimal("49.00"), Decimal("9.96")),)


def test_a_saving_over_two_rates_is_rounded_once_and_shared_out() -> None:
    prices = [
        ListedPrice(Item.GRIND, Decimal("49.00"), date(2025, 1, 1)),
        ListedPrice(Item.SATURATION, Decimal("15.55"), date(2025, 1, 1)),
    ]
    rates = [
        ListedRate(Item.GRIND, Decimal(25), date(2025, 1, 1)),
        ListedRate(Item.SATURATION, Decimal(12), date(2025, 1, 1)),
    ]
    made = bill(
        [frozenset({Item.GRIND, Item.SATURATION})] * 5, prices, DAY, [Tier(5, Decimal(5))], rates=rates
    )
    savings = [(one.rate, one.amount) for one in made.lines if one.item is None]
    # 5 % of 322.75 is 16.1375, so 16.14 in all: 245.00 of 322.75 of it is 12.2519, the rest 3.89.
    assert savings == [(Decimal(25), Decimal("-12.25")), (Decimal(12), Decimal("-3.89"))]
    assert made.total == Decimal("306.61")


RATES = st.sampled_from([None, *map(Decimal, ("0", "5", "12", "17.5", "24", "25", "25.5"))])
AMOUNTS = st.decimals(0, 9999, places=2)
LINES = st.lists(
    st.builds(Line, st.just(Phrase("x")), st.integers(1, 40), AMOUNTS, RATES), min_size=1, max_size=6
)


@given(LINES)
def test_net_and_tax_make_up_what_is_paid(lines: list[Line]) -> None:
    made = Bill(tuple(lines))
    stated = sum((one.gross for one in made.taxes), ZERO)
    assert stated == sum((one.amount for one in lines if one.rate is not None), ZERO)
    for part in made.taxes:
        assert part.net + part.tax == part.gross
        assert part.tax == part.tax.quantize(Decimal("0.01"))
        # Reckoned forward from net, as EN 16931 does (BR-CO-17), it is the same to a cent.
        assert abs(part.net * part.rate / 100 - part.tax) < Decimal("0.01")


@given(LINES, st.lists(st.integers(1, 100), max_size=4))
def test_the_receipts_of_all_parts_state_the_tax_of_the_whole(lines: list[Line], cuts: list[int]) -> None:
    made = Bill(tuple(lines))
    marks = [(made.total * cut / 100).quantize(Decimal("0.01")) for cut in sorted(set(cuts))]
    stated: list[TaxSum] = []
    for paid in [*marks, made.total]:
        stated += taxes_of_part(made, paid, stated)
    for part in made.taxes:
        assert sum((one.tax for one in stated if one.rate == part.rate), ZERO) == part.tax
        assert sum((one.gross for one in stated if one.rate == part.rate), ZERO) == part.gross


def test_a_part_holds_each_rate_in_proportion_and_a_refund_takes_it_back() -> None:
    made = Bill((line("100.00", "25"), line("50.00", "12")))
    deposit = taxes_of_part(made, Decimal("30.00"))
    assert deposit == (
        TaxSum(Decimal(25), Decimal("20.00"), Decimal("4.00")),
        TaxSum(Decimal(12), Decimal("10.00"), Decimal("1.07")),
    )
    back = taxes_of_part(made, ZERO, deposit)
    assert [(one.rate, one.gross, one.tax) for one in back] == [
        (Decimal(25), Decimal("-20.00"), Decimal("-4.00")),
        (Decimal(12), Decimal("-10.00"), Decimal("-1.07")),
    ]
    assert taxes_of_part(Bill(()), Decimal("10.00")) == ()


def test_an_amount_is_spread_over_the_rates_of_what_it_goes_with() -> None:
    lines = [line("30.00", "25"), line("10.00", "12"), line("10.00", "25")]
    made = spread(Phrase("Difference"), Decimal("-5.01"), lines)
    # 40 of 50 are at 25 %: 4.008 of it, and the rest.
    assert [(one.rate, one.amount) for one in made] == [
        (Decimal(25), Decimal("-4.01")),
        (Decimal(12), Decimal("-1.00")),
    ]
    assert spread(Phrase("Difference"), Decimal("2.00"), []) == []
    # Lines that come to nothing have no proportion: the first rate takes it.
    (only,) = spread(Phrase("Difference"), Decimal("2.00"), [line("5.00", "25"), line("-5.00", "12")])
    assert (only.rate, only.amount) == (Decimal(25), Decimal("2.00"))
