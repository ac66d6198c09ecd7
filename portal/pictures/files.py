"""A drawing as the bytes of a file: SVG, PDF or PNG, the same bytes for the same drawing."""

from __future__ import annotations

from io import BytesIO

import pypdfium2
from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Drawing
from reportlab.pdfgen.canvas import Canvas

from portal.pictures.svg import standalone

SUFFIXES = (".svg", ".pdf", ".png")
# Pixels to a point: 216 to the inch.
SCALE = 3


def as_file(drawing: Drawing, suffix: str, title: str, description: str) -> bytes:
    """The file for one of ``SUFFIXES``; ``ValueError`` for any other. Only an SVG holds the description."""
    if suffix == ".svg":
        return standalone(drawing, title, description)
    if suffix == ".pdf":
        return _pdf(drawing, title)
    if suffix == ".png":
        return _png(drawing, title)
    raise ValueError(f"no file ends in {suffix}")


def _pdf(drawing: Drawing, title: str) -> bytes:
    written = BytesIO()
    # Without "invariant" the PDF holds the moment it was made and a random number.
    canvas = Canvas(written, pagesize=(drawing.width, drawing.height), invariant=1)
    canvas.setTitle(title)
    canvas.setCreator("Rillbook")
    renderPDF.draw(drawing, canvas, 0, 0)
    canvas.save()
    return written.getvalue()


def _png(drawing: Drawing, title: str) -> bytes:
    document = pypdfium2.PdfDocument(_pdf(drawing, title))
    try:
        written = BytesIO()
        grey = document[0].render(scale=SCALE).to_pil().convert("L")
        grey.save(written, "PNG")
        return written.getvalue()
    finally:
        document.close()
