"""What a person would call a browser, from what it says about itself."""

from __future__ import annotations

from portal.domain.words import N_, Phrase

# In this order: most browsers also name others that they want to be taken for.
BROWSERS = (
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("Edg", "Edge"),
    ("OPR", "Opera"),
    ("Chrome", "Chrome"),
    ("CriOS", "Chrome"),
    ("Safari", "Safari"),
)
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("Linux", "Linux"),
)


def browser_named(agent: str) -> Phrase:
    """``Firefox on Linux``, or as much of it as can be told."""
    browser = next((name for sign, name in BROWSERS if sign in agent), None)
    system = next((name for sign, name in SYSTEMS if sign in agent), None)
    if browser and system:
        return Phrase(N_("%(browser)s on %(system)s"), {"browser": browser, "system": system})
    if browser or system:
        return Phrase(N_("A browser (%(kind)s)"), {"kind": browser or system})
    return Phrase(N_("A browser"))
