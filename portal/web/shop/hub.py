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
    N_("Skis"): (
        Entry(
            "shop.storage",
            N_("Skis in storage"),
            N_("What waits to be collected, how long, and where it lies"),
        ),
        Entry("shop.rework", N_("Ground again"), N_("Grinds with something wrong, and what became of them")),
        Entry("shop.diamonds", N_("Diamonds"), N_("What the stone is dressed with")),
    ),
    N_("Days, places and rules"): (
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
            "shop.places",
            N_("Hand-in places"),
            N_("Where skis are handed in, and when they reach the workshop"),
            for_managers=True,
        ),
        Entry(
            "shop.rules",
            N_("Rules for requests and changes"),
            N_("How long time is held, until when a booking can be changed, and for what fee"),
            for_managers=True,
        ),
        Entry(
            "shop.venues", N_("Venues"), N_("Places where people ski, with their weather"), for_managers=True
        ),
    ),
    N_("Money"): (
        Entry("shop.takings", N_("Takings"), N_("What was taken on a day, by method")),
        Entry("shop.open_balances", N_("Open balances"), N_("Bookings that are not paid in full")),
        Entry("shop.invoices", N_("Invoices"), N_("What was issued, and the credit notes")),
        Entry(
            "shop.invoicing",
            N_("What stands on invoices"),
            N_("Who issues them, where money is sent, and by when"),
            for_managers=True,
        ),
        Entry("shop.prices", N_("Prices"), N_("What is charged, from which day on"), for_managers=True),
        Entry("shop.tax", N_("Tax rates"), N_("The tax that prices include"), for_managers=True),
        Entry(
            "shop.club_savings",
            N_("Savings of clubs"),
            N_("What a club saves when it orders for many pairs"),
            for_managers=True,
        ),
        Entry(
            "shop.terms",
            N_("Express and deposit"),
            N_("Which ready days cost more, and what is asked for beforehand"),
            for_managers=True,
        ),
    ),
    N_("People and words"): (
        Entry("shop.staff", N_("Staff"), N_("Who works here, and who is invited"), for_managers=True),
        Entry(
            "shop.clubs",
            N_("Clubs"),
            N_("Who orders for many at once, and who manages them"),
            for_managers=True,
        ),
        Entry(
            "shop.texts",
            N_("Texts"),
            N_("Letters, care advice, reasons and the front page, in your own words"),
            for_managers=True,
        ),
        Entry(
            "shop.care",
            N_("Care advice"),
            N_("What skiers are told about their bases, and what you add or leave out"),
            for_managers=True,
        ),
        Entry(
            "shop.season_letter",
            N_("Season letter"),
            N_("What is due on their skis, to everybody who agreed, once a year"),
            for_managers=True,
        ),
        Entry(
            "shop.imports",
            N_("Load a list"),
            N_("Customers, their pairs and older grinds from a file"),
            for_managers=True,
        ),
        Entry(
            "shop.reasons",
            N_("Reasons"),
            N_("What can be chosen when something is declined, changed or given back"),
            for_managers=True,
        ),
    ),
    N_("Looking back"): (
        Entry(
            "shop.reports",
            N_("Reports"),
            N_("What was ground, promised and found wrong, and what the stone needed"),
        ),
        Entry(
            "shop.found_on_snow",
            N_("Found on snow"),
            N_("What skiers found of each structure, beside what you state"),
        ),
        Entry(
            "shop.audit", N_("Who did what"), N_("Acts of the workshop and of bookings"), for_managers=True
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
