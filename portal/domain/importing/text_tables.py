"""Reading a list that is text: how its letters are written, what stands between its cells, and its rows (RFC 4180)."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator
from itertools import islice

from portal.domain.importing.sheets import BadTable, Sheet, sheet_of
from portal.domain.words import N_

# What programs call the ways to write letters -> what people know them by, those that are met most first.
ENCODINGS: dict[str, str] = {
    "utf-8": N_("UTF-8, as most programs write today"),
    "cp1252": N_("Windows, Western Europe (1252)"),
    "cp1250": N_("Windows, Central Europe (1250)"),
    "cp1257": N_("Windows, Baltic (1257)"),
    "cp1251": N_("Windows, Cyrillic (1251)"),
    "iso-8859-15": N_("Latin 9 (ISO 8859-15)"),
    "cp850": N_("DOS, Western Europe (850)"),
    "cp865": N_("DOS, Nordic (865)"),
    "mac-roman": N_("Older Macs, Western Europe"),
    "utf-16": N_("UTF-16, which some programs call Unicode"),
}
MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
BETWEEN: dict[str, str] = {",": N_("Commas"), ";": N_("Semicolons"), "\t": N_("Tabs")}
# Characters that steer machines; where they come up, letters were read wrongly or the file is no text.
NO_TEXT = re.compile("[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f-\x84\x86-\x9f]")
# Signs beyond ASCII that stand in lists; any other one hints that letters were read wrongly.
USUAL_SIGNS = "–—‘’“”„«»€°µ§·\u00a0"
# So many records tell what stands between cells.
LOOKED_AT = 60
TELLING = re.compile(r"[^\s,;\"]*[^\s,;\"\x00-\x7f][^\s,;\"]*")
SHOWN_WORDS, LONGEST_WORD = 6, 30


def encoding_of(data: bytes) -> str:
    """How the text is written: by its mark, else UTF-8 where it can be, else Windows' Western letters, else as it makes letters."""
    for mark, encoding in MARKS:
        if data.startswith(mark) and can_be(data, encoding):
            return encoding
    fitting = [one for one in ENCODINGS if can_be(data, one)]
    for encoding in fitting:
        if encoding in {"utf-8", "cp1252"} or _makes_letters(_decoded(data, encoding)):
            return encoding
    if fitting:
        return fitting[0]
    raise BadTable(
        N_("The file is not a list that can be read here. Save it as CSV or as a workbook (.xlsx).")
    )


def _makes_letters(text: str) -> bool:
    return all(one.isascii() or one.isalpha() or one in USUAL_SIGNS for one in text)


def can_be(data: bytes, encoding: str) -> bool:
    """Whether every byte of the file is a letter in this way of writing."""
    try:
        return not NO_TEXT.search(_decoded(data, encoding))
    except UnicodeDecodeError:
        return False


def text_of(data: bytes, encoding: str) -> str:
    """The text without its mark; ``BadTable`` where it is not written so."""
    if not can_be(data, encoding):
        raise BadTable(N_("The file is not written in this way. Choose another one."))
    return _decoded(data, encoding)


def _decoded(data: bytes, encoding: str) -> str:
    if encoding == "utf-16" and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        # Without a mark only half of all files would be right, and any file of even length would be Chinese.
        raise UnicodeDecodeError(encoding, data[:1], 0, 1, "no mark")
    return data.decode(encoding).removeprefix("\ufeff")


def telling_words(text: str) -> tuple[str, ...]:
    """The first words with letters beyond ASCII, each once: they show whether the way of writing is the right one."""
    found = dict.fromkeys(match.group()[:LONGEST_WORD] for match in islice(TELLING.finditer(text), 500))
    return tuple(islice(found, SHOWN_WORDS))


def between_of(text: str) -> str:
    """What stands between the cells: the sign that gives most records the same number of cells, more than one."""
    best, best_score = ",", (0.0, 0)
    for between in BETWEEN:
        try:
            records = [row for row in islice(_records(text, between), LOOKED_AT) if row]
        except csv.Error:
            continue
        widths = Counter(len(row) for row in records if len(row) > 1)
        if not widths:
            continue
        width, many = max(widths.items(), key=lambda one: (one[1], one[0]))
        score = (many / len(records), width)
        if score > best_score:
            best, best_score = between, score
    return best


def read_text(text: str, between: str) -> Sheet:
    """The rows of the text. Cells may be quoted as RFC 4180 says, also over several lines; ``BadTable`` names a row that is not."""
    if not text.strip():
        raise BadTable(N_("The file is empty."))
    return sheet_of("", _told(_records(text, between)))


def _records(text: str, between: str) -> Iterator[list[str]]:
    # Line ends stay as they are, since a quoted cell may hold some. ``strict`` refuses a quotation mark that never ends.
    return csv.reader(_lines(text), delimiter=between, strict=True)


def _lines(text: str) -> Iterator[str]:
    """The lines with their ends; only CR and LF end one, whatever else Unicode counts as a line end."""
    for match in re.finditer(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$", text):
        yield match.group()


def _told(records: Iterator[list[str]]) -> Iterator[list[str]]:
    row = 0
    while True:
        row += 1
        try:
            yield next(records)
        except StopIteration:
            return
        except csv.Error:
            raise BadTable(
                N_(
                    "The quotation marks in row %(row)s do not go together: a cell that begins with one ends with one, "
                    "and one within it is written twice."
                ),
                row=row,
            ) from None
