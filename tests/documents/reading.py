"""Papers read back by other programs: poppler's pdftotext and pdfinfo, and pypdf."""

from __future__ import annotations

import subprocess
from io import BytesIO
from typing import Any

import zxingcpp
from PIL import Image
from pypdf import PdfReader


def text_of(pdf: bytes) -> str:
    """All text as poppler reads it, with its line breaks made spaces."""
    out = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True).stdout
    return " ".join(out.decode().split())


def structure_of(pdf: bytes) -> str:
    out = subprocess.run(["pdfinfo", "-struct-text", "-"], input=pdf, capture_output=True, check=True)
    assert out.stderr == b""
    return out.stdout.decode()


def square_codes(pdf: bytes) -> list[str]:
    """What the square codes of the first page say: rendered by poppler, read by zxing-cpp."""
    drawn = subprocess.run(
        ["pdftoppm", "-r", "200", "-gray", "-l", "1", "-png"], input=pdf, capture_output=True, check=True
    ).stdout
    return [found.text for found in zxingcpp.read_barcodes(Image.open(BytesIO(drawn)))]


def elements(pdf: bytes, role: str) -> list[Any]:
    """The structure elements of one role, in reading order."""
    found = []

    def walk(node: Any) -> None:
        node = node.get_object()
        if node.get("/S") == role:
            found.append(node)
        kids = node.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            if not isinstance(kid, int):
                walk(kid)

    walk(PdfReader(BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"])
    return found
