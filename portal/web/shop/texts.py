"""The workshop's own wording: every text that may be reworded, and one of them beside the shipped version."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import SelectField, StringField, SubmitField, TextAreaField

from portal.domain.errors import NotFound
from portal.domain.own_texts import PLACES, Kind, Slot, problem
from portal.domain.words import N_
from portal.i18n import Voice, languages, voice
from portal.queries import own_texts as find_own_texts
from portal.services import letter_preview, own_texts
from portal.web.forms import PortalForm, trimmed
from portal.web.language import own_texts as current_texts
from portal.web.language import say, speak
from portal.web.request import actor, db, now, portal, row_number, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to

PAGE = 40
LAST_PAGE = 1000


class FindTextForm(PortalForm):
    """Which texts to list; read from the address."""

    kind = SelectField(N_("Where it is read"), validate_choice=False)
    words = StringField(N_("Words in it"), filters=[trimmed])


def unix_lines(value: str | None) -> str:
    """A filter: lines end in one way, however the browser sent them."""
    return (value or "").replace("\r\n", "\n").replace("\r", "\n")


class TextForm(PortalForm):
    """Own words for one text; the view sets ``slot``."""

    slot: Slot

    words = TextAreaField(N_("Your words"), filters=[unix_lines, trimmed])
    look = SubmitField(N_("Show how it reads"))
    back = SubmitField(N_("Go back to the shipped text"))

    def validate_words(self, field: Any) -> None:
        why_not = problem(self.slot, field.data or "")
        if why_not is not None:
            field.errors = [*field.errors, why_not]


def _slots() -> dict[str, Slot]:
    return own_texts.slots(portal().reference.care.rules)


def _language_name(code: str) -> str:
    name = speak().locale.languages.get(code) or code
    return name[:1].upper() + name[1:]


def _shipped(slot: Slot, reader: Voice) -> str:
    return voice(reader.language, reader.timezone).translate(slot.shipped)


def _page(count: int) -> tuple[int, int]:
    pages = max(1, -(-count // PAGE))
    return min(row_number(request.args.get("page")) or 1, LAST_PAGE), pages


def _matches(slot: Slot, wanted: str) -> bool:
    known = current_texts()
    said = (say(slot.title), say(slot.shipped), *(known.of(slot.key, one) or "" for one in languages()))
    return all(any(word in text.casefold() for text in said) for word in wanted.casefold().split())


@bp.get("/texts")
def texts() -> str:
    insist_on_manager()
    find = FindTextForm(formdata=request.args)
    slots = list(_slots().values())
    kinds = [kind for kind in Kind if any(slot.kind is kind for slot in slots)]
    find.kind.choices = [("", N_("Everywhere")), *((kind.value, kind.label) for kind in kinds)]
    chosen, wanted = find.kind.data or "", find.words.data or ""
    listed = [slot for slot in slots if chosen in {"", slot.kind} and _matches(slot, wanted)]
    page, pages = _page(len(listed))

    def link(number: int) -> str | None:
        given = {"kind": chosen or None, "words": wanted or None, "page": number}
        return url_for("shop.texts", **given) if 1 <= number <= pages else None  # type: ignore[arg-type]

    return render_template(
        "shop/texts.html",
        find=find,
        listed=listed[(page - 1) * PAGE : page * PAGE],
        total=len(listed),
        own=current_texts(),
        languages=[(code, _language_name(code)) for code in languages()],
        page=page,
        pages=pages,
        before=link(page - 1),
        after=link(page + 1),
        back_url=url_for("shop.hub"),
    )


@bp.route("/texts/<slot>", methods=["GET", "POST"], endpoint="text")
def one_text(slot: str) -> str | Response:
    insist_on_manager()
    language = request.args.get("language", speak().language)
    found = _slots().get(slot)
    if found is None or language not in languages():
        raise NotFound
    form = TextForm.posted(words=_words_to_start_from(found, language))
    form.slot = found
    here = url_for("shop.text", slot=slot, language=language)
    if form.back.data and request.method == "POST":
        with leading_to(here, N_("See the text")), transaction() as session:
            own_texts.back_to_shipped(session, actor(), found, language, now())
        flash(say(N_("The shipped text is back. Your words are among the versions.")))
        return redirect(here, 303)
    right = form.is_sent_and_right()
    if right and not form.look.data:
        words = form.words.data or ""
        with (
            leading_to(here, N_("See the text"), [(N_("The text you wrote"), words)]),
            transaction() as session,
        ):
            own_texts.reword(session, actor(), found, language, words, now())
        flash(say(N_("The text is kept. It is said like that from now on.")))
        return redirect(here, 303)
    return _text_page(found, language, form, here, is_looked_at=right)


def _words_to_start_from(slot: Slot, language: str) -> str:
    """An older version where the address names one, else what is said now."""
    number = row_number(request.args.get("version"))
    if number is not None:
        return find_own_texts.version(db(), slot.key, language, number).words
    own = current_texts().of(slot.key, language)
    return own or voice(language).translate(slot.shipped)


def _text_page(slot: Slot, language: str, form: TextForm, here: str, *, is_looked_at: bool) -> str:
    reader = voice(language, speak().timezone)
    own = current_texts()
    current = own.of(slot.key, language)
    words = (form.words.data or "") if is_looked_at else (current or _shipped(slot, reader))
    return render_template(
        "shop/text.html",
        form=form,
        slot=slot,
        shipped=_shipped(slot, reader),
        current=current,
        looks=words,
        is_looked_at=is_looked_at,
        letter=letter_preview.with_words(db(), slot.key, words, reader, own, now()),
        site=portal().settings.base_url,
        places=[(f"%({name})s", PLACES[name]) for name in slot.places],
        needed={f"%({name})s" for name in slot.needed},
        versions=find_own_texts.versions(db(), slot.key, language),
        language_code=language,
        language_name=_language_name(language),
        others=[(code, _language_name(code)) for code in languages() if code != language],
        here=here,
        back_url=url_for("shop.texts", kind=slot.kind.value),
    )
