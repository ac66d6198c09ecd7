"""The front page, how it works, and every part of the interface."""

from __future__ import annotations

from flask import render_template

from portal.domain import public_words
from portal.domain.prices import Item
from portal.queries import catalogue as find_structures
from portal.queries import workshop as find_workshop
from portal.web.hours import shown_hours
from portal.web.language import own_words
from portal.web.public import components
from portal.web.public.blueprint import bp
from portal.web.request import db, portal, today


@bp.get("/")
def home() -> str:
    return render_template(
        "public/home.html",
        families=find_structures.families(db()),
        is_demo=portal().settings.demo,
        hours=shown_hours(),
        note=own_words(public_words.OPENING_NOTE),
        about=own_words(public_words.ABOUT),
        find_us=own_words(public_words.FIND_US),
    )


@bp.get("/how-it-works")
def how_it_works() -> str:
    workshop = find_workshop.the_or_none(db())
    valid = [price for price in find_workshop.prices(db()) if price.valid_from <= today()] if workshop else []
    newest = {price.item: price.amount for price in sorted(valid, key=lambda price: price.valid_from)}
    prices = {item: newest[item] for item in Item if item in newest}
    return render_template("public/how_it_works.html", prices=prices)


@bp.get("/components", endpoint="components")
def all_components() -> str:
    return render_template("public/components.html", **components.components_context())
