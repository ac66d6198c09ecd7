"""``rillbook texture``: from the layers of a structure to the numbers of its surface, as JSON, and to its picture."""

from __future__ import annotations

import json

import click

from portal.cli.reading import read_json, refuse
from portal.domain.checked import BadValue, number, table
from portal.domain.layers import DEFAULT_PATCH_MM, PATCH_MM, Layer, layers_from_json
from portal.domain.texture import texture as texture_of
from portal.domain.texture import texture_json


@click.command("texture")
@click.argument("file", metavar="FILE")
def texture(file: str) -> None:
    """Print the texture numbers of the structure in FILE: areal, profile, void, plateau, base cost, dressing.

    FILE is a JSON document with the layers in the order they are cut, or - for standard input. The numbers are computed
    from nominal geometry, not measured. What cannot be is named on standard error, with exit status 2.
    """
    try:
        layers, patch_mm = _read(read_json(file))
    except BadValue as fault:
        refuse(f"{file}: {fault}")
    click.echo(json.dumps(texture_json(texture_of(layers, patch_mm)), indent=2, allow_nan=False))


def _read(data: object) -> tuple[tuple[Layer, ...], float]:
    given = table(data, (), ("layers",), ("patch_mm",))
    return (
        layers_from_json(given["layers"], ("layers",)),
        number(given.get("patch_mm", DEFAULT_PATCH_MM), ("patch_mm",), *PATCH_MM),
    )
