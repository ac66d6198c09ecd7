"""The first page of a service history: which pair it is, what matters now, and how long the base lasts."""

from __future__ import annotations

from functools import partial

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.fonts import REGULAR
from portal.documents.history.part import Part
from portal.documents.history.values import History
from portal.documents.layout import SMALL, Picture, Said, Strong, Typesetter
from portal.domain.base_life import BaseLife
from portal.domain.next_grind import Worth, before_first, is_near_minimum
from portal.domain.removals import HOLDS_OF_100
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import base_life as base_life_picture

# As high as there is room on the first page, points.
LINE_LOW, LINE_HIGH = 104, 140
# The sentences below the line.
RULE_ROOM = 13 * mm


class Line(Picture):
    """The base-life line, lower where the page has no room for all of it."""

    def __init__(self, life: BaseLife, voice: Voice, width: float) -> None:
        self._drawn = partial(base_life_picture.draw, life, voice, int(width), font=REGULAR)
        super().__init__(self._drawn(height=LINE_HIGH), base_life_picture.describe(life, voice))

    def wrap(self, *room: float) -> tuple[float, float]:
        height = max(LINE_LOW, min(LINE_HIGH, int(room[1] - RULE_ROOM)))
        if height != self.height:
            self.drawing, self.height = self._drawn(height=height), height
        return super().wrap(*room)


def say_left(life: BaseLife, voice: Voice) -> str:
    """The grinds left with their range: ``6 (4 to 9)``; a dash where they are not known, and there is room for one."""
    if life.grinds_left is None:
        return voice.say(N_("ask first")) if is_near_minimum(life) else "\N{EN DASH}"
    left, between = voice.number(life.grinds_left), life.left_range
    if between is None or between[0] == between[1]:
        return left
    low, high = (voice.number(end) for end in between)
    return voice.say(N_("%(left)s (%(low)s to %(high)s)"), left=left, low=low, high=high)


