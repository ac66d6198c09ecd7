"""The workshop: what is set up or looked at now and then, on one page, so that the main ways stay few."""

from __future__ import annotations

from dataclasses import dataclass

from flask import render_template

from portal.domain.words import N_
from portal.web.request import actor
from portal.web.shop.blueprint import bp


@dataclass(frozen=True)
class Entry:
    """A page, and what one does there; some are for the shop manager only."""

    endpoint: str
    label: str
    words: str
    for_managers: bool = False


# Under what heading people look for it -> the pages, in the order in which they are needed.
GROUPS: dict[str, tuple[Entry, ...]] = {
    N_("Days and places"): (
        Entry(
            "shop.opening",
            N_("Opening hours and season"),
            N_("The week, closed days, the season, and how far ahead people book"),
            for_managers=True,
        ),
        Entry(
            "shop.days",
            N_("Opening days"),
            N_("When the stone runs, and for how many minutes"),
            for_managers=True,
        ),
        Entry(
            "shop.venues", N_("Venues"), N_("Places where people ski, with their weather"), for_managers=True
        ),
    ),
    N_("Words"): (
        Entry(
            "shop.texts",
            N_("Texts"),
            N_("Letters, care advice, reasons and the front page, in your own words"),
            for_managers=True,
        ),
        Entry(
            "shop.reasons",
            N_("Reasons"),
            N_("What can be chosen when something is declined, changed or given back"),
            for_managers=True,
        ),
    ),
    N_("Tools"): (Entry("shop.diamonds", N_("Diamonds"), N_("What the stone is dressed with")),),
    N_("Looking back"): (
        Entry(
            "shop.stone_report", N_("The stone"), N_("Dressings and pairs, held against work without a plan")
        ),
    ),
}


@bp.get("/workshop", endpoint="hub")
def the_workshop() -> str:
    manages = actor().is_manager
    groups = {
        heading: [entry for entry in entries if manages or not entry.for_managers]
        for heading, entries in GROUPS.items()
    }
    return render_template(
        "shop/hub.html", groups={heading: entries for heading, entries in groups.items() if entries}
    )
