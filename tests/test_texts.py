"""Every text that people read can be translated: gathered, and shown translated on every page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.frontend import parse_mapping_cfg
from babel.messages.mofile import write_mo
from flask import Flask
from sqlalchemy import select
from werkzeug.exceptions import HTTPException

from portal import i18n
from portal.db.bookings import Booking
from portal.db.catalogue import Structure
from portal.db.diamonds import Diamond
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.access import Actor
from portal.domain.importing.customers import Options
from portal.domain.importing.readings import Content, Subject
from portal.domain.planning.changes import CloseDay
from portal.queries import bookings as find_bookings
from portal.services import bookings, grinds, imports
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.page import HTML, Page, Visitor
from tests.web.shop import planned
from tests.web.shop.conftest import Desk

# What is run here others measure already.
pytestmark = pytest.mark.no_cover

ROOT = Path(__file__).parent.parent
KEYWORDS: dict[str, Any] = {"N_": None, "_": None, "gettext": None, "ngettext": (1, 2)}
# What stands on pages in every language: units, days and months of the test's language, names of things that are names.
EVERYWHERE = set(
    re.findall(
        r"\S+",
        """
Rillbook Hollowmere Ski Grinding Mill Lane cm mm µm kg min EUR PDF XML INV Chrome Linux
mL m² Sa Sq Sz Ssk Sk Spk Svk Smrk Vmp Vmc Vvc Vvv Sdr Sal Str Ra Rq Rsk Rz Rt RSm Rdq Rmr
man tir ons tor fre lør søn januar februar desember november jan feb des nov kl kr mai Engelsk
""",
    )
)


@pytest.fixture(scope="session")
def texts() -> set[str | tuple[str, ...]]:
    """All message ids, gathered the way `make messages` does."""
    with (ROOT / "portal/babel.cfg").open() as file:
        methods, options = parse_mapping_cfg(file)
    found: set[str | tuple[str, ...]] = set()
    for folder in ("portal", "shared"):
        # The mapping names paths from the top of the project.
        for _name, _line, message, _comments, _context in extract_from_dir(
            ROOT / folder,
            [
                (pattern.removeprefix(folder + "/"), method)
                for pattern, method in methods
                if pattern.startswith(folder)
            ],
            {pattern.removeprefix(folder + "/"): given for pattern, given in options.items()},
            KEYWORDS,
        ):
            found.add(message if isinstance(message, str) else tuple(message))
    return found


def test_texts_are_gathered_from_code_templates_letters_and_reference_data(texts: set[Any]) -> None:
    assert len(texts) > 800
    for text in ("Settled fine snow", "Send the request", "Hello %(name)s,", "Start"):
        assert text in texts, text
    assert any("soft brush" in text for text in texts if isinstance(text, str)), "care advice"


def test_every_place_in_a_text_has_a_name(texts: set[Any]) -> None:
    for text in texts:
        for form in [text] if isinstance(text, str) else text:
            bare = re.sub(r"%%|%\(\w+\)s", "", form)
            assert "%" not in bare or not re.search(r"%[sd(]", bare), form


@pytest.fixture
def marked_language(texts: set[Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A catalogue in which each text is its own translation between brackets."""
    catalog = Catalog(locale="nb")
    for text in texts:
        if isinstance(text, str):
            catalog.add(text, f"⟦{text}⟧")
        else:
            catalog.add(text[:2], tuple(f"⟦{form}⟧" for form in text[:2]))
    folder = tmp_path / "nb" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    made = BytesIO()
    write_mo(made, catalog)
    (folder / "portal.mo").write_bytes(made.getvalue())
    (folder / "portal.po").touch()
    monkeypatch.setattr(i18n, "CATALOGUES", tmp_path)
    i18n.voice.cache_clear()
    i18n._catalogue.cache_clear()
    yield "nb"
    i18n.voice.cache_clear()
    i18n._catalogue.cache_clear()


