"""A drawing as inline SVG that a strict content security policy lets through and that takes the page's ink."""

from __future__ import annotations

import re
from copy import deepcopy
from xml.etree import ElementTree

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, Group, String

__all__ = ["Drawing", "inline", "standalone"]

SVG = "http://www.w3.org/2000/svg"
_PERCENT = re.compile(r"rgb\((\d+)%,(\d+)%,(\d+)%\)")
ElementTree.register_namespace("", SVG)


def inline(drawing: Drawing, uid: str, title: str, description: str) -> str:
    """``<svg>`` to stand in a page: no style attribute, every id begins with ``uid``, named for screen readers.

    A grey of the drawing becomes the colour of the text around it, as strong as the grey is dark; white becomes the
    ground, through the custom property of the page's style sheet for the class ``ground``. An image keeps its own greys
    and stands in the picture itself, as a ``data:`` address.
    """
    root = _told(drawing, uid, title, description)
    for attribute in ("width", "height"):
        root.attrib.pop(attribute, None)
    root.set("class", "picture")
    return ElementTree.tostring(root, encoding="unicode")


def standalone(drawing: Drawing, title: str, description: str) -> bytes:
    """The same as a file of its own, black on whatever ground it is laid, with letters that every system has."""
    root = _told(drawing, "picture", title, description)
    root.set("font-family", "sans-serif")
    written: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return written + b"\n"


def _told(drawing: Drawing, uid: str, title: str, description: str) -> ElementTree.Element:
    placed = deepcopy(drawing)
    _anchor(placed)
    raw = re.sub(r"<!DOCTYPE[^>]*>", "", renderSVG.drawToString(placed))
    root = ElementTree.fromstring(raw)  # noqa: S314 - written by reportlab a line above, not by a stranger
    for element in root.iter():
        _without_style(element)
        for name in ("clip", "clip-path"):
            element.attrib.pop(name, None)
        if "id" in element.attrib:
            element.set("id", f"{uid}-{element.attrib['id']}")
    # The clip is the drawing's own edge, where the browser cuts anyway; the rest says "...".
    for name in ("title", "desc", "clipPath"):
        for needless in root.findall(f"{{{SVG}}}{name}"):
            root.remove(needless)
    for name, text in (("desc", description), ("title", title)):
        spoken = ElementTree.Element(f"{{{SVG}}}{name}", {"id": f"{uid}-{name}"})
        spoken.text = text
        root.insert(0, spoken)
    root.attrib.pop("version", None)
    root.set("role", "img")
    root.set("aria-labelledby", f"{uid}-title {uid}-desc")
    return root


def _anchor(group: Drawing | Group) -> None:
    """Leave the placing of text to the browser, which knows the width of the letters it really uses."""
    for shape in group.contents:
        if isinstance(shape, Group):
            _anchor(shape)
        elif isinstance(shape, String) and shape.textAnchor in {"middle", "end"}:
            setattr(shape, "_svgAttrs", {"text-anchor": shape.textAnchor})  # noqa: B010 - unknown to the stubs
            shape.textAnchor = "start"


def _without_style(element: ElementTree.Element) -> None:
    for declaration in (element.attrib.pop("style", None) or "").split(";"):
        name, colon, value = (part.strip() for part in declaration.partition(":"))
        if not colon or name == "font-family":
            continue
        if value == "None":
            value = "none"  # reportlab writes its own word for no paint.
        percent = _PERCENT.fullmatch(value)
        if percent is None or len(set(percent.groups())) > 1:
            element.set(name, value)
            continue
        darkness = 100 - int(percent[1])
        if darkness == 0:
            element.set("class", "ground")
            element.set(name, "none")
            continue
        element.set(name, "currentColor")
        if darkness < 100:
            element.set(f"{name}-opacity", f"{darkness / 100:g}")
