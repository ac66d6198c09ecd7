"""A real server, a real Chromium, a real SMTP server, and axe."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from waitress.server import create_server

from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from tests import make
from tests.cast import Cast

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
AXE = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    # All that was right need not be told node by node, which takes longer than to look.
    "resultTypes": ["violations"],
}
CONTRAST = {"runOnly": {"type": "rule", "values": ["color-contrast"]}, "resultTypes": ["violations"]}
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}


# What these are about happens in the browser alone; what the portal answers them is tested on both databases elsewhere.
IN_THE_BROWSER = {"test_camera.py", "test_crate.py", "test_editor.py", "test_import.py", "test_scan.py"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in list(items):
        if "tests/browser" not in item.path.as_posix():
            continue
        item.add_marker("browser")
        if item.path.name in IN_THE_BROWSER and "postgresql" in item.name:
            items.remove(item)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The machine's Chromium; a missing one is a failure, never a skip."""
    path = next(filter(None, map(shutil.which, CHROMIUM)), None)
    assert path, "There is no Chromium on this machine: run .ci/needs."
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def cast(database: Database) -> Cast:
    """The people, with six weeks of open days from now on: the browser and the commands have the real clock."""
    return Cast.hire(database, datetime.now(UTC))


@pytest.fixture
def site(database_url: str, cast: Cast) -> Iterator[str]:
    """The application behind its real server, on a free port; gives its address."""
    settings = Settings(
        database_url=database_url,
        secret_keys=("a secret for tests that is long enough",),
        base_url="http://127.0.0.1",
        mail_from="desk@hollowmere.test",
        demo=True,
        cheap_passwords=True,
    )
    app = create_app(settings)
    server = create_server(app, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    # In its own thread: another one would take the sockets away while it waits on them.
    server.trigger.pull_trigger(server.close)
    thread.join(5)
    app.extensions["portal"].database.close()


class Person:
    """Somebody at a browser: walks by what can be read on the page, and is stopped by any script or policy error."""

    def __init__(self, context: BrowserContext, site: str, axe: bool) -> None:
        self.context, self.site, self.axe = context, site, axe
        self.page: Page = context.new_page()
        self.page.set_default_timeout(15_000)
        self.complaints: list[str] = []
        self.page.on("console", lambda message: self._hear(message.type, message.text))
        self.page.on("pageerror", lambda error: self._hear("error", str(error)))
        self.page.on("request", lambda request: self._watch(request.url))

    def _hear(self, kind: str, text: str) -> None:
        # The browser itself notes every answer of 400 and above on the console; pages that refuse are part of journeys.
        if kind in {"error", "warning"} and "Failed to load resource" not in text:
            self.complaints.append(f"{kind}: {text}")

    def _watch(self, url: str) -> None:
        if not url.startswith((self.site, "data:", "blob:")):
            self.complaints.append(f"left the site: {url}")

    def go(self, path: str) -> Page:
        """Open a page of the site and check it."""
        self.page.goto(self.site + path)
        self.look()
        return self.page

    def press(self, name: str) -> None:
        """Press the button of that name, and check the page it leads to."""
        self.page.get_by_role("button", name=name, exact=True).first.click()
        self.look()

    def follow(self, name: str) -> None:
        """Follow the link of that name, and check the page it leads to."""
        self.page.get_by_role("link", name=name, exact=True).first.click()
        self.look()

    def post(self) -> None:
        """Press the one button that sends this page's main form, whatever it is called."""
        self.page.locator("main form button[type=submit]").first.click()
        self.look()

    def fill(self, **fields: str) -> None:
        """Fill in fields by their labels: ``fill(**{"E-mail address": "…"})``."""
        for label, value in fields.items():
            self.page.get_by_label(label, exact=True).fill(value)

    def look(self, rules: dict[str, Any] = AXE) -> None:
        """Hold the page to the standard: no axe violation, no sideways scrolling, no complaint on the console."""
        self.page.wait_for_load_state("load")
        if self.axe:
            found = Axe().run(self.page, options=rules)
            assert found.violations_count == 0, f"{self.page.url}\n{found.generate_report()}"
        self.insist_on_width()
        assert not self.complaints, f"{self.page.url}: {self.complaints}"

    def insist_on_width(self) -> None:
        """No sideways scrolling."""
        wider = self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert wider <= 0, f"{self.page.url} scrolls sideways by {wider} px"

    @property
    def heading(self) -> str:
        return self.page.locator("h1").inner_text()

    @property
    def words(self) -> str:
        return self.page.locator("main").inner_text()


@pytest.fixture
def browse(chromium: Browser, site: str, database: Database) -> Iterator[Callable[..., Person]]:
    """Opens a browser: ``browse()`` for a stranger, ``browse(cast.alice)`` signed in; phone or desk, light or dark, scripts or none."""
    opened: list[BrowserContext] = []

    def new(
        who: Any = None, *, scripts: bool = True, viewport: dict[str, int] = DESK, dark: bool = False
    ) -> Person:
        context = chromium.new_context(
            java_script_enabled=scripts,
            viewport=viewport,  # type: ignore[arg-type]
            color_scheme="dark" if dark else "light",
            locale="en-GB",
            reduced_motion="reduce",
        )
        opened.append(context)
        if who is not None:
            with database.write.begin() as session:
                someone = make.find_people.one(session, who.person_id)
                # Lately, so that nobody is asked who they are before a page that is looked at.
                login = make.login(session, someone, datetime.now(UTC))
            context.add_cookies([{"name": "rillbook", "value": cookie_for(login), "url": site}])
        # Axe is a script itself, and the pages are the same on both databases: it looks at each of them once.
        return Person(context, site, axe=scripts and database.engine.dialect.name == "sqlite")

    yield new
    for context in opened:
        context.close()


@pytest.fixture
def scripts(database: Database) -> bool:
    """With scripts on one database and without on the other: the pages are the same on both, and each way is walked once."""
    return database.engine.dialect.name == "sqlite"


def cookie_for(login: str) -> str:
    """The signed cookie that the application would set for this sign-in."""
    from flask import Flask
    from flask.sessions import SecureCookieSessionInterface

    app = Flask("cookie")
    app.secret_key = "a secret for tests that is long enough"
    serializer = SecureCookieSessionInterface().get_signing_serializer(app)
    assert serializer is not None
    return str(serializer.dumps({"_user_id": login, "_fresh": True}))


@contextmanager
def saved(person: Person, link: str) -> Iterator[Any]:
    """The file that following a link downloads."""
    with person.page.expect_download() as download:
        person.page.get_by_role("link", name=link).first.click()
    yield download.value.path()


__all__ = ["DESK", "PHONE", "Person", "saved"]
