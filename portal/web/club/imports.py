"""A club's list of juniors: sent, looked at, its columns told, and loaded onto the roster."""

from __future__ import annotations

from collections.abc import Mapping

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField

from portal.domain.answers import Discipline
from portal.domain.errors import NotNow
from portal.domain.importing.readings import KEPT_DAYS, Subject
from portal.domain.importing.roster_fields import SKI, Slot, key_of
from portal.domain.importing.rosters import RosterOptions, Shown
from portal.domain.importing.sheets import MOST_ROWS
from portal.domain.words import N_, Phrase
from portal.queries import clubs as find_clubs
from portal.queries import imports as find_imports
from portal.queries import roster_lists as find_rosters
from portal.queries.imports import OpenImport
from portal.services import imports, roster_lists
from portal.web import listing
from portal.web.club.blueprint import bp, refused
from portal.web.language import say
from portal.web.list_forms import ColumnsForm, SendListForm, choice
from portal.web.listing import Way
from portal.web.request import actor, db, now, today, transaction

KNOWN_BY = ("name", "first_name", "last_name", "birth", *(key_of(slot, SKI) for slot in Slot))


class RosterColumnsForm(ColumnsForm):
    """What the columns of a list of juniors hold, and how their cells are meant."""

    discipline = RadioField(
        N_("Pairs for which the list does not say classic or skate"),
        choices=[
            choice("", N_("Leave their rows out")),
            *(choice(one.value, one.label) for one in Discipline),
        ],
    )
    shown = RadioField(N_("Names on the roster"), choices=[choice(one.value, one.label) for one in Shown])

    @classmethod
    def of(cls, it: OpenImport, meant: Mapping[int, str]) -> RosterColumnsForm:
        """The form for the columns of a list, with what each is taken for."""
        options = find_rosters.options_of(it)
        return cls.about(it, meant, discipline=options.discipline or "", shown=options.shown)

    @property
    def options(self) -> RosterOptions:
        kind = self.discipline.data
        return RosterOptions(Discipline(kind) if kind else None, Shown(self.shown.data))

    def missing(self, taken: frozenset[str]) -> Phrase | None:
        if not {"name", "last_name", "first_name"} & taken:
            return Phrase(N_("Say which column holds the name of the junior"))
        return None


def _came_in(brought: dict[str, int]) -> Phrase:
    return Phrase(N_("%(juniors)s juniors, %(pairs)s pairs"), brought)


def way(club_id: int) -> Way:
    """The pages of one club's lists; that a list is for its managers alone is seen to wherever one is read."""
    return Way(
        "club",
        Subject.ROSTER,
        KNOWN_BY,
        lambda it: find_rosters.judged(db(), it, today()).verdicts,
        _came_in,
        club_id,
        (url_for("club.club", club_id=club_id), N_("See the roster")),
        {"club_id": club_id},
    )


@bp.route("/<int:club_id>/import", methods=["GET", "POST"], endpoint="imports")
def all_imports(club_id: int) -> str | Response:
    club, here = find_clubs.one(db(), actor(), club_id), way(club_id)
    form = SendListForm.posted()
    return listing.send(here, form) or render_template(
        "club/imports.html",
        way=here,
        club=club,
        form=form,
        rows=[
            (row, _came_in(row.brought) if row.brought else None)
            for row in find_imports.lately(db(), actor(), club_id)
        ],
        kept_days=KEPT_DAYS,
        most_rows=MOST_ROWS,
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/import/<int:import_id>/reading", methods=["GET", "POST"])
def import_reading(club_id: int, import_id: int) -> str | Response:
    return listing.reading_page(way(club_id), import_id)


@bp.route("/<int:club_id>/import/<int:import_id>/columns", methods=["GET", "POST"])
def import_columns(club_id: int, import_id: int) -> str | Response:
    here = way(club_id)
    it = here.opened(import_id)
    meant, is_remembered = imports.meant_so_far(db(), it)
    form = RosterColumnsForm.of(it, meant)
    if form.is_sent_and_right():
        with transaction() as session:
            imports.take_columns(session, actor(), import_id, form.meant, form.options, now())
        return redirect(here.url("import_rows", import_id=import_id), 303)
    return render_template(
        "club/import_columns.html",
        form=form,
        it=it,
        is_remembered=is_remembered,
        back_url=here.url("import_reading", import_id=import_id),
    )


@bp.get("/<int:club_id>/import/<int:import_id>")
def import_rows(club_id: int, import_id: int) -> str | Response:
    here = way(club_id)
    row = here.row(import_id)
    if row.content is None:
        return render_template(
            "club/import_done.html",
            club=find_clubs.one(db(), actor(), club_id),
            row=row,
            back_url=here.url("imports"),
        )
    return listing.rows_page(here, row)


@bp.post("/<int:club_id>/import/<int:import_id>/load")
def load_import(club_id: int, import_id: int) -> Response:
    here, day = way(club_id), today()
    here.opened(import_id)
    page = here.url("import_rows", import_id=import_id)
    try:
        with transaction() as session:
            loaded = roster_lists.load(session, actor(), import_id, now(), day)
    except NotNow as error:
        return refused(error, page, N_("Look at the list again"))
    told = {"juniors": loaded.juniors, "pairs": loaded.pairs}
    flash(say(Phrase(N_("On the roster now: %(juniors)s more juniors and %(pairs)s more pairs."), told)))
    return redirect(page, 303)


@bp.get("/<int:club_id>/import/<int:import_id>/left-out.<kind>")
def left_out(club_id: int, import_id: int, kind: str) -> Response:
    return listing.left_out_file(way(club_id), import_id, kind)


@bp.route("/<int:club_id>/import/<int:import_id>/drop", methods=["GET", "POST"])
def drop_import(club_id: int, import_id: int) -> str | Response:
    return listing.drop_page(way(club_id), import_id)
