"""Links in letters: signed, good for one purpose, for one person and until a moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any

from itsdangerous import BadData, URLSafeSerializer


class Purpose(StrEnum):
    """What a link does."""

    CONFIRM = "confirm"
    RESET = "reset"
    INVITATION = "invitation"


LIFETIMES = {Purpose.CONFIRM: timedelta(days=2), Purpose.RESET: timedelta(hours=2)}
INVITATION = timedelta(days=7)


@dataclass(frozen=True)
class Link:
    """What a link says. ``mark`` changes when the link has been used, so that it works once."""

    # Of an invitation, which may be to somebody we do not know yet, it is the invitation's own number.
    person_id: int
    mark: str
    # Tokens of snow answers given in the browser from which the person signed up.
    answers: tuple[str, ...] = ()
    # The page that they came for, to be opened once they are signed in. Whoever signed up chose it: check it before use.
    way_on: str = ""


class Links:
    """Makes and reads links. The first key signs; links signed with the others are still read."""

    def __init__(self, keys: Sequence[str]) -> None:
        # itsdangerous signs with the last key of its list.
        self._keys = list(reversed(keys))

    def _serializer(self, purpose: Purpose) -> URLSafeSerializer:
        return URLSafeSerializer(self._keys, salt=f"rillbook-link-{purpose}")

    def token(self, purpose: Purpose, link: Link, until: datetime) -> str:
        """The last part of the link's address."""
        told: list[Any] = [link.person_id, link.mark, int(until.timestamp()), *link.answers]
        if link.way_on:
            told.append({"on": link.way_on})
        return str(self._serializer(purpose).dumps(told))

    def read(self, purpose: Purpose, token: str, now: datetime) -> Link | None:
        """What the link says; nothing when it is not ours, for something else, or too old."""
        try:
            person_id, mark, until, *more = self._serializer(purpose).loads(token)
        except BadData:
            return None
        if datetime.fromtimestamp(until, UTC) < now:
            return None
        answers = tuple(one for one in more if isinstance(one, str))
        way_on = next((one["on"] for one in more if isinstance(one, dict)), "")
        return Link(person_id, mark, answers, way_on)
