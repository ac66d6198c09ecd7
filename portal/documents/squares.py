"""A square code (ISO/IEC 18004) as vectors, the same on every paper."""

from __future__ import annotations

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing

from portal.documents.fonts import REGULAR

# The light border of four modules that the standard asks for.
BORDER = 4


def square_code(address: str, side: float) -> Drawing:
    """The code of an address, ``side`` points wide with its border, at error correction level M."""
    # Without a font of ours a drawing brings one that is not embedded, though no letter stands in it.
    drawing = Drawing(side, side, initialFontName=REGULAR)
    drawing.add(QrCodeWidget(address, barLevel="M", barWidth=side, barHeight=side, barBorder=BORDER))
    return drawing
