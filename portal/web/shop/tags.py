"""Tags of a booking's pairs on sheets of stickers, as the workshop has them."""

from __future__ import annotations

from dataclasses import fields

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField

from portal.documents.tag_sheet import Tag, TagPaper, render
from portal.domain.errors import NotFound
from portal.domain.tag_sheets import LEAST_HEIGHT_MM, LEAST_WIDTH_MM, PAPER_MM, TagSheet
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import workshop
from portal.web.forms import PortalForm, Problem
from portal.web.language import speak
from portal.web.papers import fallback_fonts, pdf
from portal.web.request import actor, db, portal, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.measures import MeasureField, as_written
from portal.web.shop.refusals import leading_to_booking

MOST_COLUMNS, MOST_ROWS = 10, 30
SIZES = tuple(field.name for field in fields(TagSheet))


class TagSheetForm(PortalForm):
    """What the stickers are like, and where to begin."""

    columns = MeasureField(N_("Columns"), least=1, most=MOST_COLUMNS, whole=True)
    rows = MeasureField(N_("Rows"), least=1, most=MOST_ROWS, whole=True)
    width_mm = MeasureField(N_("Width of a sticker"), least=LEAST_WIDTH_MM, most=PAPER_MM[0], unit="mm")
    height_mm = MeasureField(N_("Height of a sticker"), least=LEAST_HEIGHT_MM, most=PAPER_MM[1], unit="mm")
    left_mm = MeasureField(N_("Left edge"), least=0, most=PAPER_MM[0], unit="mm")
    top_mm = MeasureField(N_("Upper edge"), least=0, most=PAPER_MM[1], unit="mm")
    used = MeasureField(N_("Stickers that are used up"), least=0, most=MOST_COLUMNS * MOST_ROWS, whole=True)
    frames = BooleanField(N_("Print the edges of the stickers"))

    @property
    def sheet(self) -> TagSheet:
        """As it was filled in, with the usual numbers where one could not be read."""
        read = {name: value for name in SIZES if (value := self[name].value) is not None}
        return TagSheet(**read | {name: int(read[name]) for name in ("columns", "rows") if name in read})

    def _are_read(self, *names: str) -> bool:
        return all(self[name].value is not None for name in names)

    def validate_left_mm(self, _field: MeasureField) -> None:
        over, _below = self.sheet.over_mm
        if over > 0 and self._are_read("columns", "width_mm", "left_mm"):
            raise Problem(
                N_(
                    "The columns reach %(over)s mm over the right edge of the paper. Make them narrower or fewer"
                ),
                over=as_written(over),
            )

    def validate_top_mm(self, _field: MeasureField) -> None:
        _over, below = self.sheet.over_mm
        if below > 0 and self._are_read("rows", "height_mm", "top_mm"):
            raise Problem(
                N_("The rows reach %(over)s mm over the lower edge of the paper. Make them lower or fewer"),
                over=as_written(below),
            )

    def validate_used(self, field: MeasureField) -> None:
        many = self.sheet.many
        if field.value is not None and field.value >= many and self._are_read("columns", "rows"):
            raise Problem(N_("A sheet has %(many)s stickers, and at least one has to be left"), many=many)


@bp.route("/bookings/<int:booking_id>/tags", methods=["GET", "POST"])
def tags(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    kept = TagSheet.from_json(find_workshop.the(db()).tag_sheet)
    form = TagSheetForm.posted(**kept.to_json(), used=0)
    if form.is_sent_and_right():
        if form.sheet != kept:
            with leading_to_booking(booking_id), transaction() as session:
                workshop.keep_tag_sheet(session, actor(), form.sheet)
        used = int(form.used.value or 0)
        frames = "yes" if form.frames.data else None
        return redirect(
            url_for("shop.tag_paper", booking_id=booking_id, used=used or None, frames=frames), 303
        )
    return render_template(
        "shop/tags.html", form=form, booking=booking, back_url=url_for("shop.booking", booking_id=booking_id)
    )


@bp.get("/bookings/<int:booking_id>/tags.pdf")
def tag_paper(booking_id: int) -> Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    here = find_workshop.the(db())
    sheet = TagSheet.from_json(here.tag_sheet)
    used = request.args.get("used", 0, type=int)
    if not 0 <= used < sheet.many:
        raise NotFound
    made = [
        Tag(
            grouped(tag_of(item.pair_id)),
            portal().settings.base_url + url_for("public.tag", code=tag_of(item.pair_id)),
            tuple(line for line in (item.pair.title, item.pair.mark, booking.reference, here.name) if line),
        )
        for item in booking.items
    ]
    paper = TagPaper(here.name, booking.reference, tuple(made), sheet, used, "frames" in request.args)
    return pdf(render(paper, speak(), fallback_fonts=fallback_fonts()), f"tags-{booking.reference}")
