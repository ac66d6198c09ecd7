"""The snow that a structure was chosen for, and how the pair ran on it."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.history.part import Part
from portal.documents.history.values import GlideShown, SnowShown
from portal.documents.layout import CELL, CELL_HEAD, FIGURES, FIGURES_HEAD, SMALL, Strong
from portal.domain.words import N_

# A heading with the sentence below it and some of the answers.
ANSWERS_ROOM = 48 * mm


class Snow(Part):
    """What was answered before the structure was chosen, and how many of those days it suits."""

    def parts(self, it: SnowShown) -> list[Flowable]:
        """The share first, then the answers it is counted from."""
        day = self.voice.date(it.answered_on)
        shown: list[Flowable] = []
        if it.days is not None:
            text = (
                N_(
                    "%(structure)s suits %(days)s of 100 of the days this pair is for, by the answers of %(day)s."
                )
                if it.is_special
                else N_("%(structure)s suits %(days)s of 100 of your days, by the answers of %(day)s.")
            )
            shown.append(self.set.text(self.say(text, structure=it.structure, days=it.days, day=day)))
        else:
            shown.append(self.set.text(self.say(N_("As answered on %(day)s."), day=day)))
        note = self.say(
            N_(
                "These are the answers that stood when the structure was chosen. The share rests on the range that the "
                "workshop states for the structure: an opinion, not a measurement."
            )
        )
        return [
            *self.section(N_("The snow it was chosen for"), ANSWERS_ROOM),
            *shown,
            self.set.text(note, SMALL),
            self.set.space(2),
            self.set.facts([(self.say(name), self.say(value)) for name, value in it.answers], columns=2),
        ]


class Glide(Part):
    """How the pair ran beside others, and what all notes say of its structure."""

    def parts(self, it: GlideShown) -> list[Flowable]:
        """Own notes, then everybody's; nothing where there are none."""
        if not it.rows and not it.evidence and not it.aside:
            return []
        heading = self.set.heading(self.say(N_("Glide notes")), self.level)
        parts: list[Flowable] = []
        if it.rows:
            parts += [
                self._own(it),
                self.set.space(1),
                self.set.text(
                    self.say(
                        N_(
                            "Your own notes. One skier's notes are too few to tell which structure is faster; they "
                            "count together with those of others."
                        )
                    ),
                    SMALL,
                ),
            ]
        if it.aside:
            more = self.voice.plural(
                N_("%(num)s more of your notes is kept and not counted."),
                N_("%(num)s more of your notes are kept and not counted."),
                it.aside,
            )
            parts.append(self.set.text(more % {"num": it.aside}, SMALL))
        if it.evidence:
            parts += [*([self.set.space(2)] if parts else []), *self._everybodys(it)]
        return [self.set.together(heading, *parts)]

    def _own(self, it: GlideShown) -> Flowable:
        names = (N_("With"), N_("Beside"))
        figures = (N_("Notes"), N_("Faster"), N_("The same"), N_("Slower"))
        head = [
            [
                *(self.set.text(self.say(name), CELL_HEAD) for name in names),
                *(self.set.text(self.say(name), FIGURES_HEAD) for name in figures),
            ]
        ]
        rows = [
            [
                self.set.text(Strong(row.structure), CELL),
                self.set.text(row.other or self.say(N_("Not known")), CELL),
                *(
                    self.set.text(self.voice.number(count), FIGURES)
                    for count in (row.notes, row.faster, row.same, row.slower)
                ),
            ]
            for row in it.rows
        ]
        return self.set.table(head, rows, [40 * mm, 0, *[18 * mm] * 4], row_head=0)

    def _everybodys(self, it: GlideShown) -> list[Flowable]:
        lead = self.say(N_("What the notes of all skiers say of %(structure)s:"), structure=it.structure)
        figures = (self.set.text(self.say(name), FIGURES_HEAD) for name in (N_("Notes"), N_("Skiers")))
        rows = [
            [
                self.set.text(Strong(self.say(line.snow)), CELL),
                self.set.text(self.say(line.told), CELL),
                self.set.text(self.voice.number(line.notes), FIGURES),
                self.set.text(self.voice.number(line.skiers), FIGURES),
            ]
            for line in it.evidence
        ]
        head = [*self.heads(N_("Snow"), N_("What they say")), *figures]
        table = self.set.table([head], rows, [52 * mm, 0, 16 * mm, 16 * mm], row_head=0)
        return [self.set.text(lead, CELL), self.set.space(1), table]
