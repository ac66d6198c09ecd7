"""The packing list of a club's order: what goes into the crate, a box to tick for each pair, and a code for the workshop to scan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.platypus import Flowable

from portal.documents.crate_paper import CratePaper, CrateSheet
from portal.documents.layout import SMALL
from portal.domain.words import N_
from portal.i18n import Voice


def render(it: CratePaper, voice: Voice, *, fallback_fonts: Sequence[Path] | None = None) -> bytes:
    """The PDF on A4."""
    return _Paper(it, voice, fallback_fonts).render()


class _Paper(CrateSheet):
    name = N_("Packing list %(reference)s")
    column = N_("Packed")

    def facts(self) -> list[tuple[str, str]]:
        return [
            (self.say(N_("Hand in at")), self.it.place or self.say(N_("The counter of the workshop"))),
            (self.say(N_("Hand in by")), self.voice.date(self.it.hand_in)),
            (self.say(N_("Ready by the end of")), self.voice.date(self.it.ready)),
        ]

    def after(self) -> list[Flowable]:
        return [
            self.set.space(3),
            self.set.text(
                self.say(
                    N_(
                        "Put a tag on each pair, strap it base to base, and lay this list on top. The workshop scans the code above, and then the tags."
                    )
                ),
                SMALL,
            ),
            self.set.caution(
                self.say(N_("Caution")),
                self.say(
                    N_(
                        "Edges cut. Strap the skis before you lift them, and let two people carry a full crate."
                    )
                ),
            ),
        ]
