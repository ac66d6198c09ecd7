"""Archives that are sent while they are made: opened by the standard library's reader and by Info-ZIP's rules for names."""

from __future__ import annotations

import tracemalloc
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from random import Random

from portal.documents.archives import zipped

MOMENT = datetime(2026, 11, 27, 10, 30, 2, tzinfo=UTC)


def test_what_goes_in_comes_out_in_order_under_its_name() -> None:
    files = [("Åse.pdf", b"one"), ("Bo.pdf", b"two" * 1000), ("bo.PDF", b"three")]
    data = b"".join(zipped(files, MOMENT))
    with zipfile.ZipFile(BytesIO(data)) as archive:
        assert archive.testzip() is None
        # Two names that a system without small and large letters takes for one are told apart.
        assert archive.namelist() == ["Åse.pdf", "Bo.pdf", "bo-2.PDF"]
        assert [archive.read(name) for name in archive.namelist()] == [content for _name, content in files]
        assert {entry.date_time for entry in archive.infolist()} == {(2026, 11, 27, 10, 30, 2)}
    assert b"".join(zipped(files, MOMENT)) == data


def test_an_archive_of_nothing_is_one() -> None:
    with zipfile.ZipFile(BytesIO(b"".join(zipped([], MOMENT)))) as archive:
        assert archive.namelist() == []


def test_no_more_than_a_file_or_two_stand_in_memory() -> None:
    asked = []

    def files() -> Iterator[tuple[str, bytes]]:
        random = Random(1)
        for number in range(40):
            asked.append(number)
            yield f"{number}.pdf", random.randbytes(1_000_000)

    tracemalloc.start()
    sent = 0
    for number, piece in enumerate(zipped(files(), MOMENT)):
        # Each piece is on its way before the next file is asked for.
        assert len(asked) <= number + 1
        sent += len(piece)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert sent > 40_000_000
    assert peak < 8_000_000
