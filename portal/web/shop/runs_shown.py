"""A run as the bench's pages and its card show it."""

from __future__ import annotations

from dataclasses import dataclass
from secrets import token_urlsafe
from typing import TYPE_CHECKING

from portal.domain.bookings import Stage
from portal.domain.layers import Layer
from portal.domain.planning.routes import layer_names
from portal.domain.pressure import PressureLine
from portal.domain.runs import Measured, PairState, RunState, keep_clear, stands
from portal.domain.tags import grouped, tag_of
from portal.domain.words import Phrase
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services.bookings import removal_for
from portal.services.run_steps import is_signed_off
from portal.web.request import db
from portal.web.shop.pressure import line_of
from portal.web.shop.run_forms import PairForm
from portal.web.shop.stone_words import LayerWords, Setting, book_of, grinder_words
from portal.web.shop.surfaces import layer_words

if TYPE_CHECKING:
    from portal.db.runs import BenchRun, RunPair, StoneDressing


def new_key() -> str:
    """The key of one act, made by the page that will send it: what is sent twice is done once."""
    return token_urlsafe(18)


def state_of(run: BenchRun) -> RunState:
    """What a run waits for."""
    return stands([one.cut for one in run.dressings], [one.state for one in run.pairs])


def words_of(run: BenchRun) -> LayerWords:
    """What the run's layer is called, and how it is dressed as the structure says."""
    return book_of([run.structure] if run.structure is not None else []).of(run.layer)


def layer_of(run: BenchRun) -> Layer | None:
    """The layer as the structure has it; nothing for base flattening and where a structure has no layers."""
    if run.structure is None:
        return None
    structure = find_structures.value(run.structure)
    names = layer_names(structure)
    return structure.layers[names.index(run.layer)] if structure.layers and run.layer in names else None


def layers_so_far(run: BenchRun) -> tuple[Layer, ...]:
    """The layers that are in the base after this run, for a picture of it."""
    if run.structure is None:
        return ()
    structure = find_structures.value(run.structure)
    names = layer_names(structure)
    return structure.layers[: names.index(run.layer) + 1] if run.layer in names else structure.layers


def settings_of(dressing: StoneDressing) -> list[Setting]:
    """How the stone was dressed, line by line."""
    return layer_words(Layer.from_json(dressing.settings)) if dressing.settings else []


@dataclass(frozen=True)
class PairShown:
    """A pair of a run: ``form`` is there where it can be recorded now."""

    row: RunPair
    tag: str
    steps: int
    thinnest_um: int | None
    removal_um: int
    clear: tuple[Phrase, ...]
    line: PressureLine | None
    measured: Measured
    is_here: bool
    is_elsewhere: bool
    may_undo: bool
    form: PairForm | None
    key: str

    @property
    def forces(self) -> list[int]:
        """Wheel force in N of each zone from the tip, where the camber was measured."""
        return [round(zone.middle.evened_n) for zone in self.line.zones] if self.line is not None else []

    @property
    def is_waiting(self) -> bool:
        return self.row.state is PairState.WAITING

    @property
    def is_last(self) -> bool:
        return self.row.instead or self.row.step + 1 == self.steps


@dataclass(frozen=True)
class RunShown:
    """A run with all that belongs to it."""

    row: BenchRun
    words: LayerWords
    grinder: Phrase | None
    state: RunState
    pairs: tuple[PairShown, ...]
    current: int | None

    @property
    def done(self) -> int:
        return sum(one.row.state is PairState.DONE for one in self.pairs)


def shown_run(run: BenchRun, wanted: int | None = None, sent: PairForm | None = None) -> RunShown:
    """The run; open is the pair that is ``wanted``, or else the next that can be recorded. ``sent`` is its form with errors."""
    workshop = find_workshop.the(db())
    pairs = tuple(_pair(run, one, sent if one.id == wanted else None) for one in run.pairs)
    can_be = [one.row.id for one in pairs if one.form is not None]
    ids = {one.row.id for one in pairs}
    current = wanted if wanted in ids else next(iter(can_be), None)
    return RunShown(
        run, words_of(run), grinder_words(run.grinder, workshop.grinders), state_of(run), pairs, current
    )


def _pair(run: BenchRun, row: RunPair, sent: PairForm | None) -> PairShown:
    item, workshop = row.item, find_workshop.the(db())
    waits = row.state is PairState.WAITING and item.stage is Stage.CHECKED_IN
    its_turn = waits and (row.instead or item.steps_done == row.step)
    key = new_key()
    form = (sent or PairForm.for_pair(row.id, key)) if its_turn and is_signed_off(run) else None
    if form is not None and sent is None:
        form.saturated.data = item.saturation
    steps = len(find_structures.work_of(workshop, item))
    return PairShown(
        row=row,
        tag=grouped(tag_of(item.pair_id)),
        steps=steps,
        thinnest_um=find_grinds.thinnest_now_um(db(), item.pair_id),
        removal_um=_removal_um(run, row),
        clear=keep_clear(item.pair.discipline, item.pair.grip, item.pair.kick_zone_cm),
        line=line_of(item.pair, workshop),
        measured=Measured.from_json(row.measured),
        is_here=item.stage is not Stage.AWAITED,
        is_elsewhere=waits and not its_turn,
        may_undo=row.state is PairState.DONE and item.stage is not Stage.HANDED_BACK,
        form=form,
        key=key,
    )


def _removal_um(run: BenchRun, row: RunPair) -> int:
    """What the whole work of the pair is stated to take off, in µm."""
    structure = run.structure if row.instead and run.structure is not None else row.item.structure
    return removal_for(find_workshop.the(db()), structure, row.item.flattening)
