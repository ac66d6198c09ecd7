"""The ways on from every page, for whoever looks at it."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Flask, request, url_for

from portal.domain.access import Actor
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.web.language import say
from portal.web.request import actor_or_none, db


@dataclass(frozen=True)
class Way:
    """One link of the navigation."""

    url: str
    label: str
    current: bool


def _way(endpoint: str, label: str, **values: object) -> Way:
    url = url_for(endpoint, **values)  # type: ignore[arg-type]
    here = request.path == url or (url != "/" and request.path.startswith(url + "/"))
    return Way(url, say(label), here)


def ways(who: Actor | None) -> list[Way]:
    """The main ways: the visitor's, the skier's, the workshop's, and one for each club."""
    if who is None:
        return [
            _way("public.how_it_works", N_("How it works")),
            _way("public.structures", N_("Structures")),
            _way("public.snow_start", N_("Snow questions")),
            _way("public.care", N_("Care")),
        ]
    # Whoever works here may ski as well: among their own skis the ways are a skier's, with one back to the work.
    among_own = request.blueprint in {"skier", "club"}
    if who.is_staff and not among_own:
        return [
            _way("shop.requests", N_("Requests")),
            _way("shop.day", N_("The day")),
            _way("shop.scan", N_("Scan")),
            _way("shop.stone", N_("The stone")),
            _way("shop.bench_day", N_("The bench")),
            _way("shop.bookings", N_("Bookings")),
            _way("shop.catalogue", N_("Catalogue")),
            _way("shop.hub", N_("The workshop")),
        ]
    found = [
        _way("skier.pairs", N_("My skis")),
        _way("skier.bookings", N_("My bookings")),
        _way("public.structures", N_("Structures")),
    ]
    for club_id, name in who.clubs.items():
        found.append(
            Way(
                url_for("club.club", club_id=club_id),
                name,
                f"{request.path}/".startswith(f"/club/{club_id}/"),
            )
        )
    if who.is_staff:
        found.append(_way("shop.requests", N_("At the workshop")))
    return found


def part(who: Actor | None) -> Phrase | None:
    """In which part somebody stands here who has several: skier, manager of one of their clubs, or at work."""
    if who is None or not (who.clubs or who.staff_role):
        return None
    club = who.clubs.get((request.view_args or {}).get("club_id", 0))
    if request.blueprint == "club" and club is not None:
        return Phrase(N_("for %(club)s"), {"club": club})
    if who.staff_role is not None and request.blueprint not in {"skier", "club"}:
        return Phrase(N_("as %(part)s"), {"part": Phrase(who.staff_role.label)})
    return Phrase(N_("as a skier")) if request.blueprint == "skier" else None


def account_ways(who: Actor | None) -> list[Way]:
    """The ways in and out of an account."""
    if who is None:
        return [_way("account.sign_in", N_("Sign in")), _way("account.sign_up", N_("Sign up"))]
    own = Way(url_for("account.account"), who.name, request.path == url_for("account.account"))
    return [_way("skier.pairs", N_("My skis")), own] if who.is_staff else [own]


def install(app: Flask) -> None:
    """Give every page its ways."""

    @app.context_processor
    def context() -> dict[str, object]:
        who = actor_or_none()
        return {
            "actor": who,
            "workshop": find_workshop.the_or_none(db()),
            "nav": [(way.url, way.label, way.current) for way in ways(who)],
            "part": part(who),
            "account_nav": [(way.url, way.label, way.current) for way in account_ways(who)],
        }
