"""The page that erases an account, the same for whoever it is and for the workshop on behalf of somebody without one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from flask import render_template
from wtforms import BooleanField

from portal.domain.leaving import Way
from portal.domain.words import N_
from portal.queries import erasing as find_erasing
from portal.queries import workshop as find_workshop
from portal.services import erasing
from portal.web.forms import PortalForm, said
from portal.web.request import db

if TYPE_CHECKING:
    from portal.db.people import Person

Ways = Mapping[Way, Callable[[int], str]]


class EraseForm(PortalForm):
    """Asks to be sure."""

    sure = BooleanField(
        N_("Erase it for good: nobody can bring it back"),
        [said(N_("Tick that you are sure"))],
    )


def erase_page(form: EraseForm, person: Person, ways: Ways, back_url: str, *, is_own: bool) -> str:
    """What goes, what stays and why, and what has to be done first, each with the way to where it is done."""
    first = [
        (one.words, ways[one.way](one.number) if one.way in ways else None)
        for one in erasing.in_the_way(db(), person)
    ]
    workshop = find_workshop.the_or_none(db())
    return render_template(
        "account/erase.html",
        form=form,
        person=person,
        is_own=is_own,
        first=first,
        years=workshop.keep_invoices_years if workshop is not None else 0,
        shares_name=find_erasing.shares_name(db(), person, person.name),
        back_url=back_url,
    )
