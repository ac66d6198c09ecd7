"""What waits in the outbox, as the reader of a mailbox would find it."""

from __future__ import annotations

import re

from sqlalchemy import select

from portal.db.outbox import OutboxLetter
from tests.page import Visitor


def newest_letter(visitor: Visitor) -> OutboxLetter:
    """The letter that was written last."""
    with visitor.app.extensions["portal"].database.read() as session:
        found = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc()).limit(1)).one()
        session.expunge(found)
        return found


def link_in_newest(visitor: Visitor) -> str:
    """The path of the link in the newest letter."""
    body = newest_letter(visitor).body
    found = re.search(r"\{site\}(/(?:confirm|reset|invitation)/\S+)", body)
    assert found, body
    return found[1]
