"""The runs at the bench behind every grind: the stone is dressed once a day for each layer, and a test cut is signed off."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.runs import BenchRun
from portal.domain.access import Actor
from portal.domain.dressing import Dressing
from portal.domain.layers import Layer
from portal.domain.planning.routes import layer_names
from portal.domain.reasons import SHIPPED, Use
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import run_pairs, runs

# Every so many dressings the first test cut is not good enough.
REJECTED_EVERY = 11
SEEN = "Even over the whole width, no hairs."


class Runs:
    """Nothing here throws dice: the rest of the world stays what it was without runs."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.workshop = find_workshop.the(session)
        self.begun: dict[tuple[date, str], int] = {}
        # Run and booking item.
        self.inside: set[tuple[int, int]] = set()
        self.keys = 0

    def steps(self, technician: Actor, item: BookingItem, day: date, steps: int) -> None:
        """Let a pair have its steps up to this number."""
        for number, layer in enumerate(self._layers(item)[:steps]):
            if number >= item.steps_done:
                run_id = self._run(technician, item, day, layer)
                waiting = find_runs.waiting_of_item(self.session, item.id)
                one = next(one for one in waiting if (one.run_id, one.step) == (run_id, number))
                now = _moment(day, 11, (7 * number + item.id) % 60)
                run_pairs.done(self.session, technician, one.id, run_pairs.DoneFacts(), now, key=self._key())
                self.session.flush()  # The next step is found by what was done.

    def onto_the_last(self, technician: Actor, item: BookingItem, day: date) -> None:
        """Let a pair have all steps but the last, and bring it onto a dressing for that one."""
        layers = self._layers(item)
        self.steps(technician, item, day, len(layers) - 1)
        self._run(technician, item, day, layers[-1])

    def _layers(self, item: BookingItem) -> list[str]:
        return [step.layer for step in find_structures.work_of(self.workshop, item)]

    def _run(self, technician: Actor, item: BookingItem, day: date, layer: str) -> int:
        """The number of the run of this day for the layer, with the pair in it and its test cut signed off."""
        self.session.flush()  # The pairs that are here are asked for.
        known = self.begun.get((day, layer))
        if known is None:
            now = _moment(day, 9, len(self.begun) % 50)
            run = runs.begin(self.session, technician, 0, layer, now, key=self._key(), only=[item.id])
            known = self.begun[day, layer] = run.id
            self._dress(technician, run, now)
        elif (known, item.id) not in self.inside:
            now = _moment(day, 10, item.id % 60)
            run_pairs.add(self.session, technician, known, item.pair_id, now, key=self._key())
            self.session.flush()  # It is read back with the run.
        self.inside.add((known, item.id))
        return known

    def _dress(self, technician: Actor, run: BenchRun, now: datetime) -> None:
        layer, diamond = self._settings(run)
        facts = runs.DressingFacts(layer.to_json() if layer is not None else None, diamond)
        pitch = layer.cut.lead_mm if layer is not None and isinstance(layer.cut, Dressing) else None
        seen = runs.TestCut(pitch_mm=pitch, seen=SEEN)
        tries = 2 if len(self.begun) % REJECTED_EVERY == 0 else 1
        for number in range(1, tries + 1):
            runs.dress(self.session, technician, run.id, facts, now, key=self._key())
            self.session.flush()  # The run is read back with its dressing.
            if number < tries:
                why = SHIPPED[Use.TEST_CUT]["shallow"]
                cut = runs.TestCut()
                runs.reject(self.session, technician, run.id, cut, why, now, key=self._key(), number=number)
            else:
                runs.sign_off(self.session, technician, run.id, seen, now, key=self._key(), number=number)
            self.session.flush()  # The next dressing is numbered after this one.

    def _settings(self, run: BenchRun) -> tuple[Layer | None, int | None]:
        """The layer as the catalogue has it, and the number of its diamond."""
        if run.structure is None:
            return None, None
        structure = find_structures.value(run.structure)
        if not structure.layers:
            return None, None
        layer = structure.layers[layer_names(structure).index(run.layer)]
        rows = find_diamonds.in_use(self.session)
        return layer, next((row.id for row in rows if row.mark == layer.diamond), None)

    def _key(self) -> str:
        self.keys += 1
        return f"demo {self.keys:06d}"


def _moment(day: date, hour: int, minute: int) -> datetime:
    return datetime.combine(day, time(hour, minute), UTC)
