"""The forms about juniors and their pairs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Self

from markupsafe import Markup, escape
from wtforms import RadioField, StringField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.juniors import BIRTH_YEARS, WEIGHT_KG
from portal.domain.words import N_, Phrase
from portal.services.juniors import JuniorFacts
from portal.web.club.forms import offered
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed

NAME_LENGTH = 80
BOTH = "both"
NOBODY = "nobody"


class JuniorForm(PortalForm):
    """A junior: the least that works."""

    display_name = StringField(
        N_("Name on the roster"),
        [said(N_("Enter a name for the roster")), at_most(NAME_LENGTH)],
        filters=[trimmed],
        description=N_("A first name or a nickname is enough"),
    )
    birth_year = NumberField(
        N_("Birth year"),
        [Optional()],
        least=BIRTH_YEARS[0],
        most=BIRTH_YEARS[1],
        description=N_("Tells two of the same name apart, and how stiff a pair may be"),
    )
    discipline = RadioField(
        N_("What do they ski?"),
        choices=[
            SelectChoice(BOTH, N_("Both")),
            *(SelectChoice(one.value, one.label) for one in Discipline),
        ],
    )
    weight = NumberField(
        N_("Body weight"),
        [Optional()],
        least=WEIGHT_KG[0],
        most=WEIGHT_KG[1],
        unit="kg",
        description=N_(
            "Only if they and you want it: it helps to choose skis, and nothing else is done with it"
        ),
    )
    this_year: int

    @classmethod
    def of_year(cls, this_year: int, junior: Any = None) -> Self:
        """The form as it was sent, or filled in with what is kept of a junior."""
        form = cls.posted(
            display_name=junior.display_name if junior else "",
            birth_year=junior.birth_year if junior else None,
            discipline=junior.discipline.value if junior and junior.discipline else BOTH,
            weight=junior.weight_kg if junior else None,
        )
        form.this_year = this_year
        return form

    def validate_birth_year(self, field: NumberField) -> None:
        if field.number is not None and field.number > self.this_year:
            raise Problem(N_("Enter a year that is not in the future"))

    @property
    def facts(self) -> JuniorFacts:
        kind = self.discipline.data
        return JuniorFacts(
            self.display_name.data or "",
            self.birth_year.number,
            None if kind == BOTH else Discipline(kind),
            self.weight.number,
        )


class LeaveForm(PortalForm):
    """What becomes of the pairs of a junior who leaves."""

    STAY, GO_ALONG = "stay", "go_along"
    pairs = RadioField(
        N_("What becomes of the pairs?"),
        choices=[
            SelectChoice(STAY, N_("They stay with the club, for another junior")),
            SelectChoice(GO_ALONG, N_("They go along: you get a code with which the family can claim them")),
        ],
    )


class PassOnForm(PortalForm):
    """Who skis a pair next."""

    junior = RadioField(
        N_("Who skis it from now on?"), [offered(N_("Choose who skis it"))], choices=[], validate_choice=False
    )

    @classmethod
    def among(cls, juniors: Iterable[Any], *, is_skied: bool) -> Self:
        """The form with these juniors; nobody is a choice where somebody skis it so far."""
        form = cls.posted()
        nobody = [SelectChoice(NOBODY, N_("Nobody yet: it is outgrown and waits for the next one"))]
        form.junior.choices = [
            *(nobody if is_skied else []),
            *(SelectChoice(str(one.id), _named(one)) for one in juniors),
        ]
        return form

    @property
    def junior_id(self) -> int | None:
        return None if self.junior.data == NOBODY else int(self.junior.data)


def _named(junior: Any) -> Phrase | Markup:
    if not junior.birth_year:
        # A name is shown as it is, never looked up among the texts.
        return escape(junior.display_name)
    values = {"name": junior.display_name, "year": junior.birth_year}
    return Phrase(N_("%(name)s, born %(year)s"), values)
