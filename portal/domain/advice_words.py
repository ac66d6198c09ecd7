"""What speaks for and against a structure, in words made from the numbers."""

from __future__ import annotations

from collections.abc import Mapping

from portal.domain.answers import Answers, Discipline, Purpose
from portal.domain.coverage import Array, Share, shares_by_kind, shares_by_part
from portal.domain.evidence import Evidence
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.domain.structures import Family, Structure
from portal.domain.usual_snow import Part, UsualSnow
from portal.domain.words import N_, Phrase

# What structures are judged by beside their range: the evidence, and what other pairs cover already.
Grounds = tuple[Evidence, Array | None]

# A part of the winter is worth a sentence from this share of days on.
WORTH_SAYING = 0.05
GOOD, POOR = 0.7, 0.5
# Friction on snow was lowest near -3 °C: Buhl, D., Fauve, M. and Rhyner, H. (2001) Cold Regions Science and
# Technology 33, 133-140.
LEAST_FRICTION_C = -3.0
NEAR_C = 1.5


def said_of(
    family: Family,
    structure: Structure,
    covered: float,
    answers: Answers,
    usual: UsualSnow,
    grounds: Grounds,
) -> tuple[tuple[Phrase, ...], tuple[Phrase, ...]]:
    """What a structure covers well and what badly: the whole first, then parts of the winter, then kinds of snow."""
    parts = list(shares_by_part([structure], usual, *grounds).items())
    kinds = _by_days(shares_by_kind([structure], usual, *grounds))
    text = (
        N_("It covers %(share)s of 100 of your days.")
        if answers.purpose is Purpose.ALL_ROUND
        else N_("It covers %(share)s of 100 of the days this pair is for.")
    )
    part_text = N_("%(part)s are %(days)s of 100; it covers %(share)s of 100 of them.")
    kind_text = N_("%(kind)s lies on %(days)s of 100 of your days; it covers %(share)s of 100 of them.")
    good = [Phrase(text, {"share": hundred(covered)})]
    good += [
        _of_part(part_text, part, share)
        for part, share in parts
        if _is_worth(share) and share.covered >= GOOD
    ]
    good += [
        _of_kind(kind_text, kind, share)
        for kind, share in kinds
        if _is_worth(share) and share.covered >= GOOD
    ][:KINDS_SAID]
    if family.working_model:
        good.append(Phrase(family.working_model))
    part_text = N_("%(part)s are %(days)s of 100; it covers only %(share)s of 100 of them.")
    kind_text = N_("%(kind)s lies on %(days)s of 100 of your days; it covers only %(share)s of 100 of them.")
    weak = [
        _of_part(part_text, part, share) for part, share in parts if _is_worth(share) and share.covered < POOR
    ]
    weak += [
        _of_kind(kind_text, kind, share) for kind, share in kinds if _is_worth(share) and share.covered < POOR
    ]
    return tuple(good), tuple(weak)


# Of the kinds of snow that a structure covers well, the first few are said.
KINDS_SAID = 3


def _is_worth(share: Share) -> bool:
    return share.of_days >= WORTH_SAYING


def _of_part(text: str, part: Part, share: Share) -> Phrase:
    return Phrase(
        text, {"part": Phrase(part.label), "days": hundred(share.of_days), "share": hundred(share.covered)}
    )


def _of_kind(text: str, kind: SnowKind, share: Share) -> Phrase:
    return Phrase(
        text, {"kind": Phrase(kind.label), "days": hundred(share.of_days), "share": hundred(share.covered)}
    )


def _by_days(shares: Mapping[SnowKind, Share]) -> list[tuple[SnowKind, Share]]:
    return sorted(shares.items(), key=lambda one: -one[1].of_days)


def low_stakes(usual: UsualSnow) -> list[Phrase]:
    """A note where the choice matters less: mild frost on dry snow."""
    ordinary = usual.days.ordinary
    dry = float(usual.weights[:, :, 0].sum())
    if ordinary is None or abs(ordinary - LEAST_FRICTION_C) > NEAR_C or dry < GOOD:
        return []
    return [
        Phrase(
            N_(
                "Low stakes: near -3 °C on dry snow skis ran fastest in published tests, so the choice of structure matters less there."
            )
        )
    ]


def on_classic_skis(answers: Answers) -> list[Phrase]:
    """Where the structure goes on a pair with a grip zone; common practice, no publication was found."""
    if answers.discipline is not Discipline.CLASSIC:
        return []
    return [
        Phrase(
            N_(
                "On classic skis the structure goes on the glide zones. The grip zone is left without one or gets a very fine one, as is common practice."
            )
        )
    ]


def listed(names: list[Phrase]) -> Phrase:
    """``Close``, ``Close and Balanced``, ``Close, Balanced and Open``."""
    said = names[0]
    for name in names[1:-1]:
        said = Phrase(N_("%(one)s, %(more)s"), {"one": said, "more": name})
    if len(names) > 1:
        said = Phrase(N_("%(one)s and %(more)s"), {"one": said, "more": names[-1]})
    return said
