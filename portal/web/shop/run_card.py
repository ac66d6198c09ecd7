"""The bench card of a run, and that of one of its pairs."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.documents.bench_card import BenchCard, PairOnCard, render
from portal.domain.words import N_, Phrase
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.web.language import say, speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import db, now
from portal.web.shop.blueprint import bp
from portal.web.shop.runs_shown import PairShown, RunShown, layers_so_far, settings_of, shown_run
from portal.web.shop.stone import may_plan


@bp.get("/bench/runs/<int:run_id>/card.pdf")
def run_card(run_id: int) -> Response:
    may_plan()
    it = shown_run(find_runs.one(db(), run_id))
    paper = render(card_of(it, it.pairs), speak(), fallback_fonts=fallback_fonts())
    return pdf(paper, f"bench-card-run-{run_id}")


@bp.get("/bench/pairs/<int:run_pair_id>/card.pdf")
def pair_card(run_pair_id: int) -> Response:
    may_plan()
    it = shown_run(find_runs.one(db(), find_runs.run_of(db(), run_pair_id)))
    mine = tuple(one for one in it.pairs if one.row.id == run_pair_id)
    paper = render(card_of(it, mine), speak(), fallback_fonts=fallback_fonts(), one_pair=True)
    return pdf(paper, f"bench-card-pair-{run_pair_id}")


def card_of(it: RunShown, pairs: tuple[PairShown, ...]) -> BenchCard:
    """All that the paper shows of a run with these pairs."""
    workshop, dressing = find_workshop.the(db()), it.row.dressing
    settings = settings_of(dressing) if dressing is not None and dressing.settings else it.words.settings
    cut: Phrase | str = N_("The stone is not dressed yet")
    if dressing is not None:
        cut = Phrase(dressing.cut.label)
        if dressing.judged_by:
            values = {
                "cut": cut,
                "name": dressing.judged_by,
                "moment": speak().moment(dressing.judged_at or now()),
            }
            cut = Phrase(N_("%(cut)s by %(name)s, %(moment)s"), values)
    return BenchCard(
        workshop=letterhead(workshop),
        reference=say(N_("Run %(number)s"), number=it.row.id),
        layer=it.words.name,
        day=it.row.day,
        grinder=it.grinder or "",
        settings=tuple(settings),
        cut=cut,
        layers=layers_so_far(it.row),
        minimum_um=workshop.minimum_um,
        pairs=tuple(_pair(pair) for pair in pairs),
        made_at=now(),
    )


def _pair(pair: PairShown) -> PairOnCard:
    item = pair.row.item
    note: Phrase | str = ""
    if pair.row.instead:
        values = {"structure": item.structure.name}
        note = Phrase(N_("Booked for %(structure)s; it gets the structure of this run instead."), values)
    return PairOnCard(
        tag=pair.tag,
        title=item.pair.title,
        mark=item.pair.mark,
        booking=item.booking.reference,
        promised=item.booking.ready_on,
        step=pair.row.step + 1,
        steps=pair.steps,
        thinnest_um=pair.thinnest_um,
        removal_um=pair.removal_um,
        clear=pair.clear,
        pressure=pair.line,
        note=note,
    )
