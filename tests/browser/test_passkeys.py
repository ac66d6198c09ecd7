"""A passkey in a real browser: Chromium's own authenticator without a device, over its DevTools protocol."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, Page, expect
from waitress.server import create_server

from portal import create_app
from portal.db.engine import Database
from portal.db.people import Person
from portal.services.passwords import passwords
from tests.browser.conftest import cookie_for
from tests.cast import Cast
from tests.conftest import settings_for
from tests.make import find_people, login

GOOD = "seven pines in fog"


@pytest.fixture
def named_site(database_url: str, cast: Cast) -> Iterator[str]:
    """The application under a name, since a passkey is bound to one; the port is known only once the server is there."""
    app = create_app(settings_for(database_url))
    server = create_server(app, host="localhost", port=0, threads=4)
    address = f"http://localhost:{server.effective_port}"
    object.__setattr__(app.extensions["portal"].settings, "base_url", address)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield address
    server.close()
    thread.join(5)
    app.extensions["portal"].database.close()


def device(page: Page) -> None:
    """A telephone that has just seen the right finger."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    session.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_passkey_is_made_and_signs_in(
    chromium: Browser, named_site: str, database: Database, cast: Cast
) -> None:
    with database.write.begin() as session:
        tina: Person = find_people.one(session, cast.tina.person_id)
        tina.password_hash = passwords(cheap=True).hash(GOOD)
        cookie = cookie_for(login(session, tina, datetime.now(UTC)))
    context = chromium.new_context()
    context.add_cookies([{"name": "rillbook", "value": cookie, "url": named_site}])
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    device(page)
    page.goto(f"{named_site}/account/how-you-sign-in")
    page.get_by_role("link", name="Add a passkey").click()
    expect(page.get_by_text("This needs a browser that knows passkeys")).to_be_hidden()
    expect(page.locator("#passkey-told")).to_be_hidden()
    page.get_by_label("What to call this passkey").fill("Bench tablet")
    page.get_by_role("button", name="Ask the device").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Your recovery codes")
    page.goto(f"{named_site}/account/how-you-sign-in")
    expect(page.get_by_role("rowheader", name="Bench tablet")).to_be_visible()

    page.goto(f"{named_site}/account")
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.get_by_label("E-mail address").fill("tina@example.test")
    page.get_by_label("Password").fill(GOOD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The second step")
    page.get_by_role("button", name="Use a passkey").click()
    page.wait_for_url("**/shop/requests")
    assert not complaints
    context.close()


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_device_without_one_is_told_and_the_code_still_works(
    chromium: Browser, named_site: str, database: Database, cast: Cast
) -> None:
    with database.write.begin() as session:
        tina = find_people.one(session, cast.tina.person_id)
        cookie = cookie_for(login(session, tina, datetime.now(UTC)))
    context = chromium.new_context()
    context.add_cookies([{"name": "rillbook", "value": cookie, "url": named_site}])
    page = context.new_page()
    page.goto(f"{named_site}/account/passkeys/add")
    # The session is ended elsewhere meanwhile: there is no question to ask any more.
    context.clear_cookies()
    page.get_by_label("What to call this passkey").fill("Bench tablet")
    page.get_by_role("button", name="Ask the device").click()
    expect(page.get_by_role("alert")).to_have_text("The device made no passkey. Try again.")
    expect(page.get_by_role("button", name="Ask the device")).to_be_enabled()
    context.close()


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_without_scripts_nothing_is_offered_that_does_not_work(
    chromium: Browser, named_site: str, database: Database, cast: Cast
) -> None:
    with database.write.begin() as session:
        tina = find_people.one(session, cast.tina.person_id)
        cookie = cookie_for(login(session, tina, datetime.now(UTC)))
    context = chromium.new_context(java_script_enabled=False)
    context.add_cookies([{"name": "rillbook", "value": cookie, "url": named_site}])
    page = context.new_page()
    page.goto(f"{named_site}/account/passkeys/add")
    expect(page.locator("[data-passkey]")).to_be_hidden()
    expect(page.locator("#passkey-told")).to_be_hidden()
    expect(page.get_by_text("This needs a browser that knows passkeys")).to_be_visible()
    context.close()
