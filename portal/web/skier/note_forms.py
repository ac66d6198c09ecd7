"""The forms about pairs that were skied side by side: which ones, and how each ran beside the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.validators import Optional

from portal.domain.conditions import Outcome
from portal.domain.timed_runs import TimedRuns, colons_as_points, read_times
from portal.domain.words import N_, Phrase
from portal.services.glide_notes import Ran
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.pair_form import labelled, offered, option

REMARKS_LENGTH = 1000
LEAST_PAIRS = 2
# One pair of times as long as somebody may type.
TIMES_LENGTH = 400
IN_TURN, APART = "in_turn", "apart"
# How the doubt about times is answered: they are kept as they are, or a colon was meant to be a point.
MEANT, AS_IT_IS, POINTS = "meant", "as_it_is", "points"


class PairsForm(PortalForm):
    """Which pairs were compared; ``kinds`` has the kind of skiing of each that is offered."""

    kinds: dict[str, Any]

    pair = SelectMultipleField(N_("Which pairs did you compare?"), choices=[], validate_choice=False)

    def validate_pair(self, field: SelectMultipleField) -> None:
        chosen = field.data or []
        if len(set(chosen) & set(self.kinds)) < LEAST_PAIRS or not set(chosen) <= set(self.kinds):
            raise Problem(N_("Choose two pairs or more from the list"))
        if len({self.kinds[number] for number in chosen}) > 1:
            raise Problem(N_("Choose pairs of one kind of skiing"))


class RanForm(PortalForm):
    """How each pair ran beside the other one; made for the pairs by ``ran_form``."""

    beside: Any
    ran: Sequence[Any]
    # What each pair is called, by its number.
    names: dict[int, str]

    order = RadioField(
        N_("How did you run them?"),
        [offered(N_("Choose how you ran them"))],
        choices=[
            option(IN_TURN, N_("In turn: one run on each pair, then again")),
            option(APART, N_("First all runs on one pair, then all on the next")),
        ],
        validate_choice=False,
        default=IN_TURN,
    )
    remarks = TextAreaField(N_("Remarks"), [Optional(), at_most(REMARKS_LENGTH)], filters=[trimmed])

    def felt(self, pair: Any) -> Any:
        """The field of how a pair felt."""
        return self[f"felt_{pair.id}"]

    def times(self, pair: Any) -> Any:
        """The field of the times of a pair."""
        return self[f"times_{pair.id}"]

    def process(self, formdata: Any = None, *more: Any, **data: Any) -> None:
        """Read the form; where the skier said so, times with colons are seconds and hundredths."""
        super().process(formdata, *more, **data)
        if formdata is not None and formdata.get(MEANT) == POINTS:
            for field in self.all_times:
                field.data = colons_as_points(field.data or "")

    @property
    def all_times(self) -> list[Any]:
        """The fields of the times, in the order in which they stand."""
        return [self.times(pair) for pair in (*self.ran, self.beside)]

    @property
    def doubts(self) -> list[Phrase]:
        """What of the times is hardly what was run, once the form is right; nothing where all can be."""
        found = []
        for pair, one in zip(self.ran, self.found, strict=True):
            if one.timed is None or not one.timed.is_doubtful:
                continue
            text = (
                N_("The times of one pair differ by more than a quarter from run to run: %(times)s.")
                if one.timed.is_unsteady
                else N_(
                    "By these times %(pair)s and %(other)s differ more than any structure was measured to make: %(times)s."
                )
            )
            times = " / ".join((self.times(pair).data, self.times(self.beside).data))
            found.append(
                Phrase(text, {**self._of(pair), "other": self.names[self.beside.id], "times": times})
            )
        return found

    @property
    def meant(self) -> str | None:
        """The first time with a colon as seconds and hundredths, where such times could be what was meant."""
        written = [field.data or "" for field in self.all_times]
        first = next((one for line in written for one in line.split() if ":" in one), None)
        if first is None or any(isinstance(read_times(colons_as_points(one)), Phrase) for one in written):
            return None
        return colons_as_points(first).rstrip(",;/")

    @property
    def is_timed(self) -> bool:
        """Whether times were written; they tell more than what was felt."""
        return any((self.times(pair).data or "").strip() for pair in (self.beside, *self.ran))

    def validate(self, extra_validators: Any = None) -> bool:
        """Each pair has times that can be read, or says how it felt; what is missing is said at its field."""
        right = super().validate(extra_validators)
        timed = self.is_timed
        for pair in (*self.ran, self.beside):
            field = self.times(pair)
            field.errors = [
                Phrase(N_("%(pair)s: %(problem)s"), {**self._of(pair), "problem": one})
                for one in field.errors
            ]
        if timed and not self.times(self.beside).seconds and not self.times(self.beside).errors:
            self._blame(
                self.times(self.beside), Phrase(N_("Write the times of %(pair)s too"), self._of(self.beside))
            )
        for pair in self.ran:
            self._check(pair)
        return right and not self.problems

    def _check(self, pair: Any) -> None:
        mine, theirs = self.times(pair), self.times(self.beside)
        if mine.errors or theirs.errors:
            return
        if not mine.seconds:
            if theirs.seconds and (len(self.ran) == 1 or not self.felt(pair).data):
                self._blame(mine, Phrase(N_("Write the times of %(pair)s too"), self._of(pair)))
            elif not self.felt(pair).data:
                self._blame(
                    self.felt(pair),
                    Phrase(N_("Choose whether %(pair)s ran faster, the same or slower"), self._of(pair)),
                )
        elif self["order"].data == IN_TURN and len(mine.seconds) != len(theirs.seconds):
            self._blame(
                mine,
                Phrase(
                    N_(
                        "Write as many times for %(pair)s as for %(other)s, or choose that they were not run in turn"
                    ),
                    {**self._of(pair), "other": self.names[self.beside.id]},
                ),
            )

    def _of(self, pair: Any) -> dict[str, object]:
        return {"pair": self.names[pair.id]}

    @staticmethod
    def _blame(field: Any, problem: Phrase) -> None:
        field.errors = [*field.errors, problem]

    @property
    def found(self) -> tuple[Ran, ...]:
        """How each pair ran, once the form is right."""
        theirs, in_turn = self.times(self.beside).seconds, self["order"].data == IN_TURN
        made = []
        for pair in self.ran:
            mine, felt = self.times(pair).seconds, self.felt(pair).data
            if mine:
                made.append(Ran(pair.id, timed=TimedRuns(mine, theirs, in_turn)))
            else:
                made.append(Ran(pair.id, felt=Outcome(felt)))
        return tuple(made)


class TimesField(StringField):
    """Seconds of the runs of a pair; ``seconds`` holds them once they were read."""

    seconds: tuple[float, ...] = ()

    def pre_validate(self, form: Any) -> None:
        self.seconds = ()
        if len(self.data or "") > TIMES_LENGTH:
            raise Problem(N_("Shorten this to %(most)s characters"), most=TIMES_LENGTH)
        read = read_times(self.data or "")
        if isinstance(read, Phrase):
            raise Problem(read.text, **read.values)
        self.seconds = read


class FeltField(RadioField):
    """How a pair felt; it may be left where times were written."""

    def pre_validate(self, form: Any) -> None:
        if self.data not in {one.value for one in Outcome}:
            self.data = None


def told_apart(pairs: Sequence[Any]) -> dict[int, str]:
    """What each of these pairs is called by its number: its title, with its mark, year or place where several have the same."""
    titles = [pair.title for pair in pairs]
    return {
        pair.id: pair.title
        if titles.count(pair.title) == 1
        else f"{pair.title}, {pair.mark or pair.year or place}"
        for place, pair in enumerate(pairs, 1)
    }


def ran_form(beside: Any, ran: Sequence[Any]) -> type[RanForm]:
    """The form for these pairs: ``ran`` beside ``beside``."""
    names = told_apart((*ran, beside))
    felt = {
        f"felt_{pair.id}": FeltField(
            Phrase(  # type: ignore[arg-type]
                N_("How did %(pair)s run beside %(other)s?"),
                {"pair": names[pair.id], "other": names[beside.id]},
            ),
            choices=labelled(Outcome),
            validate_choice=False,
        )
        for pair in ran
    }
    times = {
        f"times_{pair.id}": TimesField(Phrase(N_("Times of %(pair)s"), {"pair": names[pair.id]}))  # type: ignore[arg-type]
        for pair in (*ran, beside)
    }
    return type(
        "RanFormOfPairs", (RanForm,), {**felt, **times, "beside": beside, "ran": tuple(ran), "names": names}
    )
