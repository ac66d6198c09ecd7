"""The days of a venue as answers to the snow questions: filled in for the skier, who may overrule each."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from portal.domain.answers import PLACE_MOST, AirDays, Humidity

# The key under which the answer to the question about temperature keeps where its days came from.
KEY = "venue"
DAY_NAMES = ("cold", "ordinary", "mild")


@dataclass(frozen=True)
class VenueDays:
    """What a venue says of air temperature and humidity."""

    name: str
    days: AirDays
    humidity: Humidity

    def stored(self) -> dict[str, Any]:
        """As it is kept with the answer, so that the answer stays true when the venue changes or goes."""
        return {
            "name": self.name,
            "cold": self.days.cold,
            "ordinary": self.days.ordinary,
            "mild": self.days.mild,
            "humidity": self.humidity.value,
        }


def filled_in(stored: Mapping[str, Any], venue: VenueDays) -> dict[str, Any]:
    """The answers with the venue's days in place of those about temperature; to be shown, not yet to be kept."""
    return {**stored, "air": {name: venue.stored()[name] for name in DAY_NAMES}}


def with_origin(air: Mapping[str, Any], venue: Mapping[str, Any] | None) -> dict[str, Any]:
    """The answer about temperature and the venue (as it is kept) that it came from, while one of its days still does."""
    answer = {name: value for name, value in air.items() if name != KEY}
    if venue is not None and any(answer.get(name) == venue[name] for name in DAY_NAMES):
        answer[KEY] = dict(venue)
    return answer


def origin(stored: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """The venue that the days came from, as it is kept; nothing when the skier knew them."""
    found: Mapping[str, Any] | None = (stored.get("air") or {}).get(KEY)
    return found


def is_changed(air: Mapping[str, Any]) -> bool:
    """Whether the skier overruled or left out a day of the venue."""
    return any(air.get(name) != air[KEY][name] for name in DAY_NAMES)


def suggested(key: str, stored: Mapping[str, Any]) -> Mapping[str, Any]:
    """The answers with what the venue suggests for a question that has no answer yet: how humid, and where."""
    venue = origin(stored)
    if venue is None or key in stored:
        return stored
    if key == "humidity":
        return {**stored, key: venue["humidity"]}
    if key == "place":
        return {**stored, key: venue["name"][:PLACE_MOST]}
    return stored


def outdated(stored: Mapping[str, Any], air: Mapping[str, Any]) -> Collection[str]:
    """The answers that only repeat what another venue suggested, and are asked again now that ``air`` is the answer."""
    before, after = origin(stored), air.get(KEY)
    if before is None or after is None or before == after:
        return ()
    suggestions = {"humidity": before["humidity"], "place": before["name"][:PLACE_MOST]}
    return [key for key, value in suggestions.items() if stored.get(key) == value]
