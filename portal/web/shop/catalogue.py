"""The catalogue as the workshop sees it: families, structures, their versions and what follows from their layers."""

from __future__ import annotations

import re
import unicodedata

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import SelectField, StringField, TextAreaField

from portal.domain.access import Action, insist
from portal.domain.errors import NotFound, NotNow
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.services import catalogue
from portal.services.catalogue import KEY_LENGTH, FamilyFacts
from portal.web.evidence import of_structure
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.range_words import SUITS
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import choice, offered
from portal.web.shop.refusals import leading_to
from portal.web.shop.surfaces import layer_words, preview_of, ranges

NAME_LENGTH, TEXT_LENGTH = 80, 1000


class FamilyForm(PortalForm):
    """What a family is called and what it is for."""

    name = StringField(
        N_("Name"), [said(N_("Enter a name for the family")), at_most(NAME_LENGTH)], filters=[trimmed]
    )
    summary = TextAreaField(
        N_("What it is for"),
        [said(N_("Write in a sentence or two what the family is for")), at_most(TEXT_LENGTH)],
        filters=[trimmed],
    )
    working_model = TextAreaField(
        N_("Working model"),
        [at_most(TEXT_LENGTH)],
        filters=[trimmed],
        description=N_("How you think it works; skiers read it beside the advice"),
    )

    @property
    def facts(self) -> FamilyFacts:
        """What was entered."""
        return FamilyFacts(self.name.data or "", self.summary.data or "", self.working_model.data or "")


class NewFamilyForm(FamilyForm):
    """A further family, and between which of the others it stands."""

    position = SelectField(
        N_("Place, from most bearing to most open"),
        [offered(N_("Choose a place from the list"))],
        choices=[],
        validate_choice=False,
    )


@bp.get("/catalogue", endpoint="catalogue")
def all_structures() -> str:
    insist(actor(), Action.SEE_CATALOGUE, None)
    rows = [(row, find_structures.value(row)) for row in find_structures.all_current(db())]
    return render_template(
        "shop/catalogue.html",
        families=[
            (family, [pair for pair in rows if pair[0].family_id == family.id])
            for family in find_structures.families(db())
        ],
        retired=find_structures.retired(db()),
    )


@bp.get("/catalogue/structures/<key>")
def structure(key: str) -> str:
    return _shown(key, None)


@bp.get("/catalogue/structures/<key>/versions/<int:number>")
def structure_version(key: str, number: int) -> str:
    return _shown(key, number)


def _shown(key: str, number: int | None) -> str:
    insist(actor(), Action.SEE_CATALOGUE, None)
    versions = find_structures.versions(db(), key)
    row = next((row for row in versions if number in (None, row.version)), None)
    if row is None:
        raise NotFound
    value = find_structures.value(row)
    return render_template(
        "shop/structure.html",
        row=row,
        newest=versions[0],
        value=value,
        versions=versions,
        uses=find_structures.uses(db(), [one.id for one in versions]),
        layers=[layer_words(layer) for layer in value.layers],
        preview=preview_of(value),
        ranges=ranges(value.range, value.void_ml_m2, value.plateau),
        suits=[(kind.label, SUITS[value.range.suits[kind]]) for kind in SnowKind],
        # Notes speak of what is on offer; an old version has had its own surface.
        evidence=of_structure(db(), key) if row.current else None,
        back_url=url_for("shop.catalogue") if number is None else url_for("shop.structure", key=key),
    )


@bp.post("/catalogue/structures/<key>/retire")
def retire_structure(key: str) -> Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    row = find_structures.newest(db(), key)
    with leading_to(url_for("shop.structure", key=key), N_("See the structure")), transaction() as session:
        catalogue.retire(session, actor(), key, now())
    flash(say(Phrase(N_("%(name)s is retired. Bookings and histories keep it."), {"name": row.name})))
    return redirect(url_for("shop.structure", key=key), 303)


@bp.post("/catalogue/structures/<key>/bring-back")
def bring_back_structure(key: str) -> Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    row = find_structures.newest(db(), key)
    with leading_to(url_for("shop.structure", key=key), N_("See the structure")), transaction() as session:
        catalogue.bring_back(session, actor(), key, now())
    flash(say(Phrase(N_("%(name)s is on offer again."), {"name": row.name})))
    return redirect(url_for("shop.structure", key=key), 303)


@bp.route("/catalogue/families/new", methods=["GET", "POST"])
def new_family() -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    families = find_structures.families(db())
    form = NewFamilyForm.posted(position=str(len(families) + 1))
    form.position.choices = [
        choice(1, N_("First, the most bearing")),
        *(
            choice(at + 1, Phrase(N_("After %(family)s"), {"family": Phrase(row.name)}))  # type: ignore[arg-type]
            for at, row in enumerate(families, 1)
        ),
    ]
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                catalogue.add_family(
                    session, actor(), _key_of(form.facts.name), form.facts, int(form.position.data), now()
                )
        except NotNow as refusal:
            form.name.errors = [refusal.reason]  # type: ignore[list-item]
        else:
            flash(say(Phrase(N_("The family %(name)s is added."), {"name": form.facts.name})))
            return redirect(url_for("shop.catalogue"), 303)
    return render_template("shop/family.html", form=form, row=None, back_url=url_for("shop.catalogue"))


@bp.route("/catalogue/families/<int:family_id>", methods=["GET", "POST"])
def family(family_id: int) -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    row = find_structures.family(db(), family_id)
    form = FamilyForm.posted(name=row.name, summary=row.summary, working_model=row.working_model)
    if form.is_sent_and_right():
        with transaction() as session:
            catalogue.change_family(session, actor(), family_id, form.facts, now())
        flash(say(Phrase(N_("The family %(name)s is saved."), {"name": form.facts.name})))
        return redirect(url_for("shop.catalogue"), 303)
    return render_template("shop/family.html", form=form, row=row, back_url=url_for("shop.catalogue"))


def _key_of(name: str) -> str:
    """A key from a name: its letters and digits without accents, joined by hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return "-".join(re.findall(r"[a-z0-9]+", plain))[:KEY_LENGTH].strip("-") or "family"
