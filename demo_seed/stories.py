"""What happens side by side, one day after the other."""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from datetime import date

# Something that happens on several days: it goes on when the day has come that it gave last.
Story = Iterator[date]


def live(stories: Sequence[Story], until: date) -> None:
    """All that happens before ``until``; on one day in the order of the stories. What comes later does not happen."""
    waiting: list[tuple[date, int]] = []
    for number, story in enumerate(stories):
        _go_on(waiting, number, story)
    while waiting and waiting[0][0] < until:
        _day, number = heapq.heappop(waiting)
        _go_on(waiting, number, stories[number])


def _go_on(waiting: list[tuple[date, int]], number: int, story: Story) -> None:
    day = next(story, None)
    if day is not None:
        heapq.heappush(waiting, (day, number))
