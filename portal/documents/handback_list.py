"""The handback list of a club's order: which pairs go back, and lines for who gives and who receives them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.beside import Beside
from portal.documents.crate_paper import CratePaper, CrateSheet
from portal.documents.layout import CELL_HEAD, SMALL
from portal.documents.signing import SignatureLine
from portal.domain.words import N_
from portal.i18n import Voice

WHO = (N_("Given by, for the workshop"), N_("Received by, for the club"))
SIGNED = (N_("Name"), N_("Day"), N_("Signature"))


def render(it: CratePaper, voice: Voice, *, fallback_fonts: Sequence[Path] | None = None) -> bytes:
    """The PDF on A4."""
    return _Paper(it, voice, fallback_fonts).render()


class _Paper(CrateSheet):
    name = N_("Handback list %(reference)s")
    column = N_("Given")

    def facts(self) -> list[tuple[str, str]]:
        return [(self.say(N_("Ready by the end of")), self.voice.date(self.it.ready))]

    def after(self) -> list[Flowable]:
        return [
            self.set.caution(
                self.say(N_("Caution")),
                self.say(
                    N_(
                        "Freshly ground edges cut: carry the skis strapped base to base, and tell the juniors who take them."
                    )
                ),
            ),
            self.set.space(4),
            self.set.together(*(part for who in WHO for part in self._signed(who))),
            self.set.space(2),
            self.set.text(
                self.say(N_("A box that is not ticked is a pair that stays here for another day.")), SMALL
            ),
        ]

    def _signed(self, who: str) -> list[Flowable]:
        room = self.set.width / len(SIGNED)
        return [
            self.set.space(2),
            self.set.text(self.say(who), CELL_HEAD),
            Beside(
                [[SignatureLine(room - 6 * mm), self.set.text(self.say(one), SMALL)] for one in SIGNED],
                [room] * len(SIGNED),
            ),
        ]
