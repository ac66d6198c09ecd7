"""Tags on sheets of stickers: a square code, the same code to read, and which pair it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby, islice
from pathlib import Path

from reportlab.graphics import renderPDF
from reportlab.lib.enums import TA_LEFT
from reportlab.lib.units import mm

from portal.documents.fonts import BOLD, REGULAR, Faces, faces
from portal.documents.layout import HAIR, INK, draw_line
from portal.documents.squares import square_code
from portal.documents.tagging import TaggedCanvas
from portal.domain.tag_sheets import TagSheet
from portal.domain.words import N_
from portal.i18n import Voice

# Inside a sticker, so that a printer that is off by a little cuts nothing away.
PAD = 2 * mm
# The square with its border.
MOST_SQUARE = 26 * mm
CODE_SIZE, WORDS_SIZE = 13, 7.5


@dataclass(frozen=True)
class Tag:
    """``code`` as it is read, ``address`` what the square says, and lines that tell the pair."""

    code: str
    address: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class TagPaper:
    """Tags of what ``reference`` says, for one kind of sheet, after so many stickers that are ``used``; ``frames`` prints the edges, to try the sheet."""

    workshop: str
    reference: str
    tags: tuple[Tag, ...]
    sheet: TagSheet
    used: int = 0
    frames: bool = False


def render(it: TagPaper, said: Voice, *, fallback_fonts: Sequence[Path] | None = None) -> bytes:
    """The PDF, tagged; the same paper gives the same bytes."""
    type_faces = faces(fallback_fonts)
    out = BytesIO()
    canvas = TaggedCanvas(
        out, pagesize=_points(it.sheet), lang=said.language, invariant=1, initialFontName=REGULAR
    )
    canvas.setTitle(said.say(N_("Tags of %(reference)s"), reference=it.reference))
    canvas.setAuthor(it.workshop)
    canvas.setCreator("Rillbook")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    placed = zip(it.tags, it.sheet.places(it.used), strict=False)
    for _page, here in groupby(placed, key=lambda one: one[1][0]):
        for tag, (_number, left, top) in here:
            _sticker(canvas, type_faces, tag, it.sheet, left * mm, _points(it.sheet)[1] - top * mm, said)
        if it.frames:
            _frames(canvas, it.sheet)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _points(sheet: TagSheet) -> tuple[float, float]:
    width, height = sheet.paper.size_mm
    return width * mm, height * mm


def _sticker(
    canvas: TaggedCanvas,
    type_faces: Faces,
    tag: Tag,
    sheet: TagSheet,
    left: float,
    top: float,
    said: Voice,
) -> None:
    side = min(sheet.height_mm * mm - 2 * PAD, sheet.width_mm * mm * 0.45, MOST_SQUARE)
    x, y = left + PAD, top - PAD - side
    alt = said.say(N_("Square code of tag %(code)s"), code=tag.code)
    with canvas.tag("Figure", alt=alt) as figure:
        if figure is not None:
            figure.box = (x, y, x + side, y + side)
        renderPDF.draw(square_code(tag.address, side), canvas, x, y)
    beside = x + side + PAD / 2
    room = left + sheet.width_mm * mm - PAD - beside
    canvas.setFillColor(INK)
    line = top - PAD - CODE_SIZE
    with canvas.tag("P"):
        draw_line(canvas, type_faces, beside, line, tag.code, TA_LEFT, room, CODE_SIZE, BOLD)
    for words in tag.lines:
        line -= WORDS_SIZE + 3
        if line < top - sheet.height_mm * mm + PAD:
            break
        with canvas.tag("P"):
            draw_line(canvas, type_faces, beside, line, words, TA_LEFT, room, WORDS_SIZE)


def _frames(canvas: TaggedCanvas, sheet: TagSheet) -> None:
    with canvas.artifact():
        canvas.setStrokeColor(HAIR)
        canvas.setLineWidth(0.4)
        for _page, left, top in islice(sheet.places(), sheet.many):
            canvas.rect(
                left * mm,
                _points(sheet)[1] - (top + sheet.height_mm) * mm,
                sheet.width_mm * mm,
                sheet.height_mm * mm,
                stroke=1,
                fill=0,
            )
