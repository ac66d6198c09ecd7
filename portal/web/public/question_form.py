"""One form for every snow question, built from what the domain says of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import request
from wtforms import RadioField, SelectMultipleField, StringField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.questions import UNSURE, Field, Problems, Question, read
from portal.web.forms import PortalForm


def _input(field: Field) -> Any:
    choices = [SelectChoice(value, label) for value, label in field.choices]
    if field.kind == "choice":
        return RadioField(field.label, description=field.hint, choices=choices, validate_choice=False)
    if field.kind == "choices":
        return SelectMultipleField(
            field.label, description=field.hint, choices=choices, validate_choice=False
        )
    return StringField(field.label, description=field.hint)


def form_of(question: Question, stored: Mapping[str, Any]) -> PortalForm:
    """The form of a question: as it was sent, or filled with what is stored."""
    inputs = {field.name: _input(field) for field in question.fields}
    made: type[PortalForm] = type("QuestionForm", (PortalForm,), inputs)
    return made.posted(**_kept(question, stored))


def answer_of(question: Question, form: PortalForm) -> tuple[Any, Problems]:
    """What was sent, ready to be stored, and what has to be changed first; the faults stand at their fields too."""
    posted = {field.name: request.form.getlist(field.name) for field in question.fields}
    value, problems = read(question, posted)
    for name, problem in problems:
        field: Any = form[name]
        field.errors = [*field.errors, problem]
    return value, problems


def _kept(question: Question, stored: Mapping[str, Any]) -> dict[str, Any]:
    """A stored answer as the fields show it."""
    if question.key not in stored:
        return {}
    value = stored[question.key]
    if not isinstance(value, dict):
        return {question.fields[0].name: value}
    kept = {field.name: _written(value.get(field.name)) for field in question.fields}
    if UNSURE in kept and not any(kept.values()):
        kept[UNSURE] = [UNSURE]
    return kept


def _written(value: Any) -> Any:
    return f"{value:g}" if isinstance(value, float | int) else value
