"""Many files as one archive that is sent while it is made, so that no more than one file stands in memory."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from io import RawIOBase


class _Passed(RawIOBase):
    """Takes what is written and gives it on; nobody can go back in it."""

    def __init__(self) -> None:
        self.waiting: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: bytes) -> int:  # type: ignore[override]
        self.waiting.append(bytes(data))
        return len(data)

    def taken(self) -> bytes:
        """What has been written since it was asked the last time."""
        data = b"".join(self.waiting)
        self.waiting.clear()
        return data


def zipped(files: Iterable[tuple[str, bytes]], moment: datetime) -> Iterator[bytes]:
    """A ZIP archive in pieces: each file is asked for when those before it are on their way. Their time is ``moment``.

    Names are kept in UTF-8; two of one name are told apart by a number.
    """
    out, names = _Passed(), set[str]()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files:
            entry = zipfile.ZipInfo(_told_apart(name, names), moment.timetuple()[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
            yield out.taken()
    yield out.taken()


def _told_apart(name: str, names: set[str]) -> str:
    stem, dot, ending = name.rpartition(".")
    number, free = 2, name
    while free.casefold() in names:
        free = f"{stem}-{number}{dot}{ending}"
        number += 1
    names.add(free.casefold())
    return free
