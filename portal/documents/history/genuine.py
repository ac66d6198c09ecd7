"""How a holder of the paper tells that it is genuine."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.beside import Beside
from portal.documents.history.part import Part
from portal.documents.history.values import Seal
from portal.documents.layout import CELL, Strong
from portal.documents.squares import square_code
from portal.domain.words import N_

# A longer address makes a denser square; below about a third of a millimetre for a module old cameras give up.
SMALLEST, LARGEST, LONG, GAP = 34 * mm, 48 * mm, 320, 3 * mm


class Genuine(Part):
    """The square code with what it is for."""

    def pair(self, above: Sequence[Flowable], seal: Seal) -> Flowable:
        """For the paper of one pair: what stands above, the words below it, the square beside both."""
        text = N_(
            "Scan the square code. The workshop's portal says what this paper must say, and whether something newer is "
            "recorded. If the paper says otherwise, it was changed. No person is named there."
        )
        by_hand = N_(
            "Without a camera: open %(page)s and type the tag, the day and the check code of this paper."
        )
        return self._beside([*above, *self._words(text, by_hand, seal)], seal)

    def fleet(self, above: Sequence[Flowable], seal: Seal) -> Flowable:
        """The same for the paper of several pairs."""
        text = N_(
            "Scan the square code. The workshop's portal says for which pairs this paper was made and on which day, and "
            "whether something newer is recorded. No person is named there."
        )
        words = self._words(text, N_("The address must begin with %(page)s."), seal)
        return self._beside([*above, *words], seal)

    def _words(self, text: str, address: str, seal: Seal) -> list[Flowable]:
        compare = self.say(N_("The page must show this check code too: "))
        return [
            self.set.text(self.say(text), CELL),
            self.set.space(1),
            self.set.text((compare, Strong(seal.code)), CELL),
            self.set.space(1),
            self.set.text(self.say(address, page=seal.page), CELL),
        ]

    def _beside(self, words: Sequence[Flowable], seal: Seal) -> Flowable:
        side = SMALLEST if len(seal.address) <= LONG else LARGEST
        alt = self.say(N_("Square code that leads to the page on which this paper is checked"))
        code = self.set.picture(square_code(seal.address, side), alt)
        return Beside([words, [], [code]], [self.set.width - side - GAP, GAP, side])
