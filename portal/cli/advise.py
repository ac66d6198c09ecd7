"""``rillbook advise``: from answers to the snow questions to the structure families that fit, as JSON."""

from __future__ import annotations

import json

import click

from portal.cli.reading import read_json, refuse
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
        answers = parse_answers(read_json(file))
    except BadAnswers as fault:
        refuse(*(f"{file}: {key}: {reason}" for key, reason in fault.problems))
    click.echo(
        json.dumps(
            advice_json(advise_on(answers, reference.catalogue, reference.tables)),
            indent=2,
            ensure_ascii=False,
        )
    )
