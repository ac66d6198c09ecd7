"""``rillbook plan``: days, grinders, layers and orders in, a stone plan out, as JSON."""

from __future__ import annotations

import json
import time
from random import Random

import click

from portal.cli.reading import read_json, refuse
from portal.domain.checked import BadValue
from portal.domain.planning.problem import asked_from_json


@click.command("plan")
@click.argument("file", metavar="FILE")
def plan(file: str) -> None:
    """Print a stone plan for the days, grinders, layers and orders in FILE.

    FILE is a JSON document, or - for standard input. Weighted pair-days late come first, then dressing minutes. "bound" is what
    no plan can be below, and "proved" says that none is better than this one. What cannot be is named on standard error, with
    exit status 2, and then nothing is printed.
    """
    try:
        asked = asked_from_json(read_json(file))
        # The solver takes a second to load, which a refusal need not wait for.
        from portal.domain.planning.plan import plan as plan_of

        made = plan_of(asked.problem, asked.seconds, Random(asked.seed), time.monotonic)  # noqa: S311 - no secret
    except BadValue as fault:
        refuse(f"{file}: {fault}")
    click.echo(json.dumps(made.to_json(), indent=2))
