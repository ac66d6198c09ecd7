"""The documents say what is true: every setting, command, make target and package is named in them."""

from __future__ import annotations

import re
from pathlib import Path

import click

from portal.cli import main
from portal.config import PREFIX

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_setting_stands_in_the_readme() -> None:
    source = (ROOT / "portal/config.py").read_text(encoding="utf-8")
    names = set(re.findall(r"""(?:text|number|flag|path)\("([A-Z_]+)\"""", source))
    assert len(names) > 8
    assert not [name for name in names if f"`{PREFIX}{name}`" not in README]


def commands(group: click.Group, before: str = "rillbook") -> list[str]:
    found = []
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        found += (
            commands(command, f"{before} {name}")
            if isinstance(command, click.Group)
            else [f"{before} {name}"]
        )
    return found


def test_every_command_stands_in_the_readme() -> None:
    assert len(commands(main)) >= 6
    assert not [command for command in commands(main) if f"`{command}`" not in README]


def test_every_make_target_stands_in_the_guide() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = [
        name for name in re.findall(r"^([a-z-]+):.*## ", makefile, re.M) if name not in {"help", "clean"}
    ]
    assert not [name for name in targets if f"`make {name}" not in DEVELOPERS]


def test_every_package_stands_in_the_guide() -> None:
    packages = [path.parent.name for path in (ROOT / "portal").glob("*/__init__.py")]
    assert len(packages) > 7
    assert not [name for name in packages if f"portal/{name}/" not in DEVELOPERS]


def test_the_guide_stays_short() -> None:
    assert len(DEVELOPERS.splitlines()) <= 300


def test_links_between_the_documents_land() -> None:
    for text in (README, DEVELOPERS):
        for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", text):
            assert (ROOT / target).exists(), target
