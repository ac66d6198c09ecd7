"""A square code that a telephone reads, as SVG that may stand in a page."""

from __future__ import annotations

import segno

# Big enough to be read from a screen at arm's length.
PIXELS = 5


def svg(text: str, title: str) -> str:
    """The code of ``text``, black on white with its quiet zone also where the page is dark; ``title`` names it for a reader."""
    code = segno.make(text, error="m", micro=False)
    drawn: str = code.svg_inline(scale=PIXELS, dark="#000", light="#fff", title=title, svgclass="square-code")
    return drawn.replace("<svg ", '<svg role="img" ', 1)
