"""Walks every page that a person can reach by links, one of each kind, starting from where they land."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from urllib.parse import urlsplit

from flask import Flask
from playwright.sync_api import Page
from werkzeug.exceptions import HTTPException

# A link to one of these is a file to download, not a page to look at.
FILES = (".pdf", ".ics", ".json", ".csv", ".xlsx", ".xml", ".webp", ".zip")


def kinds(app: Flask) -> Callable[[str], str]:
    """A function that tells which kind of page (endpoint) an address is."""
    adapter = app.url_map.bind("localhost")

    def kind(path: str) -> str:
        try:
            return str(adapter.match(path, method="GET")[0])
        except HTTPException:
            return ""

    return kind


def walk(
    page: Page, site: str, start: str, kind: Callable[[str], str], each: int = 1
) -> Iterator[tuple[str, str]]:
    """Open pages breadth first and give (kind, path) with the page open; at most ``each`` of a kind."""
    todo, seen, counted = [start], {start}, dict[str, int]()
    while todo:
        path = todo.pop(0)
        name = kind(urlsplit(path).path)
        if not name or counted.get(name, 0) >= each:
            continue
        counted[name] = counted.get(name, 0) + 1
        page.goto(site + path)
        yield name, path
        for href in page.locator("a[href]").evaluate_all("links => links.map(link => link.href)"):
            parts = urlsplit(href)
            following = parts.path + (f"?{parts.query}" if parts.query else "")
            if href.startswith(site) and following not in seen and not parts.path.endswith(FILES):
                seen.add(following)
                todo.append(following)
