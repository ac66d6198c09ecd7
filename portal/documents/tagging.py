"""A canvas that also writes the logical structure of the paper (ISO 32000-1, 14.7 and 14.8: tagged PDF)."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFObjectReference, PDFString, PDFtrue
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table


class Element:
    """A node of the structure tree: a role, the elements or pieces of page content in it, and what it says of itself."""

    def __init__(self, role: str, alt: str = "", table: dict[str, Any] | None = None) -> None:
        self.role = role
        self.alt = alt
        self.table = table or {}
        self.box: tuple[float, float, float, float] | None = None
        # An element, or the name of a page with the number of the marked content on it.
        self.kids: list[Element | tuple[str, int]] = []


class TaggedCanvas(Canvas):
    """Draws as any canvas; what is drawn inside ``tag`` belongs to the structure, inside ``artifact`` it does not.

    No conformance to PDF/UA is claimed: nothing here can verify it.
    """

    # Of reportlab's canvas, and unknown to its stubs.
    _doc: Any
    _code: list[str]

    def __init__(self, *args: Any, kept: bool = True, made_on: date | None = None, **kwargs: Any) -> None:
        # What is written of tables and of the order of tabs is of PDF 1.5; 1.7 is the version that ISO 32000-1 describes.
        super().__init__(*args, **{"pdfVersion": (1, 7), **kwargs})
        # A canvas that is not kept only serves to count the pages.
        self._kept = kept
        self._root = self._current = Element("Document")
        self._split: dict[object, Element] = {}
        self._marked: list[Element] = []
        self._pages: list[list[Element]] = []
        self._silent = 0
        document = self._doc
        if made_on is not None:
            # The file is set invariant, so that its stamp says nothing of the clock: only of the day it is given here.
            document._timeStamp.YMDhms = (made_on.year, made_on.month, made_on.day, 0, 0, 0)
        add_page = document.addPage

        def add_tagged_page(page: Any) -> None:
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = len(self._pages), PDFName("S")
            self._pages.append(self._marked)
            self._marked = []
            add_page(page)

        document.addPage = add_tagged_page

    @contextmanager
    def element(self, role: str, key: object = None, **says: Any) -> Iterator[Element | None]:
        """An element that groups others. One ``key`` is one element, however many pages it runs over."""
        if self._silent:
            yield None
            return
        found = self._split.get(key) if key is not None else None
        if found is None:
            found = Element(role, **says)
            self._current.kids.append(found)
            if key is not None:
                self._split[key] = found
        outer, self._current = self._current, found
        try:
            yield found
        finally:
            self._current = outer

    @contextmanager
    def tag(self, role: str, key: object = None, **says: Any) -> Iterator[Element | None]:
        """An element whose content is drawn here."""
        with self.element(role, key, **says) as found:
            if found is None:
                yield None
                return
            number = len(self._marked)
            self._marked.append(found)
            found.kids.append((self._doc.thisPageName(), number))
            self._code.append(f"/{role} <</MCID {number}>> BDC")
            try:
                yield found
            finally:
                self._code.append("EMC")

    @contextmanager
    def artifact(self, kind: str = "Layout") -> Iterator[None]:
        """Rules, backgrounds, running heads and repeated table heads: on the page, not in the structure."""
        self._silent += 1
        if self._silent == 1:
            self._code.append(f"/Artifact <</Type /{kind}>> BDC")
        try:
            yield
        finally:
            self._silent -= 1
            if self._silent == 0:
                self._code.append("EMC")

    def save(self) -> None:
        if len(self._code):
            self.showPage()
        if not self._kept:
            return
        names: dict[Element, str] = {}
        top = self._write(self._root, PDFObjectReference("Structure"), names)
        numbers: list[Any] = []
        for index, marked in enumerate(self._pages):
            numbers += [index, PDFArray([PDFObjectReference(names[element]) for element in marked])]
        tree = {
            "Type": PDFName("StructTreeRoot"),
            "K": top,
            "ParentTree": PDFDictionary({"Nums": PDFArray(numbers)}),
            "ParentTreeNextKey": len(self._pages),
        }
        self._doc.Reference(PDFDictionary(tree), "Structure")
        self._doc.Catalog.StructTreeRoot = PDFObjectReference("Structure")
        self._doc.Catalog.MarkInfo = PDFDictionary({"Marked": PDFtrue})
        super().save()

    def _write(self, element: Element, parent: Any, names: dict[Element, str]) -> Any:
        names[element] = f"Element{len(names)}"
        reference = PDFObjectReference(names[element])
        kids = [
            self._write(kid, reference, names)
            if isinstance(kid, Element)
            else PDFDictionary({"Type": PDFName("MCR"), "Pg": PDFObjectReference(kid[0]), "MCID": kid[1]})
            for kid in element.kids
        ]
        entry = {"Type": PDFName("StructElem"), "S": PDFName(element.role), "P": parent, "K": PDFArray(kids)}
        if element.alt:
            entry["Alt"] = PDFString(element.alt)
        attributes = [PDFDictionary({"O": PDFName("Table"), **element.table})] if element.table else []
        if element.box is not None:
            box = PDFArray([round(edge, 3) for edge in element.box])
            attributes.append(
                PDFDictionary({"O": PDFName("Layout"), "BBox": box, "Placement": PDFName("Block")})
            )
        if attributes:
            entry["A"] = PDFArray(attributes)
        self._doc.Reference(PDFDictionary(entry), names[element])
        return reference


class TaggedParagraph(Paragraph):
    """A paragraph that stays one element of the structure when it runs over to the next page."""

    role = "P"
    canv: TaggedCanvas

    def split(self, width: float, height: float) -> list[Any]:
        parts: list[Any] = list(super().split(width, height))
        for part in parts:
            part.role, part.whole = self.role, self._whole
        return parts

    @property
    def _whole(self) -> object:
        return getattr(self, "whole", self)

    def draw(self) -> None:
        with self.canv.tag(self.role, key=self._whole):
            super().draw()


class TaggedTable(Table):
    """A table whose cells are paragraphs, with heads that screen readers can name.

    ``row_heads`` are the columns that name what stands beside them; ``spans`` gives how many columns and rows a cell covers.
    """

    row_heads: frozenset[int] = frozenset()
    spans: dict[tuple[int, int], tuple[int, int]]
    whole: object
    continued = False
    canv: TaggedCanvas

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.spans = {}
        self.whole = self
        self._open: list[AbstractContextManager[Any]] = []
        # reportlab's constructor overwrites what it was given.
        self._renderCB = self._structure

    def split(self, width: float, height: float) -> list[Any]:
        parts: list[Any] = list(super().split(width, height))
        for index, part in enumerate(parts):
            part.row_heads, part.whole = self.row_heads, self.whole
            part.spans = {cell: span for cell, span in self.spans.items() if cell[1] < self.repeatRows}
            part.continued = self.continued or index > 0
        return parts

    def _structure(self, _table: Table, what: str, *cell: Any) -> None:
        if what == "startTable":
            self._enter(self.canv.element("Table", key=self.whole))
        elif what in {"startBG", "startLines"}:
            self._enter(self.canv.artifact())
        elif what == "startRow":
            repeated = self.continued and cell[0] < self.repeatRows
            self._enter(self.canv.artifact() if repeated else self.canv.element("TR"))
        elif what == "startCell":
            self._enter(self._cell(cell[0], cell[1]))
        elif what.startswith("end"):
            self._open.pop().__exit__(None, None, None)

    def _enter(self, part: AbstractContextManager[Any]) -> None:
        part.__enter__()
        self._open.append(part)

    def _cell(self, row: int, column: int) -> AbstractContextManager[Any]:
        says: dict[str, Any] = {}
        columns, rows = self.spans.get((column, row), (1, 1))
        if columns > 1:
            says["ColSpan"] = columns
        if rows > 1:
            says["RowSpan"] = rows
        if row < self.repeatRows:
            return self.canv.element("TH", table={"Scope": PDFName("Column"), **says})
        if column in self.row_heads:
            return self.canv.element("TH", table={"Scope": PDFName("Row"), **says})
        return self.canv.element("TD", table=says)
