"""Writes a new migration from the difference between the models and a database at head: ``python -m migrations.write "…"``."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from alembic import command

from portal.cli.upgrade import alembic_config

if __name__ == "__main__":
    message = sys.argv[1] if len(sys.argv) > 1 else ""
    if not message:
        raise SystemExit('Say what changes: make migration m="add a column"')
    with tempfile.TemporaryDirectory() as folder:
        config = alembic_config(f"sqlite:///{Path(folder) / 'head.db'}")
        command.upgrade(config, "head")
        # Steps are numbered, so that their files stand in order.
        number = len(list((Path(__file__).parent / "versions").glob("*.py"))) + 1
        command.revision(config, message, autogenerate=True, rev_id=f"{number:04d}")
