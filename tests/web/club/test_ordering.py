"""The way to an order of many pairs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from portal.db.engine import Database
from portal.domain.answers import Discipline
from portal.domain.prices import Item
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.services import days, workshop
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.club.conftest import Clubhouse


def choose(cora: Visitor, clubhouse: Clubhouse, *pair_ids: int, status: int = 200, **given: str) -> Page:
    """Fill in the first page for some pairs."""
    form = cora.get(clubhouse.url("/order"))
    ticks = {f"pair_{pair_id}": "y" for pair_id in pair_ids}
    values = {"all_skate": str(clubhouse.structure()), "hand_in": "2026-12-08", **ticks, **given}
    return cora.send(form, status=status, **values)


def test_an_order_goes_from_ticks_to_a_sent_request(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    classic = clubhouse.pair(discipline=Discipline.CLASSIC)
    other = clubhouse.pair()
    cora = visitor.as_(cast.cora)
    page = choose(
        cora,
        clubhouse,
        cast.club_pair_id,
        classic,
        other,
        all_classic=str(clubhouse.structure(Discipline.CLASSIC)),
        flattening="y",
        **{f"structure_{other}": str(clubhouse.structure(number=1)), f"plain_{other}": "y"},
    )
    assert page.h1 == "Day and price"
    assert "3 pairs, handed in by Tue 8 December 2026" in page.text
    page = cora.send(page, ready="2026-12-11", note="One crate")
    assert page.h1 == "Check the order"
    assert "One crate" in page.text
    assert "Fri 11 December 2026" in page.text
    page = cora.send(page, "send")
    assert page.h1 == "The order is sent"
    with database.read() as session:
        order = find_bookings.of_club(session, cast.club_id)[0]
        assert order.reference in page.text
        found = {item.pair_id: item for item in order.items}
        assert found[cast.club_pair_id].structure_id == clubhouse.structure()
        assert found[other].structure_id == clubhouse.structure(number=1)
        assert found[classic].structure_id == clubhouse.structure(Discipline.CLASSIC)
        assert [found[pair_id].flattening for pair_id in (cast.club_pair_id, classic, other)] == [
            True,
            True,
            False,
        ]
        assert (order.club_id, order.note) == (cast.club_id, "One crate")
        assert find_bookings.draft(session, cast.cora, cast.club_id) is None


def test_the_price_is_shown_with_the_clubs_saving_before_anything_is_sent(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    pairs = [cast.club_pair_id, *(clubhouse.pair() for _ in range(4))]
    page = choose(visitor.as_(cast.cora), clubhouse, *pairs)
    # Five pairs at 49.00 are 245.00; five per cent of that, rounded half up, are 12.25.
    assert "Club saving of 5 % for 5 pairs" in page.text
    assert "€232.75" in page.text


def test_every_pair_can_be_ticked_at_once(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    other = clubhouse.pair()
    fields = visitor.as_(cast.cora).get(clubhouse.url("/order?tick=all")).form("order")
    assert f"pair_{other}" in fields
    assert f"pair_{cast.club_pair_id}" in fields


def test_what_is_missing_is_said_at_its_field(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url("/order")))
    assert page.errors == ["Choose the day on which you hand the pairs in", "Tick at least one pair"]
    page = choose(cora, clubhouse, cast.club_pair_id, all_skate="")
    assert page.errors == ["Choose the structure for the skating pairs"]
    assert f"pair_{cast.club_pair_id}" in page.form("order")


def test_a_structure_that_is_not_in_the_list_is_refused(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    page = choose(visitor.as_(cast.cora), clubhouse, cast.club_pair_id, all_skate="999999")
    assert page.errors == ["Choose a structure from the list"]


def test_a_base_that_is_too_thin_is_said_at_its_pair(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ground(cast.club_pair_id, after_um=501)
    page = choose(visitor.as_(cast.cora), clubhouse, cast.club_pair_id)
    assert page.errors == [
        "The base of Fennmark Lom 187 cm is too thin for this. Leave it out, or talk to the workshop"
    ]


def test_a_pair_in_an_open_order_is_listed_with_the_reason_and_cannot_be_ticked(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ordered()
    cora = visitor.as_(cast.cora)
    assert cora.get(clubhouse.url("/order")).h1 == "Nothing can be ordered now"
    free = clubhouse.pair()
    page = cora.get(clubhouse.url("/order"))
    assert "Pairs that cannot be ordered now" in page.text
    assert f"in order {reference(clubhouse)}" in page.text
    assert f'name="pair_{cast.club_pair_id}"' not in page.html
    assert f'name="pair_{free}"' in page.html


def reference(clubhouse: Clubhouse) -> str:
    with clubhouse.database.read() as session:
        return find_bookings.of_club(session, clubhouse.id)[0].reference


def test_a_club_without_pairs_is_told_what_to_do(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.dora).get(f"/club/{cast.other_club_id}/order")
    assert "The club has no pairs yet" in page.text


def test_a_workshop_without_open_days_is_said_so(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    shut(clubhouse)
    assert "no open days ahead" in visitor.as_(cast.cora).get(clubhouse.url("/order")).text


def shut(clubhouse: Clubhouse, minutes: int = 0, last: date = date(2027, 3, 1)) -> None:
    """From tomorrow to ``last`` the stone runs for so many minutes a day."""
    with clubhouse.database.write.begin() as session:
        days.open_days(session, make.TODAY, last, range(5), (minutes,))


def test_the_way_cannot_be_entered_in_the_middle(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    assert cora.get(clubhouse.url("/order/day")).h1 == "Order a grind"
    assert cora.get(clubhouse.url("/order/check")).h1 == "Order a grind"
    assert cora.post(clubhouse.url("/order/send")).h1 == "Order a grind"
    choose(cora, clubhouse, cast.club_pair_id)
    assert cora.get(clubhouse.url("/order/check")).h1 == "Day and price"


def test_no_day_chosen_is_said_and_the_note_is_kept(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(choose(cora, clubhouse, cast.club_pair_id), note="One crate")
    assert page.errors == ["Choose the day by which you need the pairs"]
    assert page.form("day")["note"].strip() == "One crate"


def test_a_day_that_is_not_offered_is_refused(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(choose(cora, clubhouse, cast.club_pair_id), ready="2026-12-12")
    assert page.errors == ["Choose the day by which you need the pairs"]


def test_an_order_for_which_no_day_has_room_gets_a_page_that_says_so(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    shut(clubhouse, minutes=1)
    page = choose(visitor.as_(cast.cora), clubhouse, cast.club_pair_id)
    assert page.h1 == "The stone is full"
    assert clubhouse.url("/order") in page.links


def test_a_day_that_fills_up_while_the_order_is_checked_leads_to_the_next_one(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    check = cora.send(choose(cora, clubhouse, cast.club_pair_id), ready="2026-12-09")
    shut(clubhouse, minutes=1, last=date(2026, 12, 11))
    page = cora.send(check, "send", status=409)
    assert page.h1 == "The stone is full"
    assert "Mon 14 December 2026" in page.text
    with database.read() as session:
        assert find_bookings.of_club(session, cast.club_id) == []
    again = cora.get(next(link for link in page.links if "ready=2026-12-14" in link))
    assert again.form("day")["ready"] == "2026-12-14"


def test_a_pair_that_was_ordered_meanwhile_is_said_so_on_the_first_page(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    other = clubhouse.pair()
    cora = visitor.as_(cast.cora)
    check = cora.send(choose(cora, clubhouse, cast.club_pair_id, other), ready="2026-12-11")
    clubhouse.ordered()
    page = cora.send(check, "send")
    assert page.h1 == "Order a grind"
    assert "can no longer be ordered" in page.text


def test_a_base_measured_too_thin_meanwhile_stops_the_order_with_a_reason(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    check = cora.send(choose(cora, clubhouse, cast.club_pair_id), ready="2026-12-11")
    clubhouse.ground(cast.club_pair_id, after_um=501)
    page = cora.send(check, "send", status=409)
    assert "too thin" in page.text
    assert clubhouse.url("/order") in page.links


def test_what_was_chosen_is_there_again_and_can_be_forgotten(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    check = cora.send(choose(cora, clubhouse, cast.club_pair_id, saturation="y"), ready="2026-12-11")
    fields = cora.get(clubhouse.url("/order")).form("order")
    assert fields["saturation"] == ["y"]
    assert fields[f"pair_{cast.club_pair_id}"] == ["y"]
    assert fields["hand_in"] == "2026-12-08"
    page = cora.send(check, "drop")
    assert "forgotten" in page.text
    assert f"pair_{cast.club_pair_id}" not in cora.get(clubhouse.url("/order")).form("order")


def test_a_pair_of_another_club_cannot_be_slipped_in(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    page = choose(visitor.as_(cast.cora), clubhouse, cast.pair_id)
    assert page.errors == ["Tick at least one pair"]


def test_an_order_counts_bases_that_were_never_measured(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    with database.read() as session:
        assert find_grinds.thinnest_now_um(session, cast.club_pair_id) is None
    page = cora.send(choose(cora, clubhouse, cast.club_pair_id), ready="2026-12-11")
    assert "never measured" in page.text


def test_what_is_sent_is_what_was_checked(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    check = cora.send(choose(cora, clubhouse, cast.club_pair_id), ready="2026-12-11")
    assert "€49.00" in check.text
    with clubhouse.database.write.begin() as session:
        workshop.set_price(session, Item.GRIND, Decimal("60.00"), make.TODAY)
    again = cora.send(check, "send")
    assert again.h1 == "Check the order"
    assert "Something has changed since you checked it" in again.text
    assert "€60.00" in again.text
    assert cora.send(again, "send").h1 == "The order is sent"
    with clubhouse.database.read() as session:
        assert [order.total for order in find_bookings.of_club(session, clubhouse.id)] == [Decimal("60.00")]
