"""A reason: one from the list, words of one's own, or both."""

from __future__ import annotations

from typing import Any, Self

from flask import request
from wtforms import SelectField, TextAreaField

from portal.domain.reasons import Use
from portal.domain.words import N_
from portal.queries import reasons as find_reasons
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.language import say
from portal.web.request import db

LONGEST_REASON = 2000


class ReasonForm(PortalForm):
    """Two fields that any form can be built on; ``for_use`` fills the list and reads what was sent."""

    listed = SelectField(N_("Reason"), validate_choice=False)
    own = TextAreaField(N_("In your own words"), [at_most(LONGEST_REASON)], filters=[trimmed])
    choices: tuple[str, ...] = ()

    @classmethod
    def for_use(cls, use: Use, **data: Any) -> Self:
        """The form as it was sent, or filled from ``data``, with the reasons that there are for ``use``."""
        form = cls.posted(**data)
        form.choices = find_reasons.of(db(), use)
        form.listed.choices = [
            ("", N_("None of these")),
            *((str(number), words) for number, words in enumerate(form.choices)),
        ]
        if request.method == "GET" and form.listed.data is None:
            form.listed.data = ""
        return form

    def validate_listed(self, field: SelectField) -> None:
        known = {str(number) for number in range(len(self.choices))}
        if field.data and field.data not in known:
            raise Problem(N_("Choose a reason from the list, or write your own"))
        if not field.data and not self.own.data:
            raise Problem(N_("Choose a reason from the list, or write your own"))

    @property
    def reason(self) -> str:
        """The chosen reason in the language of this page, then the words of one's own, each on a line."""
        chosen = say(self.choices[int(self.listed.data)]) if self.listed.data else ""
        return "\n".join(part for part in (chosen, self.own.data or "") if part)
