"""Names of files that people can read and every system can keep."""

from __future__ import annotations

import re
import unicodedata

# What a file name cannot hold on Windows, whose rules are the strictest, and what nobody sees (Microsoft, "Naming Files,
# Paths, and Namespaces").
REFUSED = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f-\x9f]')
DEVICES = re.compile(r"(?i)(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(\.|$)")
LONGEST = 100


def readable(*parts: str) -> str:
    """The parts, those that say something, with a hyphen between, and without an ending; ``file`` where nothing is left of them.

    Letters of all languages stay, composed, since every system of today keeps them.
    """
    kept = [_cleaned(part) for part in parts]
    name = "-".join(part for part in kept if part)[:LONGEST].rstrip(" .-")
    if DEVICES.match(name):
        name = f"_{name}"
    return name or "file"


def _cleaned(part: str) -> str:
    composed = unicodedata.normalize("NFC", part)
    seen = "".join(one for one in composed if unicodedata.category(one) not in {"Cf", "Cs", "Co", "Cn"})
    return re.sub(r"[\s_-]+", "-", REFUSED.sub(" ", seen)).strip("-. ")
