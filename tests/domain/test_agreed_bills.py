"""What an agreed price, a fee, a pair fewer and a parting do to a bill; sums are checked by adding the lines up by hand."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from portal.domain import agreed_bills
from portal.domain.change_rules import Change
from portal.domain.prices import Bill, Item, Line
from portal.domain.words import Phrase

GRIND, FLAT = Phrase(Item.GRIND.label), Phrase(Item.FLATTENING.label)
SAVING = Phrase("Club saving of %(percent)s %% for %(pairs)s pairs", {"percent": "5", "pairs": "6"})


def bill(*lines: tuple[Phrase, int, str]) -> Bill:
    return Bill(tuple(Line(label, count, Decimal(each)) for label, count, each in lines))


def test_an_agreed_price_is_one_line_and_another_one_takes_its_place() -> None:
    asked = bill((GRIND, 2, "49.00"), (FLAT, 1, "18.00"))
    first = agreed_bills.agreed(asked, Decimal("100.00"))
    assert [str(line.amount) for line in first.lines] == ["98.00", "18.00", "-16.00"]
    assert first.total == Decimal("100.00")
    second = agreed_bills.agreed(first, Decimal("120.50"))
    assert [str(line.amount) for line in second.lines] == ["98.00", "18.00", "4.50"]
    assert agreed_bills.agreed(second, Decimal("116.00")) == asked


def test_a_fee_is_the_last_line_and_nothing_is_no_line() -> None:
    asked = bill((GRIND, 1, "49.00"))
    assert agreed_bills.with_fee(asked, Change.MOVE, Decimal(0)) == asked
    charged = agreed_bills.with_fee(asked, Change.MOVE, Decimal("10.00"))
    assert (charged.total, charged.lines[-1].label.text) == (Decimal("59.00"), "Fee for another day")
    assert agreed_bills.fees(charged).total == Decimal("10.00")


def test_a_pair_fewer_keeps_fees_whole_and_the_agreed_difference_in_proportion() -> None:
    before = agreed_bills.with_fee(
        agreed_bills.agreed(bill((GRIND, 4, "50.00")), Decimal("180.00")), Change.MOVE, Decimal("10.00")
    )
    after = agreed_bills.without_a_pair(before, bill((GRIND, 3, "50.00")))
    assert [str(line.amount) for line in after.lines] == ["150.00", "-15.00", "10.00"]


def test_a_club_order_is_parted_by_its_counts_and_the_saving_by_what_the_parts_come_to() -> None:
    whole = bill((GRIND, 6, "49.00"), (FLAT, 1, "18.00"), (SAVING, 1, "-15.60"))
    own = {Item.GRIND.label: (4, 2), Item.FLATTENING.label: (0, 1)}
    stays, leaves = agreed_bills.parted(whole, own, (4, 2))
    # 196.00 stay and 116.00 leave; 15.60 x 116 / 312 = 5.80.
    assert [str(line.amount) for line in stays.lines] == ["196.00", "-9.80"]
    assert [str(line.amount) for line in leaves.lines] == ["98.00", "18.00", "-5.80"]


def test_a_fee_stays_with_the_first_part() -> None:
    whole = agreed_bills.with_fee(bill((GRIND, 2, "49.00")), Change.MOVE, Decimal("10.00"))
    stays, leaves = agreed_bills.parted(whole, {Item.GRIND.label: (1, 1)}, (1, 1))
    assert (stays.total, leaves.total) == (Decimal("59.00"), Decimal("49.00"))


MONEY = st.integers(-20000, 20000).map(lambda cents: Decimal(cents) / 100)


@given(
    stays=st.integers(1, 9),
    leaves=st.integers(1, 9),
    each=st.integers(0, 9900).map(lambda cents: Decimal(cents) / 100),
    others=st.lists(MONEY, max_size=4),
    fee=st.integers(0, 3000).map(lambda cents: Decimal(cents) / 100),
)
def test_the_parts_always_come_to_what_the_whole_came_to(
    stays: int, leaves: int, each: Decimal, others: list[Decimal], fee: Decimal
) -> None:
    lines = [Line(GRIND, stays + leaves, each), *(Line(SAVING, 1, amount) for amount in others)]
    whole = agreed_bills.with_fee(Bill(tuple(lines)), Change.MOVE, fee)
    parts = agreed_bills.parted(whole, {Item.GRIND.label: (stays, leaves)}, (stays, leaves))
    assert parts[0].total + parts[1].total == whole.total
    assert all(line.each == line.each.quantize(Decimal("0.01")) for part in parts for line in part.lines)


def test_lines_that_cannot_be_counted_are_shared_by_pairs() -> None:
    whole = bill((Phrase("An old line"), 1, "30.00"))
    stays, leaves = agreed_bills.parted(whole, {}, (2, 1))
    assert (stays.total, leaves.total) == (Decimal("20.00"), Decimal("10.00"))
