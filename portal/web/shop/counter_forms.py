"""The form of a counter-offer: a day, a structure for each pair, a price, and a reason for each that is another one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from wtforms import RadioField, SelectField, TextAreaField

from portal.domain.words import N_, Phrase
from portal.web.amounts import AmountField
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.shop.forms import choice, offered
from portal.web.shop.reasons import LONGEST_REASON, in_words

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem

NO_DAY = N_("Choose the day on which it will be ready")
# What is typed, by the name of its field: it is given back when the offer cannot be sent any more.
WRITTEN = {
    "reason": N_("The day, in your own words"),
    "structure_own": N_("The structure, in your own words"),
    "price_own": N_("The price, in your own words"),
}
NO_REASON = N_("Choose a reason from the list, or write your own: the skier reads it")


def _listed(label: str) -> SelectField:
    return SelectField(label, choices=[choice("", "")], validate_choice=False)


def _own(label: str) -> TextAreaField:
    return TextAreaField(label, [at_most(LONGEST_REASON)], filters=[trimmed])


class CounterForm(PortalForm):
    """What is offered instead; ``expect`` says what it is compared with, and what reasons there are."""

    ready = RadioField(
        N_("Which day can the workshop promise?"), [said(NO_DAY)], choices=[], validate_choice=False
    )
    day_listed = _listed(N_("Why another day?"))
    reason = _own(WRITTEN["reason"])
    structure_listed = _listed(N_("Why another structure?"))
    structure_own = _own(WRITTEN["structure_own"])
    price = AmountField(N_("Another price for the whole, tax included"))
    price_listed = _listed(N_("Why another price?"))
    price_own = _own(WRITTEN["price_own"])

    reasons: Mapping[str, str] = {}
    asked_day: date
    held: Mapping[int, int] = {}
    total: Decimal

    def expect(
        self, asked_day: date, held: Mapping[int, int], total: Decimal, reasons: Mapping[str, str]
    ) -> None:
        """Compare with this day, these structures (by pair of the booking) and this price."""
        self.asked_day, self.held, self.total, self.reasons = asked_day, held, total, reasons
        choices = [
            choice("", N_("None of these")),
            *(choice(name, words) for name, words in self.reasons.items()),
        ]
        for field in (self.day_listed, self.structure_listed, self.price_listed):
            field.choices = choices
            field.data = field.data or ""

    @property
    def chosen_day(self) -> date | None:
        """The day that was chosen, when it is one."""
        try:
            return date.fromisoformat(self.ready.data or "")
        except ValueError:
            return None

    def chosen_structure(self, item_id: int) -> int:
        """The structure that was chosen for a pair."""
        return int(self[structure_name(item_id)].data)

    @property
    def other_price(self) -> Decimal | None:
        """The price, when it is another one."""
        return None if self.price.amount == self.total else self.price.amount

    def told(self, listed: SelectField, own: TextAreaField) -> str:
        """A reason as the skier reads it: the chosen one, then the words of one's own."""
        return in_words(self.reasons, listed, own)

    def validate_ready(self, field: Any) -> None:
        if self.chosen_day is None:
            raise Problem(NO_DAY)

    def validate_day_listed(self, field: Any) -> None:
        if self.chosen_day not in {None, self.asked_day} and not self.told(field, self.reason):
            raise Problem(NO_REASON)

    def validate_structure_listed(self, field: Any) -> None:
        chosen = {item_id: self[structure_name(item_id)].data for item_id in self.held}
        is_other = any(
            (chosen[item_id] or "").isdecimal() and chosen[item_id] != str(held)
            for item_id, held in self.held.items()
        )
        if is_other and not self.told(field, self.structure_own):
            raise Problem(NO_REASON)

    def validate_price_listed(self, field: Any) -> None:
        if self.other_price is not None and not self.told(field, self.price_own):
            raise Problem(NO_REASON)


def structure_name(item_id: int) -> str:
    """The name of the field that asks for the structure of a pair."""
    return f"structure_{item_id}"


def counter_form(items: Sequence[BookingItem], structures: Mapping[int, list[Any]]) -> type[CounterForm]:
    """The form for these pairs, with what each can be ground with (booking item id -> choices)."""
    fields = {
        structure_name(item.id): SelectField(
            Phrase(N_("Structure for %(pair)s"), {"pair": item.pair.title}),  # type: ignore[arg-type]
            [offered(N_("Choose a structure from the list"))],
            choices=structures[item.id],
            validate_choice=False,
        )
        for item in items
    }
    return type("CounterFormOfBooking", (CounterForm,), fields)
