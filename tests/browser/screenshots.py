"""Pictures of every page of the demo world, phone and desk, light and dark: ``make pages``."""

from __future__ import annotations

import secrets
import shutil
import sys
import tempfile
import threading
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright
from waitress.server import create_server

from demo_seed.sign_ins import PASSWORD, SIGN_INS
from demo_seed.world import fill
from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from portal.reference import default_folder, load
from portal.services.passwords import passwords
from tests.browser.conftest import ARGUMENTS, CHROMIUM, DESK, PHONE
from tests.browser.test_every_page import look_ahead
from tests.browser.walk import kinds, walk
from tests.databases import migrate

LOOKS = [("phone", PHONE, "light"), ("phone", PHONE, "dark"), ("desk", DESK, "light"), ("desk", DESK, "dark")]


def main(folder: Path) -> None:
    """Seed a world, serve it, walk it as each of its people."""
    with tempfile.TemporaryDirectory() as scratch:
        url = f"sqlite:///{scratch}/pages.db"
        migrate(url)
        database = Database.open(url)
        with database.write.begin() as session:
            fill(
                session,
                load(default_folder()),
                passwords(cheap=True).hash(PASSWORD),
                datetime.now(UTC).date(),
            )
        look_ahead(database)
        database.close()
        settings = Settings(
            url, (secrets.token_urlsafe(40),), "http://127.0.0.1", "desk@hollowmere.example", demo=True
        )
        app = create_app(settings)
        server = create_server(app, host="127.0.0.1", port=0, threads=4)
        threading.Thread(target=server.run, daemon=True).start()
        site = f"http://127.0.0.1:{server.effective_port}"
        with sync_playwright() as playwright:
            path = next(filter(None, map(shutil.which, CHROMIUM)))
            browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
            for who, email in [("visitor", ""), *SIGN_INS.items()]:
                for device, viewport, scheme in LOOKS:
                    taken = take(
                        browser,
                        site,
                        folder / who / f"{device}-{scheme}",
                        email,
                        viewport,
                        scheme,
                        kinds(app),
                    )
                    print(f"{who}, {device}, {scheme}: {taken} pages")  # noqa: T201
            browser.close()
        server.close()


def take(browser: Browser, site: str, folder: Path, email: str, viewport, scheme, kind) -> int:  # type: ignore[no-untyped-def]
    """Walk as one person in one look."""
    folder.mkdir(parents=True, exist_ok=True)
    context = browser.new_context(
        viewport=viewport, color_scheme=scheme, locale="en-GB", reduced_motion="reduce"
    )
    page = context.new_page()
    if email:
        page.goto(site + "/sign-in")
        page.get_by_label("E-mail address").fill(email)
        page.get_by_label("Password", exact=True).fill(PASSWORD)
        page.get_by_role("button", name="Sign in", exact=True).click()
        page.wait_for_load_state()
    count = 0
    for name, _path in walk(page, site, page.url.removeprefix(site) if email else "/", kind):
        page.screenshot(path=folder / f"{name}.png", full_page=True)
        count += 1
    context.close()
    return count


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ".build/pages"))
