"""A visitor who opens pages, and a page that is held to one standard whenever it is opened."""

from __future__ import annotations

from collections import Counter
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
from flask import Flask
from werkzeug.test import TestResponse

from portal.domain.access import Actor
from tests import make

HTML = "{http://www.w3.org/1999/xhtml}"
UNLABELLED_TYPES = {"hidden", "submit", "button"}


class Page:
    """An HTML answer that has passed the standard: valid, one h1, titled by it, labelled, linked."""

    def __init__(self, response: TestResponse) -> None:
        self.response = response
        self.status = response.status_code
        self.html = response.get_data(as_text=True)
        parser = html5lib.HTMLParser(strict=True)
        self.tree: Element = parser.parse(self.html)
        self._hold_to_the_standard()

    def all(self, tag: str) -> list[Element]:
        """Every element of a tag, in document order."""
        return list(self.tree.iter(HTML + tag))

    @staticmethod
    def words(element: Element) -> str:
        """The text of an element and all in it, with white space folded."""
        return " ".join("".join(element.itertext()).split())

    @property
    def h1(self) -> str:
        return self.words(self.all("h1")[0])

    @property
    def title(self) -> str:
        return self.words(self.all("title")[0])

    @property
    def text(self) -> str:
        """All that can be read in the main part."""
        return self.words(self.all("main")[0])

    @property
    def links(self) -> list[str]:
        return [element.get("href") or "" for element in self.all("a")]

    @property
    def errors(self) -> list[str]:
        """The lines of the error summary."""
        for element in self.tree.iter():
            if element.get("data-error-summary") is not None:
                return [self.words(link) for link in element.iter(HTML + "a")]
        return []

    def form(self, part_of_action: str = "") -> dict[str, Any]:
        """The fields of a form as a browser would send them unchanged."""
        for form in self.all("form"):
            if part_of_action in (form.get("action") or ""):
                return _fields(form)
        raise AssertionError(f"no form for {part_of_action!r} on this page")

    def _hold_to_the_standard(self) -> None:
        assert len(self.all("h1")) == 1, "a page has one h1"
        assert len(self.all("main")) == 1
        expected = self.h1 if not self.errors else f"Error: {self.h1}"
        assert self.title.startswith(expected), f"title {self.title!r} does not start with {expected!r}"
        ids = [element.get("id") for element in self.tree.iter() if element.get("id")]
        twice = [name for name, count in Counter(ids).items() if count > 1]
        assert not twice, f"ids used twice: {twice}"
        known = set(ids)
        for link in self.links:
            if link.startswith("#") and len(link) > 1:
                assert link[1:] in known, f"{link} leads nowhere"
        labelled = {element.get("for") for element in self.all("label")}
        for tag in ("input", "select", "textarea"):
            for element in self.all(tag):
                for described in (element.get("aria-describedby") or "").split():
                    assert described in known, f"aria-describedby {described} does not exist"
                assert element.get("style") is None
                if element.get("type") not in UNLABELLED_TYPES:
                    named = (
                        element.get("id") in labelled
                        or element.get("aria-label")
                        or element.get("aria-labelledby")
                    )
                    assert named, f"no label for {element.get('name')}"
        for tag in ("table", "thead", "tbody", "tfoot", "tr", "th", "td"):
            # ARIA in HTML: a table in HTML is one already, and its parts may not be given roles.
            assert not [element for element in self.all(tag) if element.get("role")], f"a role on {tag}"
        for form in self.all("form"):
            if (form.get("method") or "get").lower() == "post":
                assert "csrf_token" in _fields(form), "a posted form carries a token"


def _fields(form: Element) -> dict[str, Any]:
    fields: dict[str, Any] = {}

    def add(name: str | None, value: str) -> None:
        if name:
            fields[name] = [*fields[name], value] if isinstance(fields.get(name), list) else value

    def add_hidden(name: str | None, value: str) -> None:
        # One after the other, where a page keeps several under one name.
        if name and isinstance(fields.get(name), str):
            fields[name] = [fields[name]]
        add(name, value)

    for element in form.iter():
        name, kind = element.get("name"), element.get("type")
        if element.tag == HTML + "input" and kind in {"radio", "checkbox"}:
            if element.get("checked") is not None and name:
                value = element.get("value", "on")
                if kind == "checkbox":
                    fields.setdefault(name, []).append(value)
                else:
                    fields[name] = value
        elif element.tag == HTML + "input" and kind == "hidden":
            add_hidden(name, element.get("value", ""))
        elif element.tag == HTML + "input" and kind not in {"submit", "button", "file"}:
            add(name, element.get("value", ""))
        elif element.tag == HTML + "textarea":
            add(name, "".join(element.itertext()))
        elif element.tag == HTML + "select" and name:
            options = list(element.iter(HTML + "option"))
            chosen = [option for option in options if option.get("selected") is not None] or options[:1]
            for option in chosen:
                add(name, option.get("value", "".join(option.itertext())))
    return fields


class Visitor:
    """A browser: opens pages, fills in their forms and sends them, follows redirects, keeps cookies."""

    def __init__(self, app: Flask) -> None:
        self.app = app
        self.client = app.test_client()

    def as_(self, actor: Actor) -> Visitor:
        """The same application in a browser of this person's, signed in."""
        visitor = Visitor(self.app)
        with self.app.extensions["portal"].database.write.begin() as session:
            person = make.find_people.one(session, actor.person_id)
            login = make.login(session, person)
        with visitor.client.session_transaction() as cookie:
            cookie["_user_id"] = login
            cookie["_fresh"] = True
        return visitor

    def raw(self, method: str, path: str, **given: Any) -> TestResponse:
        """The answer as it comes, without following it."""
        return self.client.open(path, method=method, **given)

    def get(self, path: str, status: int = 200) -> Page:
        """Open a page, following redirects."""
        page = Page(self.client.get(path, follow_redirects=True))
        assert page.status == status, f"{path}: {page.status}, not {status}: {page.text[:300]}"
        return page

    def post(self, path: str, given: dict[str, Any] | None = None, status: int = 200) -> Page:
        """Post values with a valid token, following redirects."""
        data = {**(given or {}), "csrf_token": self.token()}
        page = Page(self.client.post(path, data=data, follow_redirects=True))
        assert page.status == status, f"{path}: {page.status}, not {status}: {page.text[:300]}"
        return page

    def send(self, page: Page, action: str = "", status: int = 200, **given: Any) -> Page:
        """Send a form of a page with some fields changed; ``action`` is part of the form's address."""
        form = next(form for form in page.all("form") if action in (form.get("action") or ""))
        path = form.get("action") or page.response.request.path
        fields = {**page.form(action), **given}
        sent = Page(
            self.client.post(
                path, data={k: v for k, v in fields.items() if v is not None}, follow_redirects=True
            )
        )
        assert sent.status == status, f"{path}: {sent.status}, not {status}: {sent.errors or sent.text[:300]}"
        return sent

    def token(self) -> str:
        """A token for this browser's session."""
        page = self.client.get("/sign-in")
        if page.status_code != 200:
            page = self.client.get("/account")
        html = page.get_data(as_text=True)
        return html.split('name="csrf_token"', 1)[1].split('value="', 1)[1].split('"', 1)[0]
