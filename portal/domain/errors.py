"""The three ways the portal refuses, and nothing else.

Refusal
├── NotFound     there is no such thing, or it is not theirs to know of     404
├── NotAllowed   this kind of person does not do this                       403
└── NotNow       it cannot be done as things stand; says why                409
"""

from __future__ import annotations

from portal.domain.words import Phrase


class Refusal(Exception):
    """A request that is understood and refused."""


class NotFound(Refusal):
    """There is no such thing, or it is not theirs to know of."""


class NotAllowed(Refusal):
    """This kind of person does not do this."""


class NotNow(Refusal):
    """It cannot be done as things stand; ``reason`` is shown to the person."""

    def __init__(self, reason: Phrase | str) -> None:
        self.reason = reason if isinstance(reason, Phrase) else Phrase(reason)
        super().__init__(str(self.reason))
