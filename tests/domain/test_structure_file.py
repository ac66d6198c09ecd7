"""A structure as a file: what is written is read back, and whatever cannot be is named by its place."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from portal.domain.checked import BadValue, dotted
from portal.domain.layers import Form, Layer, Profile
from portal.domain.structure_file import MOST_BYTES, read, written
from portal.domain.structures import Structure
from portal.reference import default_folder, load

STARTERS = load(default_folder()).catalogue.structures


def without_marks(structure: Structure) -> Structure:
    return replace(structure, layers=tuple(replace(layer, diamond="") for layer in structure.layers))


@pytest.mark.parametrize("structure", STARTERS, ids=lambda one: one.key)
def test_what_is_written_is_read_back_without_the_marks_of_the_diamonds(structure: Structure) -> None:
    assert read(written(structure).encode()) == without_marks(structure)
    assert all(layer.diamond not in written(structure) for layer in structure.layers)


def test_grooves_given_directly_and_a_structure_without_layers_are_read_back() -> None:
    grooves = Layer(Profile(Form.ARC, 0.7, 0.3, 12.5, angle_deg=-3.25), lift_um=1.5)
    for layers in ((grooves,), ()):
        one = replace(STARTERS[0], layers=layers, name="Sæl – «reed»", summary="Two\nlines")
        assert read(written(one).encode()) == one


def test_a_byte_order_mark_does_not_matter() -> None:
    assert read(b"\xef\xbb\xbf" + written(STARTERS[0]).encode()) == without_marks(STARTERS[0])


def test_the_file_says_what_it_is() -> None:
    data = json.loads(written(STARTERS[0]))
    assert list(data) == ["rillbook", "version", "structure"]
    assert (data["rillbook"], data["version"]) == ("structure", 1)


def changed(change: Callable[[dict[str, Any]], object]) -> bytes:
    data = json.loads(written(STARTERS[3]))
    change(data)
    return json.dumps(data).encode()


@pytest.mark.parametrize(
    ("content", "place", "said"),
    [
        (b"", "(whole)", "not JSON"),
        (b"{", "(whole)", "not JSON"),
        (b"[" * 100_000, "(whole)", "not JSON"),
        (b'{"version": NaN}', "(whole)", "not JSON"),
        (b"\xff\xfe{", "(whole)", "UTF-8"),
        (b"[]", "(whole)", "an object is needed"),
        (b"{}", "(whole)", "no structure of Rillbook"),
        (b" " * (MOST_BYTES + 1), "(whole)", "too large"),
        (b'{"rillbook": "structure", "rillbook": "structure"}', "rillbook", "stands once"),
        (changed(lambda it: it.update(version=2)), "version", "cannot be read here"),
        (changed(lambda it: it.update(version=True)), "version", "cannot be read here"),
        (changed(lambda it: it.pop("version")), "version", "cannot be read here"),
        (changed(lambda it: it.update(colour="green")), "colour", "unknown key"),
        (changed(lambda it: it.pop("structure")), "(whole)", "structure is missing"),
        (changed(lambda it: it["structure"].update(made_by="Mia")), "structure.made_by", "unknown key"),
        (changed(lambda it: it["structure"].pop("range")), "structure", "range is missing"),
        (
            changed(lambda it: it["structure"]["layers"][1].update(diamond="Wren")),
            "structure.layers[1].diamond",
            "unknown key",
        ),
        (
            changed(lambda it: it["structure"]["layers"][0]["dressing"].update(lead_mm="wide")),
            "structure.layers[0].dressing.lead_mm",
            "a number is needed",
        ),
        (
            changed(lambda it: it["structure"]["range"].update(air_low_c=20)),
            "structure.range.air_low_c",
            "ends before it begins",
        ),
        (
            changed(lambda it: it["structure"].update(minutes=10**400)),
            "structure.minutes",
            "a number is needed",
        ),
    ],
)
def test_what_cannot_be_is_named_by_its_place(content: bytes, place: str, said: str) -> None:
    with pytest.raises(BadValue) as caught:
        read(content)
    assert dotted(caught.value.place) == place
    assert said in caught.value.reason
