"""A reason: one from the list, words of one's own, or both."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Self

from flask import request
from wtforms import Field, SelectField, TextAreaField

from portal.domain.reasons import Use
from portal.domain.words import N_
from portal.queries import reasons as find_reasons
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.language import say
from portal.web.request import db

LONGEST_REASON = 2000


def in_words(choices: Mapping[str, str], listed: Field, own: Field) -> str:
    """What was chosen from the list, in the language of this page, then the words of one's own, each on a line."""
    chosen = choices.get(listed.data or "")
    return "\n".join(filter(None, (say(chosen) if chosen else "", own.data or "")))


class ReasonForm(PortalForm):
    """Two fields that any form can be built on; ``for_use`` fills the list and reads what was sent."""

    listed = SelectField(N_("Reason"), validate_choice=False)
    own = TextAreaField(N_("In your own words"), [at_most(LONGEST_REASON)], filters=[trimmed])
    # Name of a reason -> its words.
    choices: Mapping[str, str] = {}

    @classmethod
    def for_use(cls, use: Use, **data: Any) -> Self:
        """The form as it was sent, or filled from ``data``, with the reasons that there are for ``use``."""
        form = cls.posted(**data)
        form.choices = find_reasons.of(db(), use)
        form.listed.choices = [("", N_("None of these")), *form.choices.items()]
        if request.method == "GET" and form.listed.data is None:
            form.listed.data = ""
        return form

    def validate_listed(self, field: SelectField) -> None:
        if field.data and field.data not in self.choices:
            raise Problem(N_("Choose a reason from the list, or write your own"))
        if not field.data and not self.own.data:
            raise Problem(N_("Choose a reason from the list, or write your own"))

    @property
    def reason(self) -> str:
        """The chosen reason in the language of this page, then the words of one's own, each on a line."""
        return in_words(self.choices, self.listed, self.own)
