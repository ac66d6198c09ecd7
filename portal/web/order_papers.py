"""The papers that go along with a club's order: the packing list, the handback list and the tags of all its pairs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from flask import url_for
from werkzeug.wrappers import Response

from portal.documents import handback_list, packing_list
from portal.documents.crate_paper import CratePair, CratePaper
from portal.domain.bookings import Status
from portal.domain.errors import NotFound
from portal.domain.prices import Item
from portal.domain.tag_sheets import TagSheet
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.web.language import speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import db, portal, today
from portal.web.tag_papers import tag_paper_of

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem

RENDERERS: dict[str, Callable[..., bytes]] = {
    "packing-list": packing_list.render,
    "handback-list": handback_list.render,
}


def has_papers(order: Booking) -> bool:
    """Whether there is something to pack: an order of a club that is agreed to."""
    return order.club_id is not None and order.status in {Status.CONFIRMED, Status.COMPLETED}


def sheet_words() -> Phrase:
    """What stickers the tags are printed on."""
    sheet = TagSheet.from_json(find_workshop.the(db()).tag_sheet)
    return Phrase(
        N_("%(many)s stickers of %(width)s by %(height)s mm on a sheet of %(paper)s"),
        {
            "many": sheet.many,
            "width": f"{sheet.width_mm:g}",
            "height": f"{sheet.height_mm:g}",
            "paper": Phrase(sheet.paper.label),
        },
    )


def order_paper(order: Booking, name: str) -> Response:
    """One of the lists or the tags, by its name in the address; ``NotFound`` for any other, and for what has no papers."""
    if not has_papers(order):
        raise NotFound
    if name == "tags":
        tagged = ((item.pair, order.reference) for item in order.items)
        return tag_paper_of(order.reference, tagged, order.reference)
    if name not in RENDERERS:
        raise NotFound
    made = RENDERERS[name](_crate(order), speak(), fallback_fonts=fallback_fonts())
    return pdf(made, f"{name}-{order.reference}")


def _crate(order: Booking) -> CratePaper:
    here = find_workshop.the(db())
    place = [order.place.name, *order.place.address.splitlines()] if order.place else []
    return CratePaper(
        workshop=letterhead(here),
        reference=order.reference,
        address=portal().settings.base_url + url_for("public.order", reference=order.reference),
        club=order.club.name if order.club else "",
        place=", ".join(place),
        hand_in=order.hand_in_on,
        ready=order.ready_on,
        pairs=tuple(_pair(item) for item in order.items),
        made_on=today(),
    )


def _pair(item: BookingItem) -> CratePair:
    pair = item.pair
    extras = ((item.flattening, Item.FLATTENING), (item.saturation, Item.SATURATION))
    return CratePair(
        code=grouped(tag_of(pair.id)),
        skier=pair.junior.display_name if pair.junior else "",
        title=pair.title,
        mark=pair.mark,
        discipline=pair.discipline.label,
        work=(N_("not ground"),)
        if item.unground
        else (item.structure.name, *(extra.label for wanted, extra in extras if wanted)),
    )
