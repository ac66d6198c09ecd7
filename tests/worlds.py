"""The demo world, which takes long to make: one of the processes of a run makes it, for all of them."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from filelock import FileLock

from demo_seed.world import fill
from portal.db.engine import Database
from portal.reference import default_folder, load
from tests.databases import SqliteMaker

ROOT = Path(__file__).parents[1]
HASH = "not a hash"


@dataclass(frozen=True)
class Worlds:
    """Files with the demo world in a folder that all processes of a run share. Nobody writes to them: copy one first."""

    folder: Path

    def on(self, day: date, template: Path) -> Path:
        """The world on the morning of a day, made in a copy of a migrated database without a row."""

        return self._once(f"{day}.db", template, lambda path: seed(SqliteMaker.url(path), day))

    def of_the_command(self, template: Path) -> Path:
        """What ``python -m demo_seed`` makes today, with what it told beside it."""

        def make(path: Path) -> None:
            told_in(path).write_text(command(SqliteMaker.url(path)))

        return self._once("command.db", template, make)

    def _once(self, name: str, template: Path, make: Callable[[Path], None]) -> Path:
        path = self.folder / name
        with FileLock(path.with_suffix(".lock")):
            if not path.exists():
                half = path.with_suffix(".half")
                shutil.copyfile(template, half)
                make(half)
                if told_in(half).exists():
                    told_in(half).rename(told_in(path))
                half.rename(path)
        return path


def told_in(path: Path) -> Path:
    """Where the words of the command stand that made a world."""
    return path.with_suffix(path.suffix + ".txt")


def seed(url: str, day: date) -> None:
    """Make the world of a day in a migrated database without a row.

    In a process of its own, where no coverage is measured: with it a world takes twice as long, and tests of their own
    measure what it is made with.
    """
    subprocess.run([sys.executable, "-m", "tests.worlds", url, day.isoformat()], cwd=ROOT, check=True)


def command(url: str) -> str:
    """Run ``python -m demo_seed``, as `make demo` does; what it tells."""
    settings = {
        "RILLBOOK_DATABASE_URL": url,
        "RILLBOOK_SECRET_KEY": "a secret for tests that is long enough",
        "RILLBOOK_BASE_URL": "http://127.0.0.1:8460",
        "RILLBOOK_MAIL_FROM": "desk@hollowmere.example",
        "RILLBOOK_DEMO": "yes",
    }
    done = subprocess.run(
        [sys.executable, "-m", "demo_seed"],
        cwd=ROOT,
        env=settings,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def main(url: str, day: str) -> None:
    """What ``seed`` runs."""
    database = Database.open(url)
    with database.write.begin() as session:
        fill(session, load(default_folder()), HASH, date.fromisoformat(day))
    database.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
