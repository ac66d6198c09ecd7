"""Scanning a tag with a phone: its camera where the browser reads codes, a photo of the tag everywhere else."""

from __future__ import annotations

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import FileField, StringField

from portal.domain.errors import NotFound
from portal.domain.tags import number_of
from portal.domain.words import N_, Phrase
from portal.pictures.codes import NoPhoto, codes_in
from portal.queries import pairs as find_pairs
from portal.web.forms import PortalForm, trimmed
from portal.web.request import actor, db
from portal.web.shop.blueprint import bp
from portal.web.shop.scan import MOST_SCANNED

NOTHING = Phrase(N_("Take a photo of a tag"))
NO_PHOTO = Phrase(N_("This is no photo that can be read. Choose a JPEG, PNG or WebP"))
NO_CODE = Phrase(
    N_(
        "No square code can be read in this photo. Go nearer, hold still and mind the light, or type the code of the tag"
    )
)
NOT_OURS = Phrase(N_("No pair has the code in this photo. Take one of the tag that is on the ski"))
SEVERAL = Phrase(N_("There are several tags in this photo. Take one tag alone"))


class CameraForm(PortalForm):
    """A photo of a tag, or what the browser read by itself."""

    photo = FileField(N_("Photo of the tag"))
    code = StringField(filters=[trimmed])

    def scanned(self) -> tuple[int | None, Phrase]:
        """The pair whose tag it is, or what to do instead."""
        texts: tuple[str, ...] = (self.code.data,) if self.code.data else ()
        if not texts:
            sent = request.files.get("photo")
            if sent is None or not sent.filename:
                return None, NOTHING
            try:
                texts = codes_in(sent.read())
            except NoPhoto:
                return None, NO_PHOTO
        if not texts:
            return None, NO_CODE
        pairs = {pair_id for text in texts if (pair_id := _pair_of(text)) is not None}
        if len(pairs) > 1:
            return None, SEVERAL
        return (pairs.pop(), NOTHING) if pairs else (None, NOT_OURS)


def _pair_of(text: str) -> int | None:
    try:
        return find_pairs.one(db(), actor(), number_of(text)).id if len(text) <= MOST_SCANNED else None
    except NotFound:
        return None


@bp.route("/scan/camera", methods=["GET", "POST"], endpoint="scan_camera")
def with_camera() -> str | Response:
    form = CameraForm.posted()
    if form.is_sent_and_right():
        pair_id, instead = form.scanned()
        if pair_id is not None:
            return redirect(url_for("shop.pair", pair_id=pair_id, scanned="camera"), 303)
        form.photo.errors = [instead]  # type: ignore[list-item]
    return render_template(
        "shop/camera.html", form=form, typing_url=url_for("shop.scan"), back_url=url_for("shop.scan")
    )
