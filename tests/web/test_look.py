"""The look keeps its promises: contrast in light and dark, and markup that the content policy lets through."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import portal

WEB = Path(portal.__file__).parent / "web"
CSS = (WEB / "static" / "site.css").read_text(encoding="utf-8")
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
TEXT, SHAPE = 4.5, 3.0  # WCAG 2.2, success criteria 1.4.3 and 1.4.11
PAIRS = [
    ("ink", "ground", TEXT),
    ("ink", "sheet", TEXT),
    ("ink", "tint", TEXT),
    ("ink-2", "ground", TEXT),
    ("ink-2", "sheet", TEXT),
    ("ink-2", "tint", TEXT),
    ("action", "ground", TEXT),
    ("action", "tint", TEXT),
    ("action-over", "tint", TEXT),
    ("on-action", "action", TEXT),
    ("on-action", "action-over", TEXT),
    ("rowan", "ground", TEXT),
    ("rowan", "tint", TEXT),
    ("ground", "rowan", TEXT),
    ("ground", "ink", TEXT),
    ("edge", "ground", SHAPE),
    ("edge", "sheet", SHAPE),
    ("edge", "tint", SHAPE),
]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it, from ``#rrggbb``."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio of WCAG 2.2, from 1 to 21."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def colours() -> dict[str, tuple[str, str]]:
    """Each colour token with its light and its dark value."""
    found = re.findall(r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)", CSS)
    return {name: (light, dark) for name, light, dark in found}


def without_jinja(path: Path) -> str:
    return re.sub(r"\{[{%#].*?[}%#]\}", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)


def test_contrast_is_computed_as_the_guidelines_do() -> None:
    # Black on white is the definition's maximum; #767676 is the lightest grey that WCAG passes on white.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= TEXT > contrast("#777777", "#ffffff")


@pytest.mark.parametrize(("scheme", "at"), [("light", 0), ("dark", 1)])
@pytest.mark.parametrize(("front", "back", "least"), PAIRS)
def test_colours_that_meet_can_be_told_apart(
    front: str, back: str, least: float, scheme: str, at: int
) -> None:
    ratio = contrast(colours()[front][at], colours()[back][at])
    assert ratio >= least, f"{front} on {back}, {scheme}: {ratio:.2f}"


def test_a_browser_that_knows_no_schemes_gets_the_light_one() -> None:
    for name, (light, _dark) in colours().items():
        assert f"--{name}: {light};" in CSS, name


def test_every_token_that_is_used_is_set() -> None:
    used = set(re.findall(r"var\(--([\w-]+)\)", CSS))
    assert used <= set(re.findall(r"--([\w-]+):", CSS))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_holds_what_the_content_policy_blocks(path: Path) -> None:
    html = without_jinja(path)
    assert not re.search(r"<[^>]*\sstyle\s*=", html), "a style attribute"
    assert not re.search(r"<[^>]*\son[a-z]+\s*=", html), "a handler in an attribute"
    assert not re.search(r"<script(?![^>]*\ssrc=)", html), "a script in the page"
    assert not re.search(r"(src|href)=[\"']https?:", html), "something from another site"


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_field_is_left_to_the_browser_to_explain(path: Path) -> None:
    html = without_jinja(path)
    assert not re.search(r"<[^>]*\splaceholder\s*=", html)
    assert not re.search(r"<(input|select|textarea)[^>]*\srequired\b", html)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_a_form_with_fields_is_checked_by_us_alone(path: Path) -> None:
    source = path.read_text(encoding="utf-8")
    for opening, inside in re.findall(r"(<form\b[^>]*>)(.*?)</form>", source, flags=re.DOTALL):
        if re.search(r"\{\{-? *(text|date|textarea|select|file)\(", inside):
            assert " novalidate" in opening, opening
