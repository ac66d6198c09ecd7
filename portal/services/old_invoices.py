"""Names on invoices of people who erased their accounts, which go when bookkeeping law asks for them no more."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from portal.domain.frozen import to_json
from portal.domain.invoices import Party
from portal.domain.personal import ERASED
from portal.domain.striking_out import Words
from portal.queries import erasing as find_erasing
from portal.queries import workshop as find_workshop
from portal.services.holds import day_at
from portal.services.invoices import content_of


def forget_names(session: Session, now: datetime) -> int:
    """Take names and addresses out of what was kept long enough after its year; gives back of how many."""
    workshop = find_workshop.the_or_none(session)
    if workshop is None:
        return 0
    old = find_erasing.old_invoices(session, day_at(workshop, now).year - workshop.keep_invoices_years)
    for row in old:
        was = content_of(row)
        # Only the reason was written by anybody; lines and amounts are the portal's words, whoever is called like them.
        reason = Words([was.buyer.name]).struck(was.reason)
        buyer = Party(ERASED, country=was.buyer.country)
        row.content = to_json(replace(was, buyer=buyer, buyer_reference="", reason=reason))
        row.reason, row.is_nameless = "", True
    return len(old)
