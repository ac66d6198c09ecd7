"""When someone else was faster: a page that says why not, leads on, and gives back what was written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager

from flask import make_response, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.words import N_, Phrase
from portal.web.shop.blueprint import bp

# (what it is, what was written): text that a person would not want to type again.
Written = Sequence[tuple[Phrase | str, str]]


class NotAnyMore(NotNow):
    """A refusal that knows its way back."""

    def __init__(self, reason: Phrase, on_url: str, on_label: str, written: Written) -> None:
        super().__init__(reason)
        self.on_url, self.on_label = on_url, on_label
        self.written = [(label, text) for label, text in written if text]


@bp.errorhandler(NotAnyMore)
def not_any_more(error: NotAnyMore) -> Response:
    return make_response(render_template("shop/not_any_more.html", refusal=error), 409)


@contextmanager
def leading_to(on_url: str, on_label: str, written: Written = ()) -> Iterator[None]:
    """A refusal within gets a way back and keeps what was ``written``; a full stone has its own page."""
    try:
        yield
    except NoRoom:
        raise
    except NotNow as refusal:
        raise NotAnyMore(refusal.reason, on_url, on_label, written) from refusal


def leading_to_booking(booking_id: int, written: Written = ()) -> AbstractContextManager[None]:
    """The same, with the booking as the way back."""
    return leading_to(
        url_for("shop.booking", booking_id=booking_id), N_("See how the booking stands"), written
    )
