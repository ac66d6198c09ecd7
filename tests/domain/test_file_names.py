"""Names of files, held against Microsoft's "Naming Files, Paths, and Namespaces", whose rules are the strictest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.file_names import readable


@pytest.mark.parametrize(
    ("parts", "name"),
    [
        (("Åse", "Fennmark Lom 187 cm", "K7P2XA"), "Åse-Fennmark-Lom-187-cm-K7P2XA"),
        (("", "Fennmark"), "Fennmark"),
        (("../../etc/passwd",), "etc-passwd"),
        (("C:\\x", 'a"b<c>|d?e*'), "C-x-a-b-c-d-e"),
        (("con",), "_con"),
        (("COM1.txt",), "_COM1.txt"),
        (("console",), "console"),
        (("name. ", "\x00\u202e"), "name"),
        (("A\u030ase",), "Åse"),
        (("", "..."), "file"),
    ],
)
def test_a_name_is_readable_and_safe(parts: tuple[str, ...], name: str) -> None:
    assert readable(*parts) == name


@given(st.lists(st.text(max_size=120), max_size=4))
def test_no_name_holds_what_any_system_refuses(parts: list[str]) -> None:
    name = readable(*parts)
    assert 0 < len(name) <= 101
    assert not set(name) & set('<>:"/\\|?*')
    assert all(ord(one) > 31 for one in name)
    assert name == name.rstrip(" .")
    name.encode()
