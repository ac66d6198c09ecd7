"""Something was wrong with a grind: what pages of every audience say of it, and the page on which an owner says so."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from flask import flash, redirect, render_template, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response
from wtforms import TextAreaField

from portal.domain.access import Action, insist, may
from portal.domain.errors import NotFound, NotNow
from portal.domain.rework import Case
from portal.domain.words import N_, Phrase
from portal.queries import handovers as find_handovers
from portal.queries import pairs as find_pairs
from portal.queries import reworks as find_reworks
from portal.services import reworks
from portal.web.errors import page
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction

LONGEST_WORDS = 2000
SEE_PAIR = N_("Back to the pair")


class WrongForm(PortalForm):
    """What the owner saw."""

    words = TextAreaField(
        N_("What is wrong with this grind?"),
        [said(N_("Write what you saw or felt, and on which snow")), at_most(LONGEST_WORDS)],
        filters=[trimmed],
    )


@dataclass(frozen=True)
class Told:
    """A line under a grind, and the booking it speaks of, where there is one."""

    words: Phrase
    booking: Any = None


def lines_of(session: Session, grinds: Sequence[Any]) -> dict[int, list[Told]]:
    """For each grind what was wrong with it and what it makes good, in words: grind -> lines."""
    found: dict[int, list[Told]] = defaultdict(list)
    if not grinds:
        return found
    voice = speak()
    theirs = _theirs(session, grinds[0].pair_id)
    for rework in find_reworks.of_grinds(session, [grind.id for grind in grinds]):
        if theirs(rework.created_at):
            found[rework.grind_id].append(_of_bad(rework))
        elif rework.standing is Case.MADE:
            found[rework.grind_id].append(Told(Phrase(N_("The pair was ground again after this"))))
    by_item = {grind.item_id: grind for grind in grinds if grind.item_id is not None}
    for item_id, rework in find_reworks.instead_of(session, list(by_item)).items():
        words = Phrase(
            N_("Ground again in place of the grind of %(day)s, because: %(reason)s"),
            {"day": voice.short_date(rework.grind.ground_on), "reason": _one_line(rework.reason)},
        )
        if not theirs(rework.created_at):
            words = Phrase(
                N_("Ground again in place of the grind of %(day)s"),
                {"day": voice.short_date(rework.grind.ground_on)},
            )
        found[by_item[item_id].id].insert(0, Told(words))
    return found


def _theirs(session: Session, pair_id: int) -> Callable[[datetime], bool]:
    """Of which moments they read what was said of the pair: the workshop of all, an owner of those since the pair is theirs."""
    if actor().is_staff:
        return lambda _at: True
    return find_handovers.was_theirs(session, find_pairs.one(session, actor(), pair_id))


def _of_bad(rework: Any) -> Told:
    if rework.standing is Case.ASKED:
        asked = Phrase(
            N_("Something is wrong with it, says its owner: %(words)s"),
            {"words": _one_line(rework.asked_words)},
        )
        return Told(asked)
    if rework.standing is Case.REFUSED:
        words = Phrase(N_("Looked at and not ground again: %(reason)s"), {"reason": _one_line(rework.reason)})
        return Told(words)
    words = Phrase(N_("The pair is ground again, because: %(reason)s"), {"reason": _one_line(rework.reason)})
    return Told(words, rework.booking)


def _one_line(text: str) -> str:
    return " ".join(text.split())


def can_ask(session: Session, grinds: Sequence[Any]) -> int | None:
    """The grind that its owner may say something about: the last one, as long as it is time and nothing was said yet."""
    if not grinds or grinds[0].item_id is None:
        return None
    faulty = find_reworks.grind(session, actor(), grinds[0].id)
    if reworks.why_not(session, faulty, today()) is not None or faulty.item is None:
        return None
    known = find_reworks.standing_of(session, faulty.grind.id) is not None
    return None if known or find_reworks.refused_before(session, faulty.grind.id) else faulty.grind.id


def ask_page(pair: Any, grind_id: int, back_url: str) -> str | Response:
    """The page on which whoever owns the pair says what is wrong with a grind of it."""
    insist(actor(), Action.BOOK_PAIR, pair)
    faulty = find_reworks.grind(db(), actor(), grind_id)
    if faulty.grind.pair_id != pair.id or faulty.item is None:
        raise NotFound
    form = WrongForm.posted()
    if form.is_sent_and_right():
        here = today()
        try:
            with transaction() as session:
                reworks.ask(session, actor(), grind_id, form.words.data or "", here, now())
        except NotNow as refusal:
            return page(409, "409", reason=refusal.reason, on_url=back_url, on_label=SEE_PAIR)
        flash(say(N_("The workshop has your words and answers by e-mail.")))
        return redirect(back_url, 303)
    too_late = reworks.why_not(db(), faulty, today())
    if too_late is not None:
        return page(409, "409", reason=too_late, on_url=back_url, on_label=SEE_PAIR)
    return render_template("rework/ask.html", form=form, pair=pair, grind=faulty.grind, back_url=back_url)


def of_booking(session: Session, booking: Any, endpoint: str, **values: Any) -> list[tuple[Phrase, str, str]]:
    """How a booking hangs together with others: (sentence, address, reference) for each booking at the other end."""
    made_for, made = find_reworks.of_booking(session, booking.id)
    lines: list[tuple[Phrase, Any]] = []
    if made_for is not None:
        first = find_reworks.first_bookings(session, [made_for.grind.item_id]).get(
            made_for.grind.item_id or 0
        )
        if first is not None and not may(actor(), Action.SEE_BOOKING, first):
            first = None
        words = Phrase(
            N_("%(pair)s is ground again here, because: %(reason)s"),
            {"pair": made_for.grind.pair.title, "reason": _one_line(made_for.reason)},
        )
        lines.append((words, first))
    for rework in made:
        # Of a pair that has changed hands since, what happens to it is no concern of whoever had it.
        if rework.booking is not None and may(actor(), Action.SEE_BOOKING, rework.booking):
            words = Phrase(
                N_("%(pair)s is ground again, because: %(reason)s"),
                {"pair": rework.grind.pair.title, "reason": _one_line(rework.reason)},
            )
            lines.append((words, rework.booking))
    return [
        (
            words,
            url_for(endpoint, booking_id=other.id, **values) if other else "",
            other.reference if other else "",
        )
        for words, other in lines
    ]
