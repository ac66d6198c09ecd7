"""The paper's type: Fira Sans, other fonts for letters it lacks, and a visible code for what no font has."""

from __future__ import annotations

import struct
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from xml.sax.saxutils import escape

import fontpkg
from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

REGULAR, BOLD, TABULAR = "Paper", "Paper-Bold", "Paper-Tabular"

# Where systems keep their fonts; only TrueType outlines can be embedded, so the names are of such files.
FONT_FOLDERS = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path.home() / ".local/share/fonts",
    Path("/Library/Fonts"),
    Path("C:/Windows/Fonts"),
)
FALLBACK_FILES = ("DroidSansFallbackFull.ttf", "DroidSansFallback.ttf", "DejaVuSans.ttf")

# Where no font has the character itself, one that looks the same on paper.
LOOKALIKES = {
    **{chr(code): "\N{NO-BREAK SPACE}" for code in (0x2007, 0x2009, 0x200A, 0x202F)},
    "\N{NON-BREAKING HYPHEN}": "-",
    "\N{GREEK SMALL LETTER MU}": "\N{MICRO SIGN}",
}
RIGHT_TO_LEFT = frozenset({"R", "AL"})  # bidirectional classes of the Unicode character database


@dataclass(frozen=True)
class Faces:
    """The fonts of one paper: the three cuts of the main type are fixed, these stand in, the first that fits."""

    fallbacks: tuple[str, ...] = ()

    def runs(self, text: str, main: str = REGULAR) -> list[tuple[str, str]]:
        """The text as stretches of (font, characters); what no font has becomes its code point:
        ``[U+0E01]``, ``[U+0E2A U+0E21]``.

        Characters that have no ink by definition (joiners, variation selectors, direction marks) are left out. A
        stretch written from right to left is turned round as a whole, which reads right on one line; Arabic letters are
        not joined.
        """
        pieces: list[tuple[str, str]] = []
        text = unicodedata.normalize("NFC", text)
        if all(self._found(char, main) for char in text if unicodedata.bidirectional(char) in RIGHT_TO_LEFT):
            text = _left_to_right(text)
        known = ((self._found(char, main), char) for char in text)
        shown = ((found, char) for found, char in known if found is not None or not _has_no_ink(char))
        for missing, stretch in groupby(shown, key=lambda one: one[0] is None):
            if missing:
                pieces.append((main, "[" + " ".join(f"U+{ord(char):04X}" for _, char in stretch) + "]"))
            else:
                pieces.extend(found for found, _ in stretch if found is not None)
        return [
            (font, "".join(chars for _, chars in group)) for font, group in groupby(pieces, key=itemgetter(0))
        ]

    def _found(self, char: str, main: str) -> tuple[str, str] | None:
        """The font that has the character, and the character as it is set; nothing when no font has it."""
        if char in "\n\t":
            return main, char
        if _has_no_ink(char) or unicodedata.category(char) in {"Cc", "Cs"}:
            return None
        for font in (main, *self.fallbacks):
            for candidate in dict.fromkeys((char, LOOKALIKES.get(char, char))):
                if ord(candidate) in _coverage(font):
                    return font, candidate
        return None

    def markup(self, text: str, main: str = REGULAR) -> str:
        """The text for a reportlab paragraph: escaped, with its fonts named and its line breaks kept."""
        return "".join(
            f'<font name="{font}">{escape(chars).replace(chr(10), "<br/>")}</font>'
            for font, chars in self.runs(text.replace("\r\n", "\n").replace("\r", "\n"), main)
        )

    def width(self, text: str, size: float, main: str = REGULAR) -> float:
        """The width of one line in points."""
        return sum(pdfmetrics.stringWidth(chars, font, size) for font, chars in self.runs(text, main))


def faces(fallback_fonts: Sequence[Path] | None = None) -> Faces:
    """The fonts ready for use; ``fallback_fonts`` are TrueType files, by default those found on this system."""
    _register_main()
    files = installed_fallbacks() if fallback_fonts is None else tuple(fallback_fonts)
    return Faces(tuple(name for file in files if (name := _register_fallback(file)) is not None))


@cache
def installed_fallbacks() -> tuple[Path, ...]:
    """The fallback files that this system has, in the order in which they are tried."""
    found = (
        next(iter(sorted(folder.rglob(name))), None) for name in FALLBACK_FILES for folder in FONT_FOLDERS
    )
    return tuple(path for path in found if path is not None)


@cache
def _register_main() -> None:
    for name, weight in ((REGULAR, 400), (BOLD, 600), (TABULAR, 400)):
        font = TTFont(name, str(fontpkg.path("fira-sans", weight)))
        if name == TABULAR:
            _set_figures_to_one_width(font)
        pdfmetrics.registerFont(font)
    # Bold within a paragraph is named, never derived; the family only keeps reportlab from looking for one.
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    # No text of ours names a file, but if one ever did, nothing would be fetched.
    rl_config.trustedHosts, rl_config.trustedSchemes = [], []


