"""Care advice on paper: each step with its caution beside it and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.history.part import Part
from portal.documents.history.values import CareFacts, CareGroup, CareStep
from portal.documents.layout import CELL, SMALL, Strong
from portal.domain.words import N_, Phrase

GENERAL_CAUTION = N_(
    "This is general advice. Local rules, the manuals of those who made your skis, iron, wax and cleaner, and what "
    "trained people show you come first wherever they say something else. If you are not sure, ask the workshop before "
    "you heat, scrape or clean."
)

# A heading with the head of its table and a long step.
STEP_ROOM = 55 * mm


class Care(Part):
    """Stage by stage."""

    def parts(self, groups: Sequence[CareGroup], facts: CareFacts | None = None) -> list[Flowable]:
        """The caution for all of it with the first stage, on one page if they fit on one; the other stages; what is ruled about wax."""
        caution = self.set.caution(self.say(N_("Caution")), self.say(GENERAL_CAUTION))
        shown = [group for group in groups if group.steps]
        if not shown:
            none = self.set.text(self.say(N_("The workshop has written no care advice yet.")))
            return [self.set.together(self.set.heading(self.say(N_("Care")), self.level), none, caution)]
        parts: list[Flowable] = []
        for group in shown:
            table = self._table(group.steps)
            if group is shown[0]:
                heading = self.set.heading(self.say(group.title), self.level)
                parts.append(self.set.together(caution, heading, table))
            else:
                # The others go on where there is room: a stage with many steps would leave half a page empty.
                parts += [*self.section(group.title, STEP_ROOM), table]
        return parts + ([self._facts(facts)] if facts and facts.lines else [])

    def _facts(self, facts: CareFacts) -> Flowable:
        lead = self.say(
            N_(
                "As gathered on %(day)s. Check the rules that apply to you: those of your country, of the race and of "
                "whoever holds it."
            ),
            day=self.voice.date(facts.as_of),
        )
        memory = self.say(N_("Written from memory, not read again."))
        rows: list[list[Flowable | list[Flowable]]] = [
            [
                self.set.text(Strong(self.voice.short_date(one.day)), CELL),
                [
                    self.set.text(self.say(one.text), CELL),
                    self.set.text(
                        self._named(one.source) + (f". {memory}" if one.is_from_memory else ""), SMALL
                    ),
                ],
            ]
            for one in facts.lines
        ]
        return self.set.together(
            self.set.heading(self.say(N_("Fluorinated wax")), self.level),
            self.set.text(lead, CELL),
            self.set.space(1),
            self.set.table([self.heads(N_("From"), N_("What is ruled"))], rows, [34 * mm, 0], row_head=0),
        )

    def _table(self, steps: Sequence[CareStep]) -> Flowable:
        head = [self.heads(N_("When"), N_("What to do"), N_("Take care"))]
        rows = [
            [
                self.set.text(Strong(self.say(step.when)), CELL),
                [self.set.text(self.say(step.text), CELL), self.set.text(self._source(step), SMALL)],
                self._caution(step),
            ]
            for step in steps
        ]
        return self.set.table(head, rows, [34 * mm, 0, 52 * mm], row_head=0)

    def _source(self, step: CareStep) -> str:
        if not step.source:
            return self.say(N_("Common practice"))
        practice = self.say(N_("The steps are common practice."))
        return self._named(step.source) + (f". {practice}" if step.steps_are_practice else "")

    def _named(self, source: Phrase | str) -> str:
        return self.say(N_("Source: %(source)s"), source=self.say(source))

    def _caution(self, step: CareStep) -> Flowable | list[Flowable]:
        if not step.caution:
            return []
        return self.set.text((Strong(self.say(N_("Caution")) + ". "), self.say(step.caution)), CELL)
