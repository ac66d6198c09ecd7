"""Text that a person will read, marked where it is written and translated only where it is shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field


def N_(text: str) -> str:
    """Mark ``text`` for the catalogue and give it back unchanged."""
    return text


@dataclass(frozen=True)
class Phrase:
    """A sentence with places to fill: ``Phrase(N_("Enter a length of at least %(least)s"), {"least": 80})``.

    A value that is itself a ``Phrase`` is translated before it is filled in.
    """

    text: str
    values: Mapping[str, object] = field(default_factory=dict)

    def said(
        self, translate: Callable[[str], str], written: Callable[[object], object] = lambda value: value
    ) -> str:
        """The sentence in the reader's language; ``written`` gives a value, such as a day, as that reader writes it."""
        if not self.values:
            return translate(self.text)
        filled = {
            name: value.said(translate, written) if isinstance(value, Phrase) else written(value)
            for name, value in self.values.items()
        }
        return translate(self.text) % filled

    def __str__(self) -> str:
        return self.said(lambda text: text)
