"""What the workshop says of itself on invoices, as the shop manager sets it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import audit


@dataclass(frozen=True)
class IssuerFacts:
    """Who issues invoices, where money is sent, within how many days, and what stands below."""

    legal_name: str
    street: str
    post_code: str
    city: str
    country: str
    vat_number: str
    tax_number: str
    register_number: str
    account_holder: str
    iban: str
    bic: str
    pay_days: int
    no_tax_reason: str
    invoice_remark: str
    keep_invoices_years: int = 10


def facts_of(workshop: Workshop) -> IssuerFacts:
    """As they are kept."""
    return IssuerFacts(**{field.name: getattr(workshop, field.name) for field in fields(IssuerFacts)})


def keep(session: Session, actor: Actor, facts: IssuerFacts, now: datetime) -> None:
    """What stands on invoices from now on; those that are issued stay as they are."""
    insist(actor, Action.SET_PRICES, None)
    workshop = find_workshop.locked(session)
    for field in fields(IssuerFacts):
        setattr(workshop, field.name, getattr(facts, field.name))
    # Where money is sent is what somebody would look for later.
    words = Phrase(
        N_("%(name)s, account %(iban)s, to pay within %(days)s days"),
        {"name": facts.legal_name, "iban": facts.iban or "–", "days": facts.pay_days},
    )
    audit.note(session, actor, Act.INVOICING_SET, now, words=words)