@cache
def _register_fallback(file: Path) -> str | None:
    """The name under which the font can be used, or nothing when the file is no font that can be embedded."""
    name = f"Fallback-{file.stem}"
    try:
        pdfmetrics.registerFont(TTFont(name, str(file)))
    except TTFError:
        return None
    return name


@cache
def _coverage(font: str) -> frozenset[int]:
    found = pdfmetrics.getFont(font)
    if not isinstance(found, TTFont):
        raise TypeError(f"{font} is no TrueType font")
    return frozenset(found.face.charToGlyph)


def _has_no_ink(char: str) -> bool:
    return (
        unicodedata.category(char) == "Cf"
        or "\ufe00" <= char <= "\ufe0f"
        or "\U000e0100" <= char <= "\U000e01ef"
    )


def _left_to_right(text: str) -> str:
    """Each stretch of right-to-left letters in the order in which it stands on the line."""
    kinds = [unicodedata.bidirectional(char) for char in text]
    if RIGHT_TO_LEFT.isdisjoint(kinds):
        return text
    out, at = "", 0
    while at < len(text):
        if kinds[at] not in RIGHT_TO_LEFT:
            out, at = out + text[at], at + 1
            continue
        end = last = at
        while (
            end < len(text) and kinds[end] in RIGHT_TO_LEFT | {"NSM", "WS", "CS", "ON"} and text[end] != "\n"
        ):
            last = end if kinds[end] in RIGHT_TO_LEFT | {"NSM"} else last
            end += 1
        out, at = out + _reversed_clusters(text[at : last + 1]), last + 1
    return out


def _reversed_clusters(text: str) -> str:
    clusters: list[str] = []
    for char in text:
        if clusters and unicodedata.combining(char):
            clusters[-1] += char
        else:
            clusters.append(char)
    return "".join(reversed(clusters))


def _set_figures_to_one_width(font: TTFont) -> None:
    """Show the font's tabular figures for 0 to 9; the text in the file stays plain figures.

    reportlab knows no font features, so the glyphs that the feature ``tnum`` would put in place are put there here.
    """
    face = font.face
    # reportlab takes two fonts of one name for the same font.
    face.name += b"-Tabular"
    table: Callable[[str], bytes] = face.get_table
    swaps = single_substitutions(table("GSUB"), b"tnum")
    widths = _advance_widths(table)
    for code in map(ord, "0123456789"):
        glyph = swaps.get(face.charToGlyph[code])
        if glyph is not None:
            face.charToGlyph[code] = glyph
            face.charWidths[code] = widths[min(glyph, len(widths) - 1)] * 1000 / face.unitsPerEm


def _advance_widths(table: Callable[[str], bytes]) -> list[int]:
    """Advance widths in font units from the tables hhea and hmtx (OpenType specification)."""
    (count,) = struct.unpack_from(">H", table("hhea"), 34)
    return list(struct.unpack(">" + "Hh" * count, table("hmtx")[: 4 * count])[::2])


def single_substitutions(gsub: bytes, tag: bytes) -> dict[int, int]:
    """Glyph to glyph, as a feature of the table GSUB puts it (OpenType specification, lookup type 1)."""

    def u16(at: int) -> int:
        return int(struct.unpack_from(">H", gsub, at)[0])

    def u16s(at: int, count: int) -> list[int]:
        return list(struct.unpack_from(f">{count}H", gsub, at))

    features, lookups = u16(6), u16(8)
    wanted: set[int] = set()
    for n in range(u16(features)):
        record = features + 2 + 6 * n
        if gsub[record : record + 4] == tag:
            feature = features + u16(record + 4)
            wanted.update(u16s(feature + 4, u16(feature + 2)))
    swaps: dict[int, int] = {}
    for n in sorted(wanted):
        lookup = lookups + u16(lookups + 2 + 2 * n)
        if u16(lookup) != 1:
            continue
        for offset in u16s(lookup + 6, u16(lookup + 4)):
            sub = lookup + offset
            covered = _covered_glyphs(gsub, sub + u16(sub + 2))
            if u16(sub) == 1:
                swaps.update({glyph: (glyph + u16(sub + 4)) % 65536 for glyph in covered})
            else:
                swaps.update(zip(covered, u16s(sub + 6, u16(sub + 4)), strict=True))
    return swaps


def _covered_glyphs(table: bytes, at: int) -> list[int]:
    form, count = struct.unpack_from(">HH", table, at)
    if form == 1:
        return list(struct.unpack_from(f">{count}H", table, at + 4))
    ranges = struct.iter_unpack(">HHH", table[at + 4 : at + 4 + 6 * count])
    return [glyph for first, last, _ in ranges for glyph in range(first, last + 1)]
