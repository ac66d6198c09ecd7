"""What every part of a service history stands on."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.layout import CELL_HEAD, Typesetter
from portal.domain.words import Phrase
from portal.i18n import Voice


class Part:
    """A part of the paper in the reader's language; ``level`` is that of its headings."""

    def __init__(self, setter: Typesetter, voice: Voice, level: int = 2) -> None:
        self.set, self.voice, self.level = setter, voice, level

    def say(self, text: Phrase | str, **values: object) -> str:
        """A text in the reader's language."""
        return self.voice.say(text, **values)

    def section(self, text: str, room: float = 24 * mm) -> list[Flowable]:
        """A heading in the reader's language, with room below it."""
        return self.set.section(self.say(text), room, self.level)

    def heads(self, *names: str) -> list[Flowable]:
        """The head of a table of words."""
        return [self.set.text(self.say(name), CELL_HEAD) for name in names]
