"""One structure as a file, to be carried from one workshop to another; what is a workshop's own, its diamonds, stays there."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from portal.domain.checked import BadValue, table
from portal.domain.structures import Structure

KIND, VERSION = "structure", 1
MOST_BYTES = 200_000


def written(structure: Structure) -> str:
    """The file: JSON text that ``read`` gives back as the same structure, without the marks of its diamonds."""
    bare = replace(structure, layers=tuple(replace(layer, diamond="") for layer in structure.layers))
    data = {"rillbook": KIND, "version": VERSION, "structure": bare.to_json()}
    return json.dumps(data, ensure_ascii=False, indent=2) + "\n"


def read(content: bytes) -> Structure:
    """The structure in a file; ``BadValue`` names the place and what is wrong there."""
    if len(content) > MOST_BYTES:
        raise BadValue((), "the file is too large for one structure")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadValue((), "the file is not text in UTF-8") from None
    try:
        data = json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except BadValue:
        raise
    except (ValueError, RecursionError):
        raise BadValue((), "the file is not JSON") from None
    given = table(data, ())
    if given.get("rillbook") != KIND:
        raise BadValue((), "the file holds no structure of Rillbook")
    if isinstance(given.get("version"), bool) or given.get("version") != VERSION:
        raise BadValue(("version",), "the file is of a version that cannot be read here")
    table(given, (), ("rillbook", "version", "structure"))
    structure = Structure.from_json(given["structure"], ("structure",))
    for step, layer in enumerate(structure.layers):
        if layer.diamond:
            raise BadValue(("structure", "layers", step, "diamond"), "unknown key")
    return structure


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise BadValue((key,), "a key stands once")
        found[key] = value
    return found


def _no_constant(_name: str) -> None:
    raise ValueError
