"""The paper form that every document is set on: page, running heads, styles, headings, facts, tables and pictures."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.sequencer import Sequencer
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Spacer,
)

from portal.documents.fonts import BOLD, REGULAR, TABULAR, Faces
from portal.documents.tagging import TaggedCanvas, TaggedParagraph, TaggedTable

PAPERS = {"A4": A4, "letter": LETTER}
SIDE, HEAD, FOOT = 22 * mm, 26 * mm, 22 * mm
INK, SOFT = Color(0.08, 0.13, 0.12), Color(0.33, 0.37, 0.36)
HAIR, TINT = Color(0.72, 0.75, 0.74), Color(0.945, 0.95, 0.948)
STEP = 4  # points; every distance is a multiple


def _style(name: str, size: float, leading: float, **more: Any) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=REGULAR, fontSize=size, leading=leading, textColor=more.pop("textColor", INK), **more
    )


TITLE = _style("title", 22, 28, spaceAfter=0)
# A section of a paper that holds several things of a kind.
SECTION = _style("section", 16, 21, spaceAfter=STEP)
HEADING = _style("heading", 12.5, 16, spaceBefore=6 * STEP, spaceAfter=2 * STEP)
TEXT = _style("text", 9.5, 14)
CAUTION = _style("caution", 9.5, 14, leftIndent=3 * STEP, rightIndent=3 * STEP, spaceBefore=6 * STEP)
SMALL = _style("small", 8, 11.5, textColor=SOFT)
CELL = _style("cell", 8.5, 12)
CELL_HEAD = _style("cell-head", 8, 11, textColor=SOFT)
LEAD = _style("lead", 12.5, 17)
FIGURES = _style("figures", 8.5, 12, alignment=TA_RIGHT)
NUMBER = _style("number", 8.5, 12, textColor=SOFT)
FIGURES_HEAD = _style("figures-head", 8, 11, textColor=SOFT, alignment=TA_RIGHT)


@dataclass(frozen=True)
class Strong:
    """Words set bold within a text."""

    text: str


Said = str | Strong


@dataclass(frozen=True)
class Sheet:
    """What stands on every page of a paper and in its file: all of it in the reader's language.

    ``page`` says which page of how many this is; ``running`` and ``reference`` stand in the head, ``foot`` below.
    """

    title: str
    language: str
    running: str
    reference: str
    foot: str
    page: Callable[[int, int], str]
    # The day that the file says it was made on, at midnight UTC; without one it is the same for all.
    made_on: date | None = None


class Heading(TaggedParagraph):
    """A heading, which also is an entry of the outline."""

    level = 0
    plain = ""
    # What other pages call it by, to say on which page it stands.
    mark = ""


class Caution(TaggedParagraph):
    """A warning in a tinted field behind a heavy bar, which stays apart from the text in black and white; never split."""

    def split(self, width: float, height: float) -> list[Any]:
        return []

    def draw(self) -> None:
        with self.canv.artifact():
            self.canv.saveState()
            bottom, height = -2.5 * STEP, self.height + 4.5 * STEP
            self.canv.setFillColor(TINT)
            self.canv.rect(0, bottom, self.width, height, stroke=0, fill=1)
            self.canv.setFillColor(INK)
            self.canv.rect(0, bottom, 2.5, height, stroke=0, fill=1)
            self.canv.restoreState()
        super().draw()


class Picture(Flowable):
    """A drawing with the words for who cannot see it."""

    canv: TaggedCanvas

    def __init__(self, drawing: Drawing, alt: str) -> None:
        super().__init__()
        self.drawing, self.alt = drawing, alt
        self.width, self.height = drawing.width, drawing.height

    def wrap(self, *_room: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        x, y = self.canv.absolutePosition(0, 0)
        with self.canv.tag("Figure", alt=self.alt) as figure:
            if figure is not None:
                figure.box = (x, y, x + self.width, y + self.height)
            renderPDF.draw(self.drawing, self.canv, 0, 0)


class TickBox(Flowable):
    """An empty box to tick with a pen, on the line of the text beside it; no part of the structure."""

    canv: TaggedCanvas
    side = 9.0

    def wrap(self, *_room: float) -> tuple[float, float]:
        return self.side, self.side + 2

    def draw(self) -> None:
        with self.canv.artifact():
            self.canv.saveState()
            self.canv.setStrokeColor(INK)
            self.canv.setLineWidth(0.8)
            self.canv.rect(0.4, 0, self.side, self.side, stroke=1, fill=0)
            self.canv.restoreState()


class Typesetter:
    """Makes the parts of a story from plain text: whatever people wrote is escaped here and nowhere else."""

    def __init__(
        self, faces: Faces, paper: str = "A4", papers: Mapping[str, tuple[float, float]] = PAPERS
    ) -> None:
        if paper not in papers:
            raise ValueError(f"paper is one of {', '.join(papers)}")
        self.faces = faces
        self.size = papers[paper]
        self.width = self.size[0] - 2 * SIDE
        # The pages of marked headings, known once the story was set the first time.
        self.pages: dict[str, int] = {}

    def _markup(self, said: Said | Sequence[Said], font: str) -> str:
        parts = [said] if isinstance(said, str | Strong) else said
        return "".join(
            self.faces.markup(part.text, BOLD) if isinstance(part, Strong) else self.faces.markup(part, font)
            for part in parts
        )

    def text(self, said: Said | Sequence[Said], style: ParagraphStyle = TEXT) -> TaggedParagraph:
        """A paragraph; figures of one width where the style is that of a column of figures."""
        return TaggedParagraph(
            self._markup(said, TABULAR if style is FIGURES or style is NUMBER else REGULAR), style
        )

    def section(self, text: str, room: float = 24 * mm, level: int = 2) -> list[Flowable]:
        """The heading of a section, on the next page where less than ``room`` points of this one are left."""
        return [CondPageBreak(room), self.heading(text, level)]

    def heading(self, text: str, level: int, *, mark: str = "") -> Heading:
        """The title of the paper (level 1) or the heading of a section (2, or 3 within one); ``pages`` knows its ``mark``."""
        style = {1: TITLE, 2: SECTION if mark else HEADING}.get(level, HEADING)
        heading = Heading(self.faces.markup(text, BOLD), style)
        heading.role, heading.level, heading.plain, heading.mark = f"H{level}", level, text, mark
        return heading

    def space(self, steps: int) -> Spacer:
        """White space in steps of the one scale."""
        return Spacer(0, steps * STEP)

    def facts(self, rows: Sequence[tuple[str, Said | Sequence[Said]]], columns: int = 1) -> TaggedTable:
        """What is so, each fact behind its name; in two columns they are read line by line."""
        label = 38 * mm if columns == 1 else 24 * mm
        cells: list[Any] = [
            cell for name, said in rows for cell in (self.text(name, CELL_HEAD), self.text(said))
        ]
        cells += [[]] * (-len(cells) % (2 * columns))
        table = TaggedTable(
            [cells[at : at + 2 * columns] for at in range(0, len(cells), 2 * columns)],
            colWidths=[label, self.width / columns - label] * columns,
            hAlign="LEFT",
            splitInRow=80,
        )
        table.row_heads = frozenset(range(0, 2 * columns, 2))
        table.setStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), REGULAR),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2 * STEP),
                ("TOPPADDING", (0, 0), (-1, -1), STEP),
                # The smaller letters of the names stand on the line of the facts.
                *(("TOPPADDING", (at, 0), (at, -1), STEP + 1.5) for at in table.row_heads),
                ("BOTTOMPADDING", (0, 0), (-1, -1), STEP),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIR),
                ("LINEABOVE", (0, 0), (-1, 0), 0.4, HAIR),
            ]
        )
        return table

    def table(
        self,
        head: Sequence[Sequence[Flowable | str]],
        rows: Sequence[Sequence[Flowable | Sequence[Flowable]]],
        widths: Sequence[float],
        *,
        spans: dict[tuple[int, int], tuple[int, int]] | None = None,
        row_head: int | None = None,
        tight: Sequence[int] = (),
    ) -> TaggedTable:
        """A table whose head stands again on each page; one width may be 0 and takes what the others leave.

        ``spans`` are of the head: (column, row) to (columns, rows) that the cell covers; ``tight``
        columns stand closer to the next.
        """
        rest = self.width - sum(widths)
        table = TaggedTable(
            [*map(list, head), *map(list, rows)],
            colWidths=[width or rest for width in widths],
            repeatRows=len(head),
            hAlign="LEFT",
            splitInRow=80,
        )
        table.row_heads = frozenset() if row_head is None else frozenset({row_head})
        table.spans = spans or {}
        last = len(head) - 1
        table.setStyle(
            [
                ("FONTNAME", (0, 0), (-1, -1), REGULAR),
                ("VALIGN", (0, 0), (-1, last), "BOTTOM"),
                ("VALIGN", (0, last + 1), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2 * STEP),
                *(("RIGHTPADDING", (column, 0), (column, -1), STEP) for column in tight),
                ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, last), 0),
                ("BOTTOMPADDING", (0, 0), (-1, last), STEP),
                ("TOPPADDING", (0, last + 1), (-1, -1), STEP),
                ("BOTTOMPADDING", (0, last + 1), (-1, -1), STEP + 1),
                ("LINEBELOW", (0, last), (-1, last), 0.8, INK),
                ("LINEBELOW", (0, last + 1), (-1, -1), 0.4, HAIR),
                *(
                    ("SPAN", (column, row), (column + columns - 1, row + rows_covered - 1))
                    for (column, row), (columns, rows_covered) in table.spans.items()
                ),
            ]
        )
        return table

    def caution(self, word: str, said: str) -> TaggedParagraph:
        """A warning that belongs to the whole paper."""
        return Caution(self._markup((Strong(f"{word}. "), said), REGULAR), CAUTION)

    def picture(self, drawing: Drawing, alt: str) -> Picture:
        """A drawing as vectors."""
        return Picture(drawing, alt)

    def together(self, *parts: Flowable) -> KeepTogether:
        """Parts that stand on one page if they fit on one."""
        return KeepTogether(list(parts))

    def build(self, sheet: Sheet, story: Callable[[], list[Flowable]]) -> bytes:
        """The file. The story is set twice, since the first page already says how many there are.

        The same sheet and story give the same bytes: no clock, no random identifier.
        """
        pages = self._set(sheet, story(), total=0)[0]
        return self._set(sheet, story(), pages)[1]

    def _set(self, sheet: Sheet, story: list[Flowable], total: int) -> tuple[int, bytes]:
        out = BytesIO()
        document = _Document(
            out,
            pages=self.pages,
            pagesize=self.size,
            title=sheet.title,
            author=sheet.running,
            creator="Rillbook",
            subject=sheet.reference,
            lang=sheet.language,
            displayDocTitle=1,
            invariant=1,
            initialFontName=REGULAR,
            leftMargin=SIDE,
            rightMargin=SIDE,
            topMargin=HEAD,
            bottomMargin=FOOT,
        )
        height = self.size[1]
        frame = Frame(SIDE, FOOT, self.width, height - HEAD - FOOT, 0, 0, 0, 0)
        document.addPageTemplates(PageTemplate("page", [frame], onPage=partial(self._running, sheet, total)))
        document.build(story, canvasmaker=partial(TaggedCanvas, kept=total > 0, made_on=sheet.made_on))
        return document.page, out.getvalue()

    def _running(self, sheet: Sheet, total: int, canvas: TaggedCanvas, document: BaseDocTemplate) -> None:
        width, height = self.size
        right = width - SIDE
        with canvas.artifact("Pagination"):
            canvas.setFillColor(SOFT)
            canvas.setStrokeColor(HAIR)
            canvas.setLineWidth(0.4)
            top, bottom = height - 15 * mm, 12 * mm
            reference = draw_line(canvas, self.faces, right, top, sheet.reference, TA_RIGHT, self.width / 2)
            draw_line(
                canvas, self.faces, SIDE, top, sheet.running, TA_LEFT, self.width - reference - 4 * STEP
            )
            canvas.line(SIDE, top - 2 * STEP, right, top - 2 * STEP)
            number = draw_line(
                canvas, self.faces, right, bottom, sheet.page(document.page, total), TA_RIGHT, self.width / 2
            )
            draw_line(canvas, self.faces, SIDE, bottom, sheet.foot, TA_LEFT, self.width - number - 4 * STEP)


def draw_line(
    canvas: Canvas,
    type_faces: Faces,
    x: float,
    y: float,
    text: str,
    align: int,
    room: float,
    size: float = 8,
    main: str = REGULAR,
) -> float:
    """One line of text, cut with an ellipsis when it is too long for the room; gives its width. Points."""
    line = " ".join(text.split())
    while line and type_faces.width(line, size, main) > room:
        line = line[:-2].rstrip() + "\N{HORIZONTAL ELLIPSIS}" if len(line) > 1 else ""
    width = type_faces.width(line, size, main)
    at = x - width if align == TA_RIGHT else x
    for font, chars in type_faces.runs(line, main):
        canvas.setFont(font, size)
        canvas.drawString(at, y, chars)
        at += canvas.stringWidth(chars, font, size)
    return width


class _Document(BaseDocTemplate):
    canv: TaggedCanvas
    seq: Sequencer

    def __init__(self, out: BytesIO, *, pages: dict[str, int], **kwargs: Any) -> None:
        super().__init__(out, **kwargs)
        self.marked = pages

    def afterFlowable(self, flowable: Flowable) -> None:
        if isinstance(flowable, Heading):
            key = f"heading-{self.seq.nextf('heading')}"
            self.canv.bookmarkPage(key)
            if flowable.mark:
                self.marked[flowable.mark] = self.page
            self.canv.addOutlineEntry(flowable.plain, key, flowable.level - 1, closed=False)
            self.canv.showOutline()
