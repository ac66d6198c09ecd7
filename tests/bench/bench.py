"""Speed as ratios within one run where machines differ, promises and plans against their bars: ``make bench``.

Exit status 1 when a bar is missed.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import select
from surfalize import Surface as Independent

from portal import create_app
from portal.config import Settings
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.db.people import Person
from portal.domain.advice import advise
from portal.domain.coverage import membership
from portal.domain.draws import DRAWS
from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Form, Layer, Profile
from portal.domain.questions import answers_from
from portal.domain.structures import Catalogue
from portal.domain.texture import patch_for, surface, texture
from portal.domain.usual_snow import usual_snow
from portal.queries import days as find_days
from portal.reference import default_folder, load
from portal.services import snow_answers
from portal.web import advising
from tests import make
from tests.bench.bars import Bar, judge, seconds
from tests.bench.lists import list_bars
from tests.bench.promise import promise_bars
from tests.bench.stone import stone_bars
from tests.cast import Cast
from tests.databases import PostgresMaker, SqliteMaker, postgres_server
from tests.make import NOW
from tests.page import Visitor

STRUCTURES = 30
# The pair's page is the one that comes with advice and without. The advice page is a longer page than any without, and a
# cold one works the whole advice out, which happens once for each set of answers: both are watched, not promised.
ADVICE_PAGE_BARS = {
    "pair's page with advice / without, warm": 2.0,
    "pair's page with advice / without, cold": 8.0,
    "advice page / check page, warm": 6.0,
    "advice page / check page, cold": 25.0,
}
# Answers to every question, as they are stored.
STORED: dict[str, Any] = {
    "air": {"cold": -15.0, "ordinary": -6.0, "mild": 1.0},
    "humidity": "ordinary",
    "snow": {"new": "often", "settled": "often", "refrozen": "sometimes", "wet": "sometimes"},
    "track_wet": "sometimes",
    "place": "",
    "discipline": "skate",
    "purpose": {"purpose": "all_round", "special_kind": None},
    "weak": [],
}


def page_ratio(url: str) -> float:
    """The list of requests with 60 of them against the list with one: rows may cost, queries a row may not."""
    database = Database.open(url)
    cast = Cast.hire(database, NOW)
    with database.write.begin() as session:
        for row in session.scalars(select(WorkDay)):
            row.run((100_000,), 1)
        make.booking(session, make.person(session))
    settings = Settings(
        url, ("a secret for the bench, long enough",), "http://localhost", "desk@hollowmere.test"
    )
    app = create_app(settings)
    browser = Visitor(app).as_(cast.mia)

    def open_list() -> None:
        assert browser.raw("GET", "/shop/requests").status_code == 200

    one = seconds(open_list)
    with database.write.begin() as session:
        for _ in range(59):
            make.booking(session, make.person(session))
    sixty = seconds(open_list)
    with database.read() as session:
        assert not find_days.drift(session)
    app.extensions["portal"].database.close()
    database.close()
    return sixty / one


def texture_ratio() -> float:
    """All numbers of three layers on 1000 x 1000 points against the same numbers of the same field by surfalize."""
    layers = [
        Layer(Dressing(0.4, 20, 0.15, Hand.RIGHT, 350, 1250, 6)),
        Layer(Dressing(0.4, 20, 0.2, Hand.LEFT, 350, 1250, 6), 7),
        Layer(Profile(Form.VEE, 0.5, 0.2, 20, 3)),
    ]
    field = surface(layers, patch_for(layers))
    names = ["Sa", "Sq", "Sz", "Ssk", "Sk", "Spk", "Svk", "Smr1", "Smr2", "Vmp", "Vmc", "Vvc", "Vvv", "Sdr"]

    def theirs() -> None:
        with warnings.catch_warnings():
            # The patch holds whole pitches and whole crossings, so its cells are not quite square.
            warnings.simplefilter("ignore")
            measured = Independent(field.z_um - field.z_um.mean(), field.step_x_um, field.step_y_um)
            measured.roughness_parameters([*names, "Sal", "Str"])

    return seconds(lambda: texture(layers), 5) / seconds(theirs, 5)


def advice_ratio() -> tuple[float, float]:
    """Advice with 500 draws over 30 structures against bare passes of numpy over the same arrays.

    The first: against one product of 500 winters with 30 structures over every cell of air, kind and water, with nothing
    drawn and nothing fitted. The second: against 500 plain passes, each over one winter. How sure, ties and what would
    change it are in the advice; nothing is kept from one to the next.
    """
    reference = load(default_folder())
    given = reference.catalogue.structures
    keys = [family.key for family in reference.catalogue.families]
    many = sorted(
        (replace(given[number % len(given)], key=f"made-{number}") for number in range(STRUCTURES)),
        key=lambda one: keys.index(one.family),
    )
    catalogue = Catalogue(reference.catalogue.families, tuple(many))
    answers = answers_from(STORED)
    usual = usual_snow(answers, reference.tables)
    winters = np.tile(usual.weights.reshape(1, -1), (DRAWS, 1))
    suits = np.array([membership(one.range, usual).reshape(-1) for one in many])
    whole = seconds(lambda: advise(answers, catalogue, reference.tables))
    return (
        whole / seconds(lambda: winters @ suits.T),
        whole / (DRAWS * seconds(lambda: (suits * winters[0]).sum(axis=1))),
    )


def advice_page_ratios(url: str) -> dict[str, float]:
    """A page with advice against the same kind of page without: kept from the last time (warm) and made anew (cold)."""
    database = Database.open(url)
    cast = Cast.hire(database, NOW)
    with database.write.begin() as session:
        bare = make.pair(session, session.get_one(Person, cast.alice.person_id)).id
        row = snow_answers.begin(session, cast.alice, "bench", NOW, pair_id=cast.pair_id, stored=STORED)
        snow_answers.finish(row, NOW)
    settings = Settings(
        url, ("a secret for the bench, long enough",), "http://localhost", "desk@hollowmere.test"
    )
    app = create_app(settings)
    browser = Visitor(app).as_(cast.alice)

    def open_page(path: str, *, anew: bool = False) -> Callable[[], None]:
        def act() -> None:
            if anew:
                advising.forget()
            assert browser.raw("GET", path).status_code == 200

        return act

    without = seconds(open_page(f"/my/pairs/{bare}"))
    check = seconds(open_page("/snow/bench/check"))
    found = {
        "pair's page with advice / without, warm": seconds(open_page(f"/my/pairs/{cast.pair_id}")) / without,
        "pair's page with advice / without, cold": seconds(open_page(f"/my/pairs/{cast.pair_id}", anew=True))
        / without,
        "advice page / check page, warm": seconds(open_page("/snow/bench/advice")) / check,
        "advice page / check page, cold": seconds(open_page("/snow/bench/advice", anew=True)) / check,
    }
    app.extensions["portal"].database.close()
    database.close()
    return found


def portal_bars() -> Iterator[Bar]:
    """Pages and the numbers behind them."""
    with tempfile.TemporaryDirectory() as folder, postgres_server() as server:
        sqlite, postgres = SqliteMaker(Path(folder)).fresh(), PostgresMaker(server)
        product, passes = advice_ratio()
        yield Bar(
            f"advice, {DRAWS} draws, {STRUCTURES} structures / one product over the same arrays",
            product,
            50.0,
        )
        yield Bar(
            f"advice, {DRAWS} draws, {STRUCTURES} structures / {DRAWS} plain passes over one winter",
            passes,
            2.0,
        )
        for name, ratio in advice_page_ratios(postgres.fresh()).items():
            yield Bar(name, ratio, ADVICE_PAGE_BARS[name])
        yield Bar("texture of three layers / surfalize", texture_ratio(), 1.0)
        yield Bar("requests page with 60 rows / with one, SQLite", page_ratio(sqlite), 12.0)
        yield Bar("requests page with 60 rows / with one, PostgreSQL", page_ratio(postgres.fresh()), 12.0)
        postgres.admin.dispose()


PARTS: dict[str, Callable[[], Iterator[Bar]]] = {
    "portal": portal_bars,
    "lists": list_bars,
    "promise": promise_bars,
    "stone": stone_bars,
}


def main() -> int:
    """Measure, print, judge: the part that is named, or all of it."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("part", nargs="?", choices=list(PARTS))
    part = arguments.parse_args().part
    missed = [judge(PARTS[name]()) for name in ([part] if part else PARTS)]
    return 1 if any(missed) else 0


if __name__ == "__main__":
    sys.exit(main())