def walk(visitor: Visitor, start: str, app: Flask) -> Iterator[tuple[str, Page]]:
    """Every kind of page that links lead to from ``start``."""
    adapter = app.url_map.bind("localhost")
    todo, seen, kinds = [start], {start}, set()
    while todo:
        path = todo.pop(0)
        try:
            kind = adapter.match(path.split("?")[0], method="GET")[0]
        except HTTPException:
            # An act or another site: nothing to read here.
            continue
        if kind in kinds or path.split("?")[0].endswith(
            (".pdf", ".ics", ".json", ".csv", ".xlsx", ".xml", ".zip")
        ):
            continue
        page = Page(visitor.client.get(path, follow_redirects=True))
        kinds.add(kind)
        yield kind, page
        for link in page.links:
            if link.startswith("/") and link not in seen:
                seen.add(link)
                todo.append(link)


def older_list(database: Database, cast: Cast) -> None:
    """A list that is looked at before it is loaded, with a row of each kind; its words are those of the cast."""
    rows = b"Alder,Birch,Hill\nalice@example.test,Alice,\nhill@example.test,Hill,Valley\nValley,Valley,\n"
    with database.write.begin() as session:
        made = imports.stage(session, cast.mia, Subject.CUSTOMERS, "Valley", Content.of_text(rows), NOW)
        meant = {0: "email", 1: "name", 2: "structure"}
        imports.take_columns(session, cast.mia, made.id, meant, Options(), NOW)


def names_of(database: Database) -> set[str]:
    """Words that are somebody's data, not ours to translate."""
    with database.read() as session:
        told: list[Any] = []
        for column in (
            Person.name,
            Person.email,
            Pair.maker,
            Pair.model,
            Structure.name,
            Diamond.mark,
        ):
            told += session.scalars(select(column))
        told += session.scalars(select(Booking.reference))
    return {word for text in told for word in re.findall(r"[^\W\d_]{2,}", text)}


def unspoken(page: Page, names: set[str]) -> set[str]:
    """Words on the page outside every bracket that are nobody's data."""
    body = page.all("body")[0]
    for element in body.iter():
        # What a program reads and the name of a publication are the same in every language; what was typed is as it was typed.
        if element.tag in {HTML + tag for tag in ("script", "style", "code", "pre", "textarea", "cite")}:
            element.text = ""
    text = " ".join(body.itertext())
    before = None
    while before != text:
        before, text = text, re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
    text = re.sub(r"\S+@\S+|https?://\S+", " ", text)
    return set(re.findall(r"[^\W\d_]{2,}", text)) - names - EVERYWHERE


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
@pytest.mark.parametrize(
    ("who", "start"),
    [("alice", "/my/pairs"), ("cora", "/"), ("mia", "/shop/requests"), ("tina", "/shop/day")],
)
def test_no_page_shows_a_word_that_cannot_be_translated(
    app: Flask, visitor: Visitor, database: Database, cast: Cast, marked_language: str, who: str, start: str
) -> None:
    with database.write.begin() as session:
        for person in session.scalars(select(Person)):
            person.language = marked_language
        owner = make.find_people.one(session, cast.alice.person_id)
        made = make.booking(
            session, owner, wanted=[bookings.Wanted(cast.pair_id, make.structure(session).id, True, True)]
        )
        bookings.confirm(session, cast.mia, made.id, NOW)
        made_id = made.id
        make.booking(session, owner)
    if who in {"mia", "tina"}:
        # A plan in force, one beside it, and a what-if.
        desk = Desk(database, cast)
        planned.dressed(desk)
        planned.accepted(desk)
        planned.asked_what_if(desk, [CloseDay(date(2026, 12, 10))])
        planned.made(desk)
        planned.proposed(desk)
        with database.write.begin() as session:
            item_id = find_bookings.whole(session, made_id).items[0].id
            grinds.check_in(session, cast.tina, item_id, NOW)
            make.signed_off(session, cast.tina, item_id)
    if who == "mia":
        older_list(database, cast)
    actor: Actor = getattr(cast, who)
    names = names_of(database) | {"Alder", "Valley", "Birch", "Hill", "Club", "Junia"}
    # Countries have their names from the language itself.
    names |= {
        word
        for _code, name in i18n.voice(marked_language).countries()
        for word in re.findall(r"[^\W\d_]{2,}", name)
    }
    strays = {}
    walked = 0
    for kind, page in walk(visitor.as_(actor), start, app):
        walked += 1
        words = unspoken(page, names)
        # The language's own page names languages in themselves.
        if words and kind not in {
            "account.account",
            "account.change_language",
            "public.letters",
            "public.letter",
        }:
            strays[kind] = words
    assert walked > 8
    assert not strays
