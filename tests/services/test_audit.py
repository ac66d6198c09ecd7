"""Who did what."""

from __future__ import annotations

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.people import Person
from portal.domain.audit import Act
from portal.services import audit
from tests import make


def test_an_act_is_kept_with_the_name_even_when_the_account_ends(session: Session) -> None:
    person = make.manager(session, name="Mia")
    audit.note(session, make.actor(session, person), Act.WORKSHOP_SET, make.NOW, "x" * 300, "Hours")
    session.flush()
    session.execute(delete(Person).where(Person.id == person.id))
    session.expire_all()
    entry = session.scalars(select(AuditEntry)).one()
    assert (entry.name, entry.person_id, entry.act) == ("Mia", None, Act.WORKSHOP_SET)
    assert len(entry.about) == 200
