"""The base-life picture in words and in numbers."""

from __future__ import annotations

from collections.abc import Iterable

from portal.domain.base_life import BaseLife
from portal.domain.removals import HOLDS_OF_100
from portal.domain.words import N_
from portal.pictures.ink import Speaker, Table

# No more grinds than this are looked ahead.
MOST_EXPECTED = 16


def places_for(life: BaseLife) -> int:
    """Decimals that show every reading as it was taken: two, or three where a reading is finer than 0.01 mm."""
    readings = [
        um
        for grind in life.grinds
        for thickness in (grind.before, grind.after)
        if thickness is not None
        for um in thickness.measured.values()
    ]
    readings += [life.reading.um] if life.reading is not None else []
    return places_of([life.minimum_um, *readings])


def places_of(readings_um: Iterable[int]) -> int:
    """Decimals of a millimetre that show each of these micrometres as it is: two, or three."""
    return 2 if all(um % 10 == 0 for um in readings_um) else 3


def say_grinds_left(left: int, speaker: Speaker) -> str:
    """``1 grind left``, ``8 grinds left``."""
    return speaker.plural(N_("%(num)s grind left"), N_("%(num)s grinds left"), left) % {
        "num": speaker.number(left)
    }


def key_words(life: BaseLife, speaker: Speaker) -> list[tuple[str, bool | None]]:
    """What the marks of the drawing mean: words, and whether it is the mark after a grind; none for what is expected."""
    words: list[tuple[str, bool | None]] = [
        (speaker.say(N_("before the grind")), False),
        (speaker.say(N_("after the grind, thinnest point")), True),
    ]
    if life.grinds_left is None:
        return words
    left = say_grinds_left(life.grinds_left, speaker)
    if not say_range(life, speaker):
        return [*words, (speaker.say(N_("expected: %(left)s"), left=left), None)]
    low, high = map(speaker.number, life.left_range or ())
    told = speaker.say(N_("expected: %(left)s (%(low)s to %(high)s)"), left=left, low=low, high=high)
    return [*words, (told, None)]


def describe(life: BaseLife, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    if life.reading is None:
        return speaker.say(N_("The base was not measured."))
    places = places_for(life)
    told = [
        speaker.say(
            N_("Line of the thinnest point of the base over %(grinds)s grinds, from %(first)s to %(last)s."),
            grinds=speaker.number(len(life.grinds)),
            first=speaker.short_date(life.grinds[0].day),
            last=speaker.short_date(life.grinds[-1].day),
        ),
        speaker.say(
            N_("Last measured: %(thickness)s, on %(day)s. The workshop's minimum: %(minimum)s."),
            thickness=speaker.mm(life.reading.um, places),
            day=speaker.short_date(life.reading.day),
            minimum=speaker.mm(life.minimum_um, places),
        ),
    ]
    if life.grinds_left is not None:
        told.append(
            speaker.say(
                N_("Expected from here: %(left)s, %(removal)s each."),
                left=say_grinds_left(life.grinds_left, speaker),
                removal=speaker.mm(life.removal_um, 3),
            )
        )
        told += say_range(life, speaker)
    return " ".join(told)


def say_range(life: BaseLife, speaker: Speaker) -> list[str]:
    """How far the grinds left can be off, in one sentence; nothing where there is nothing to say."""
    if life.left_range is None or life.left_range[0] == life.left_range[1]:
        return []
    low, high = map(speaker.number, life.left_range)
    cases = speaker.number(HOLDS_OF_100)
    return [
        speaker.say(
            N_("In %(cases)s of 100 cases it is between %(low)s and %(high)s."),
            cases=cases,
            low=low,
            high=high,
        )
    ]


def table(life: BaseLife, speaker: Speaker) -> Table:
    """The expectation in numbers: the thinnest point after each of the grinds that are left, and its range."""
    heads = (N_("More grinds"), N_("Expected, mm"), N_("Range, mm"))
    rows = []
    for more in range(1, min(life.grinds_left or 0, MOST_EXPECTED) + 1):
        between = life.base_range_um(more)
        if life.reading is None or between is None:
            break
        expected = life.reading.um - life.removal_um * (life.reading.grinds_since + more)
        low, high = (speaker.number(um / 1000, 3) for um in between)
        rows.append(
            (
                speaker.number(more),
                speaker.number(expected / 1000, 3),
                speaker.say(N_("%(low)s to %(high)s"), low=low, high=high),
            )
        )
    return Table(tuple(speaker.say(head) for head in heads), tuple(rows))
