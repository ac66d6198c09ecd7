"""Fills the empty, migrated database of the settings: ``python -m demo_seed``."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from demo_seed.setting import TIMEZONE
from demo_seed.sign_ins import PASSWORD, SIGN_INS, SKIER
from demo_seed.world import fill, has_people
from portal.config import Settings
from portal.db.engine import Database
from portal.queries import people as find_people
from portal.reference import default_folder, load
from portal.services.passwords import passwords


def main() -> None:
    """Fill the database once, and say who can sign in."""
    settings = Settings.from_environment()
    reference = load(settings.shared_folder or default_folder())
    today = datetime.now(UTC).astimezone(ZoneInfo(TIMEZONE)).date()
    database = Database.open(settings.database_url)
    try:
        with database.write.begin() as session:
            if not has_people(session):
                fill(session, reference, passwords(settings.cheap_passwords).hash(PASSWORD), today)
            is_demo = find_people.by_email(session, SKIER) is not None
    finally:
        database.close()
    if not is_demo:
        say("There are people in this database already, so nothing was changed.")
        return
    say("The demo world is ready. These people can sign in:")
    for who, email in SIGN_INS.items():
        say(f"  {who:<17} {email}")
    say(f"Password of all four: {PASSWORD}")


def say(line: str) -> None:
    """One line for whoever ran the command."""
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main()
