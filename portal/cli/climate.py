"""``rillbook climate``: from a year of hourly weather to a venue's winter days, as JSON."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import NoReturn

import click

from portal.domain.climate import read_climate
from portal.domain.hourly import LARGEST_BYTES, BadFile
from portal.reference import default_folder, load


@click.command("climate")
@click.argument("file", metavar="FILE")
def climate(file: str) -> None:
    """Print the winter days of the venue whose hourly weather is in FILE.

    FILE is a year in EPW or a table (CSV) of time, air temperature and relative humidity, or - for standard input. Rows
    that cannot be used are counted in the output with their first lines. A file that cannot be used is named on standard
    error with the line and the reason, and the exit status is 2.
    """
    reference = load(default_folder())
    try:
        found = read_climate(_read(file))
    except BadFile as fault:
        where = file if fault.line is None else f"{file}: line {fault.line}"
        _refuse(f"{where}: {fault.reason}")
    answer = found.humidity(reference.tables.wetness.humidity_pct)
    click.echo(json.dumps({**found.to_json(), "humidity": answer.value}, indent=2, ensure_ascii=False))


def _read(file: str) -> bytes:
    """No more than is needed to see that the file is too large."""
    try:
        if file == "-":
            return sys.stdin.buffer.read(LARGEST_BYTES + 1)
        with Path(file).open("rb") as opened:
            return opened.read(LARGEST_BYTES + 1)
    except OSError as fault:
        _refuse(f"{file}: cannot be read: {fault.strerror}")


def _refuse(fault: str) -> NoReturn:
    click.echo(fault, err=True)
    sys.exit(2)
