"""``rillbook texture``: from the layers of a structure to the numbers of its surface, as JSON, and to its picture."""

from __future__ import annotations

import json
import os
from pathlib import Path

import click

from portal.cli.reading import read_json, refuse
from portal.domain.checked import BadValue, number, table
from portal.domain.layers import DEFAULT_PATCH_MM, PATCH_MM, Layer, layers_from_json
from portal.domain.texture import texture as texture_of
from portal.domain.texture import texture_json
from portal.domain.words import N_
from portal.i18n import voice

# Named here as well as where they are drawn, so that a command without a picture need not load what draws it.
PICTURES = (".svg", ".pdf", ".png")


@click.command("texture")
@click.argument("file", metavar="FILE")
@click.option("--picture", metavar="PICTURE", help="Also draw it: a file to write, .svg, .pdf or .png.")
def texture(file: str, picture: str | None) -> None:
    """Print the texture numbers of the structure in FILE: areal, profile, void, plateau, base cost, dressing.

    FILE is a JSON document with the layers in the order they are cut, or - for standard input. The numbers are computed
    from nominal geometry, not measured. What cannot be is named on standard error, with exit status 2, and then nothing
    is printed or written.
    """
    target = _target(picture) if picture is not None else None
    try:
        layers, patch_mm = _read(read_json(file))
    except BadValue as fault:
        refuse(f"{file}: {fault}")
    printed = json.dumps(texture_json(texture_of(layers, patch_mm)), indent=2, allow_nan=False)
    if target is not None:
        _write(target, _drawn(layers, target.suffix.lower()))
    click.echo(printed)


def _read(data: object) -> tuple[tuple[Layer, ...], float]:
    given = table(data, (), ("layers",), ("patch_mm",))
    return (
        layers_from_json(given["layers"], ("layers",)),
        number(given.get("patch_mm", DEFAULT_PATCH_MM), ("patch_mm",), *PATCH_MM),
    )


def _target(picture: str) -> Path:
    """Where the picture goes, once it is clear that one can be written there."""
    target = Path(picture)
    if target.suffix.lower() not in PICTURES:
        refuse(f"--picture: {picture}: the name ends in none of {', '.join(PICTURES)}")
    try:
        if target.is_dir():
            refuse(f"--picture: {picture}: this is a folder")
        if not target.parent.is_dir():
            refuse(f"--picture: {picture}: there is no folder {target.parent}")
    except OSError as fault:
        refuse(f"--picture: {picture}: cannot be written: {fault.strerror}")
    if not os.access(target.parent, os.W_OK | os.X_OK):
        refuse(f"--picture: {picture}: the folder {target.parent} cannot be written")
    return target


def _drawn(layers: tuple[Layer, ...], suffix: str) -> bytes:
    from portal.pictures import sheet
    from portal.pictures.files import as_file

    said = voice()
    title = said.say(N_("Structure of a base"))
    return as_file(sheet.draw(layers, said), suffix, title, sheet.describe(layers, said))


def _write(target: Path, made: bytes) -> None:
    """All of it or nothing: a picture that was there before stays until the new one is whole."""
    part = target.with_name(f".{os.getpid()}.part")
    try:
        part.write_bytes(made)
        part.replace(target)
    except OSError as fault:
        part.unlink(missing_ok=True)
        refuse(f"--picture: {target}: cannot be written: {fault.strerror}")
