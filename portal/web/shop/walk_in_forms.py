"""The form of a booking that the workshop takes for somebody: who, which pairs with what work, from when until when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from wtforms import BooleanField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.pairs import LENGTH_CM
from portal.domain.words import N_, Phrase
from portal.services.accounts import NAME_LENGTH
from portal.services.bookings import Wanted
from portal.services.pairs import PairFacts
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.pair_form import NAME_LENGTH as PAIR_NAME_LENGTH
from portal.web.pair_form import labelled

if TYPE_CHECKING:
    from portal.db.pairs import Pair

NOTE_LENGTH, PHONE_LENGTH = 2000, 40
NEW = "new"
NO_PAIR = N_("Tick a pair, or say who made the new one")


def phone_field() -> StringField:
    """A telephone number as people write it."""
    return StringField(N_("Telephone"), [Optional(), at_most(PHONE_LENGTH)], filters=[on_one_line])


# Made before the others, so that it is asked and told first.
NAME = StringField(N_("Name"), [said(N_("Enter the name")), at_most(NAME_LENGTH)], filters=[on_one_line])
ANOTHER = BooleanField(N_("It is somebody else with the same name"))


class TakeForm(PortalForm):
    """One booking; ``take_form`` adds what each pair of the person's is asked."""

    phone = phone_field()
    email = EmailField(N_("E-mail address"), [Optional()], filters=[on_one_line])
    maker = StringField(N_("Maker"), [at_most(PAIR_NAME_LENGTH)], filters=[trimmed])
    model = StringField(N_("Model"), [Optional(), at_most(PAIR_NAME_LENGTH)], filters=[trimmed])
    mark = StringField(
        N_("Mark on the skis"),
        [Optional(), at_most(PAIR_NAME_LENGTH)],
        filters=[trimmed],
        description=N_("What tells the pair from others like it, such as a number or a sticker"),
    )
    discipline = RadioField(
        N_("What are they made for?"), choices=labelled(Discipline), validate_choice=False
    )
    length = NumberField(N_("Length"), [Optional()], least=LENGTH_CM[0], most=LENGTH_CM[1], unit="cm")
    hand_in = SelectField(N_("Handed in on"), validate_choice=False)
    ready = RadioField(N_("Ready on"), choices=[], validate_choice=False)
    note = TextAreaField(N_("Note to the booking"), [at_most(NOTE_LENGTH)], filters=[trimmed])

    pair_ids: tuple[int, ...] = ()

    @property
    def chosen(self) -> list[int]:
        """The pairs that are ticked."""
        return [pair_id for pair_id in self.pair_ids if self[f"take_{pair_id}"].data]

    @property
    def has_new(self) -> bool:
        """Whether a pair is to be registered: its maker is named."""
        return bool(self.maker.data)

    def work(self, key: object, pair_id: int) -> Wanted:
        """What is chosen for a pair; the first structure of the list where none can be read."""
        field = self[f"structure_{key}"]
        values = [str(choice.value) for choice in field.choices]
        chosen = field.data if field.data in values else values[0]
        flattening, saturation = self[f"flattening_{key}"].data, self[f"saturation_{key}"].data
        return Wanted(pair_id, int(chosen), flattening=bool(flattening), saturation=bool(saturation))

    def wanted(self, new_pair_id: int = 0) -> list[Wanted]:
        """What is asked for each ticked pair, and for the new one under its number."""
        asked = [self.work(pair_id, pair_id) for pair_id in self.chosen]
        return [*asked, self.work(NEW, new_pair_id)] if self.has_new else asked

    @property
    def facts(self) -> PairFacts:
        """The new pair, once it has been checked."""
        return PairFacts(
            maker=self.maker.data or "",
            discipline=Discipline(self.discipline.data),
            model=self.model.data or "",
            length_cm=self.length.number,
            mark=self.mark.data or "",
        )

    @property
    def day_in(self) -> date:
        """The hand-in day that is chosen, else the first there is."""
        days = [choice.value for choice in self["hand_in"].choices]
        return date.fromisoformat(self.hand_in.data if self.hand_in.data in days else days[0])

    def validate_maker(self, _field: Any) -> None:
        if not self.chosen and not self.has_new:
            raise Problem(NO_PAIR)

    def validate_discipline(self, field: Any) -> None:
        if self.has_new and not any(choice.selected for choice in field.iter_choices()):
            raise Problem(N_("Choose whether the skis are for classic or for skating"))

    def validate_ready(self, field: Any) -> None:
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(N_("Choose a day that can be promised"))


class TakeForSomebodyNewForm(TakeForm):
    """The same for somebody whom the workshop does not know yet."""

    name = NAME
    another = ANOTHER
    same_name = False

    def validate_another(self, field: Any) -> None:
        if self.same_name and not field.data:
            raise Problem(
                N_(
                    "Somebody is known by this name. Choose them from the table, or tick that it is somebody else"
                )
            )


def take_form(
    pairs: Sequence[Pair], structures: Mapping[Discipline | None, list[Any]], *, is_new: bool
) -> type[TakeForm]:
    """The form for these pairs, with what each discipline can be ground with; None stands for a pair still unknown."""
    fields: dict[str, Any] = {"pair_ids": tuple(pair.id for pair in pairs)}
    for pair in pairs:
        fields[f"take_{pair.id}"] = BooleanField(_label(N_("%(pair)s is handed in"), pair.title))
        fields |= _work(pair.id, pair.title, structures[pair.discipline])
    fields |= _work(NEW, None, structures[None])
    base = TakeForSomebodyNewForm if is_new else TakeForm
    return type("TakeFormOfPerson", (base,), fields)


def _work(key: object, title: str | None, structures: list[Any]) -> dict[str, Any]:
    pair: object = title if title is not None else Phrase(N_("the new pair"))
    return {
        f"structure_{key}": SelectField(
            _label(N_("Structure for %(pair)s"), pair), choices=structures, validate_choice=False
        ),
        f"flattening_{key}": BooleanField(_label(N_("Base flattening for %(pair)s"), pair)),
        f"saturation_{key}": BooleanField(_label(N_("Hot-wax saturation for %(pair)s"), pair)),
    }


def _label(text: str, pair: object) -> Any:
    return Phrase(text, {"pair": pair})
