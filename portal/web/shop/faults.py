"""What is wrong with a value, as the domain says it to a program, in words for people."""

from __future__ import annotations

import re

from portal.domain.checked import BadValue, dotted
from portal.domain.words import N_, Phrase

# What the domain says, and what a person is told to do about it; a place is filled with what the first has in brackets.
WORDS: tuple[tuple[re.Pattern[str], str, tuple[str, ...]], ...] = tuple(
    (re.compile(pattern), text, names)
    for pattern, text, names in (
        (r"an object is needed", N_("a group of named values in curly brackets has to stand here"), ()),
        (r"unknown key", N_("no such name is known here, remove it"), ()),
        (r"the key (\S+) is missing", N_("%(key)s is missing"), ("key",)),
        (r"a key stands once", N_("this name stands twice"), ()),
        (
            r"a list with at least one entry is needed",
            N_("a list with at least one entry has to stand here"),
            (),
        ),
        (r"a text is needed", N_("a text has to stand here"), ()),
        (r"a number is needed", N_("a number has to stand here"), ()),
        (
            r"a number from (\S+) to (\S+) is needed",
            N_("a number from %(low)s to %(high)s has to stand here"),
            ("low", "high"),
        ),
        (r"a whole number is needed", N_("a whole number has to stand here"), ()),
        (r"one of (.+) is needed", N_("one of these has to stand here: %(choices)s"), ("choices",)),
        (r"the window ends before it begins", N_("the lower end of the window is above the upper one"), ()),
        (
            r"a structure suits at least one kind of snow",
            N_("a structure suits at least one kind of snow a little"),
            (),
        ),
        (r"a tip has a radius or a flat", N_("the tip of a diamond has a radius or a flat above 0"), ()),
        (
            r"a layer is a profile or a dressing; both keys are missing",
            N_("a layer holds profile or dressing, and both are missing"),
            (),
        ),
        (r"a groove is no wider than the pitch", N_("a groove cannot be wider than its pitch"), ()),
        (
            r"an arc is at most half as deep as it is wide",
            N_("a circular arc can be half as deep as it is wide at most"),
            (),
        ),
        (r"at most (\d+) layers are read", N_("a structure has %(most)s layers at most"), ("most",)),
        (
            r"the file is too large for one structure",
            N_("the file is larger than 200 kB, too large for one structure"),
            (),
        ),
        (r"the file is not text in UTF-8", N_("the file is no text in UTF-8"), ()),
        (r"the file is not JSON", N_("the file is no JSON, the form in which structures are saved"), ()),
        (
            r"the file holds no structure of Rillbook",
            N_("the file holds no structure saved from a Rillbook"),
            (),
        ),
        (
            r"the file is of a version that cannot be read here",
            N_("the file was saved by a newer Rillbook and cannot be read here"),
            (),
        ),
    )
)


def said(fault: BadValue) -> Phrase:
    """What is wrong, in words; the domain's own where nobody thought of better ones."""
    for pattern, text, names in WORDS:
        found = pattern.fullmatch(fault.reason)
        if found:
            return Phrase(text, dict(zip(names, found.groups(), strict=True)))
    return Phrase(fault.reason)


def said_with_place(fault: BadValue) -> Phrase:
    """The same, with the way to it where the fault is not the whole file."""
    if not fault.place:
        return Phrase(N_("This file cannot be read: %(fault)s."), {"fault": said(fault)})
    return Phrase(
        N_("This file cannot be read. At %(place)s: %(fault)s."),
        {"place": dotted(fault.place), "fault": said(fault)},
    )


def sentence(fault: BadValue) -> Phrase:
    """The same for a person who can mend it on the page."""
    return Phrase(N_("Check this: %(fault)s"), {"fault": said(fault)})