class Now(Part):
    """The pair as it is."""

    def __init__(self, history: History, setter: Typesetter, voice: Voice, level: int = 2) -> None:
        super().__init__(setter, voice, level)
        self.history = history
        self.places = base_life_picture.places_for(history.base_life)

    def facts(self) -> list[Flowable]:
        """Which pair it is."""
        pair = self.history.pair
        facts = [
            (N_("Owner"), pair.owner),
            (N_("Use"), self.say(pair.discipline)),
            (N_("Year"), str(pair.year or "")),
            (N_("Mark"), pair.mark),
            (N_("Base"), self.say(pair.base)),
            (N_("Grip"), self.say(pair.grip)),
            (N_("Reference"), pair.reference),
            (N_("Tag"), pair.tag),
        ]
        return [self.set.facts([(self.say(name), value) for name, value in facts if value], columns=2)]

    def now(self) -> list[Flowable]:
        """What is on the base, how much of it is left, and what comes next."""
        now, life = self.history.structure_now, self.history.base_life
        structure: Said | tuple[Said, ...] = self.say(N_("Not known: no grind is recorded here."))
        if now is not None:
            said = (
                N_(", %(family)s, on the base since %(day)s")
                if now.family
                else N_(", on the base since %(day)s")
            )
            day = self.voice.date(now.since)
            structure = (Strong(now.name), self.say(said, family=self.say(now.family), day=day))
        facts: list[tuple[str, Said | tuple[Said, ...]]] = [
            (self.say(N_("Structure")), structure),
            (self.say(N_("Thinnest measured base")), self._thinnest()),
            (self.say(N_("Workshop's minimum")), self.voice.mm(life.minimum_um, self.places)),
            (self.say(N_("Grinds left")), self._left()),
            self._next(),
        ]
        return [*self.section(N_("What matters now")), self.set.facts(facts)]

    def _thinnest(self) -> Said | tuple[Said, ...]:
        reading = self.history.base_life.reading
        if reading is None:
            return self.say(N_("Not measured"))
        where = self.say(
            N_(" at the %(place)s, measured on %(day)s. "),
            place=self.say(reading.place.spoken),
            day=self.voice.date(reading.day),
        )
        told: list[Said] = [Strong(self.voice.mm(reading.um, self.places)), where]
        if reading.grinds_since:
            told.append(
                self.voice.plural(
                    N_("%(num)s grind came after this measurement."),
                    N_("%(num)s grinds came after this measurement."),
                    reading.grinds_since,
                )
                % {"num": reading.grinds_since}
            )
        return tuple(told)

    def _left(self) -> Said | tuple[Said, ...]:
        life = self.history.base_life
        first = before_first(life)
        if first is not None:
            return self.say(first)
        if life.grinds_left is None:
            return self.say(N_("Not measured: ask for a measurement when the skis are handed in."))
        if life.grinds_left == 0:
            return (
                Strong(self.say(N_("None"))),
                self.say(N_(": another grind would pass the workshop's minimum.")),
            )
        about = self.say(N_("About %(left)s"), left=self.voice.number(life.grinds_left))
        each = self.say(N_(", at an expected %(removal)s each."), removal=self.voice.mm(life.removal_um, 3))
        between = life.left_range
        if between is None or between[0] == between[1]:
            return (Strong(about), each)
        low, high = map(self.voice.number, between)
        cases = self.voice.number(HOLDS_OF_100)
        text = N_(" (%(low)s to %(high)s in %(cases)s of 100 cases)")
        return (Strong(about), self.say(text, low=low, high=high, cases=cases), each)

    def _next(self) -> tuple[str, Said | tuple[Said, ...]]:
        """What comes next: the judgement on the next grind where there is one, in as few lines as a first page has."""
        worth = self.history.next_grind
        if worth is None:
            return self.say(N_("Due next")), self._due()
        # The base is said above, so the structure is what is left to say.
        told: list[Said] = [Strong(self.say(worth.worth.label)), ". ", self.say(worth.reasons[0])]
        if worth.worth is not Worth.WORTH_IT:
            told += [" ", self._due()]
        return self.say(N_("The next grind")), tuple(told)

    def _due(self) -> str:
        life = self.history.base_life
        if is_near_minimum(life):
            return self.say(
                N_(
                    "Talk with the workshop before the next grind: hardly any base is left that may be ground off."
                )
            )
        if self.history.structure_now is None:
            return self.say(N_("A first grind: answer the snow questions, and choose a structure by them."))
        if life.reading is None:
            return self.say(N_("A measurement of the base, before the next grind."))
        return self.say(N_("Look for the signs under “When to grind again” after each winter."))

    def life(self) -> list[Flowable]:
        """The line of the thinnest point, with how grinds left are counted."""
        life = self.history.base_life
        if not life.grinds:
            return []
        title = N_("Base life")
        if life.reading is None:
            return [
                *self.section(title),
                self.set.text(
                    self.say(N_("The base was not measured, so nothing is said about how long it lasts."))
                ),
            ]
        return [
            *self.section(title, LINE_LOW + 17 * mm + RULE_ROOM),
            Line(life, self.voice, self.set.width),
            self.set.space(1),
            self.set.text(self._rule(), SMALL),
        ]

    def _rule(self) -> str:
        life = self.history.base_life
        stated = self.voice.mm(life.stated_um, 3)
        counted = self.say(
            N_("Grinds left are counted from the thinnest measured point down to the workshop's minimum. ")
        )
        if not life.compared:
            return counted + self.say(
                N_(
                    "The structure states %(stated)s a grind; no grind of this pair was measured before and after."
                ),
                stated=stated,
            )
        found = self.voice.plural(
            N_(
                "The structure states %(stated)s a grind; one measured grind of this pair makes that %(removal)s. "
            ),
            N_(
                "The structure states %(stated)s a grind; what %(num)s measured grinds of this pair really took off "
                "makes that %(removal)s. "
            ),
            life.compared,
        ) % {"stated": stated, "num": life.compared, "removal": self.voice.mm(life.removal_um, 3)}
        return counted + found + self.say(N_("The statement counts as much as three measured grinds."))
