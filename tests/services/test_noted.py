"""What the services write down of who did what."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.domain.audit import Act
from portal.domain.change_rules import ChangeRules
from portal.domain.prices import Item
from portal.domain.tag_sheets import TagSheet
from portal.domain.words import Phrase
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import catalogue, change_terms, diamonds, opening, prices, workshop
from portal.services.catalogue import FamilyFacts
from portal.services.diamonds import DiamondFacts
from tests.cast import Cast
from tests.make import NOW


def noted(session: Session) -> list[tuple[Act, str, str]]:
    session.flush()
    rows = session.scalars(select(AuditEntry).order_by(AuditEntry.id))
    return [(row.act, row.about, row.name) for row in rows]


def test_changes_of_the_catalogue_are_written_down(session: Session, cast: Cast) -> None:
    row = find_structures.by_key(session, "heather")
    seen = find_structures.value(row)
    catalogue.change_structure(session, cast.mia, 1, seen, NOW)
    catalogue.change_structure(session, cast.mia, 1, replace(seen, minutes=seen.minutes + 1), NOW)
    catalogue.add_structure(session, cast.mia, replace(seen, key="reed", name="Reed"), NOW)
    catalogue.retire(session, cast.mia, "reed", NOW)
    catalogue.bring_back(session, cast.mia, "reed", NOW)
    made = catalogue.add_family(session, cast.mia, "middling", FamilyFacts("Middling", "", ""), 3, NOW)
    catalogue.change_family(session, cast.mia, made.id, FamilyFacts("Between", "", ""), NOW)
    assert noted(session) == [
        (Act.STRUCTURE_WRITTEN, row.name, "Mia"),
        (Act.STRUCTURE_WRITTEN, "Reed", "Mia"),
        (Act.STRUCTURE_RETIRED, "Reed", "Mia"),
        (Act.STRUCTURE_BROUGHT_BACK, "Reed", "Mia"),
        (Act.FAMILY_WRITTEN, "Middling", "Mia"),
        (Act.FAMILY_WRITTEN, "Between", "Mia"),
    ]


def test_changes_of_diamonds_are_written_down_once(session: Session, cast: Cast) -> None:
    made = diamonds.add(session, cast.mia, DiamondFacts("Plover", 0.5, 0.4), NOW)
    session.flush()
    diamonds.change(session, cast.mia, made.id, DiamondFacts("Dunlin", 0.5, 0.4), 0, NOW)
    for _ in range(2):
        diamonds.retire(session, cast.mia, made.id, NOW)
    for _ in range(2):
        diamonds.bring_back(session, cast.mia, made.id, NOW)
    assert [(act, about) for act, about, _name in noted(session)] == [
        (Act.DIAMOND_WRITTEN, "Plover"),
        (Act.DIAMOND_WRITTEN, "Dunlin"),
        (Act.DIAMOND_RETIRED, "Dunlin"),
        (Act.DIAMOND_BROUGHT_BACK, "Dunlin"),
    ]
    assert made in find_diamonds.in_use(session)


def test_what_a_setting_was_changed_to_can_be_read(session: Session, cast: Cast) -> None:
    change_terms.keep_rules(session, cast.mia, ChangeRules(3, None, Decimal("10.00")), 48, NOW)
    prices.set_price(session, cast.mia, Item.GRIND, Decimal("45.00"), date(2026, 12, 9), NOW)
    prices.set_terms(session, cast.mia, express_days=2, deposit_percent=30, now=NOW)
    opening.change(
        session, cast.mia, lambda old: old, NOW, Phrase("%(day)s as usual", {"day": date(2026, 12, 24)})
    )
    for shown in (TagSheet(rows=4), TagSheet(rows=4)):
        workshop.keep_tag_sheet(session, cast.mia, shown, NOW)
    session.flush()
    rows = session.scalars(select(AuditEntry).order_by(AuditEntry.id))
    assert [(row.act, row.about, row.words) for row in rows] == [
        (
            Act.RULES_SET,
            "",
            "Time is held for 48 hours; changes are free until 3 days before hand-in and can be made until – days before it; "
            "fees: 10.00 for another day, 0.00 for a pair, 0.00 for cancelling",
        ),
        (Act.PRICE_SET, "Grind", "45.00 EUR from Wed 9 December 2026"),
        (Act.TERMS_SET, "", "Express up to 2 working days, deposit 30 %"),
        (Act.DAYS_CHANGED, "Thu 24 December 2026 as usual", "0 days of the stone"),
        (Act.WORKSHOP_SET, "Stickers of tags", ""),
    ]
