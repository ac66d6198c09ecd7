"""What the commands that read a JSON document share: reading it strictly, and ending with what is wrong with it."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import NoReturn

import click


def read_json(file: str) -> object:
    """The document in ``file``, or on standard input for ``-``; one that cannot be read ends the command."""
    try:
        return json.loads(_text(file), object_pairs_hook=_once)
    except (ValueError, RecursionError) as fault:
        refuse(f"{file}: not JSON: {fault}")


def refuse(*faults: str) -> NoReturn:
    """Name the faults on standard error, one a line, and end with status 2."""
    for fault in faults:
        click.echo(fault, err=True)
    sys.exit(2)


def _text(file: str) -> str:
    try:
        written = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        return written.decode("utf-8-sig")
    except OSError as fault:
        refuse(f"{file}: cannot be read: {fault.strerror}")
    except UnicodeDecodeError:
        refuse(f"{file}: not JSON: the text is not UTF-8")


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object whose keys stand once; the second of two would hide the first."""
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {key} stands twice")
        found[key] = value
    return found
