"""``rillbook advise``: from answers to the snow questions to the structure families that fit, as JSON."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import NoReturn

import click

from portal.domain.advice import advice_json
from portal.domain.advice import advise as advise_on
from portal.domain.answers import BadAnswers, parse_answers
from portal.reference import default_folder, load


@click.command("advise")
@click.argument("file", metavar="FILE")
def advise(file: str) -> None:
    """Print which structure families fit the answers in FILE, best first.

    FILE is a JSON document with the answers to the snow questions, or - for standard input. What cannot be read is
    named on standard error, one fault a line, with exit status 2.
    """
    reference = load(default_folder())
    try:
        answers = parse_answers(json.loads(_read(file), object_pairs_hook=_once))
    except BadAnswers as fault:
        _refuse(*(f"{file}: {key}: {reason}" for key, reason in fault.problems))
    except (ValueError, RecursionError) as fault:
        _refuse(f"{file}: not JSON: {fault}")
    click.echo(
        json.dumps(
            advice_json(advise_on(answers, reference.catalogue, reference.tables)),
            indent=2,
            ensure_ascii=False,
        )
    )


def _read(file: str) -> str:
    try:
        written = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
        return written.decode("utf-8-sig")
    except OSError as fault:
        _refuse(f"{file}: cannot be read: {fault.strerror}")
    except UnicodeDecodeError:
        _refuse(f"{file}: not JSON: the text is not UTF-8")


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object whose keys stand once; the second of two would hide the first."""
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"the key {key} stands twice")
        found[key] = value
    return found


def _refuse(*faults: str) -> NoReturn:
    for fault in faults:
        click.echo(fault, err=True)
    sys.exit(2)
