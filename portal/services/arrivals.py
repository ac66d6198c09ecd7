"""What is written down when a pair comes in and when it goes back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db import arrivals as tables
from portal.db.bookings import BookingItem
from portal.domain.access import Action, Actor, insist
from portal.domain.arrivals import CheckIn, Handback
from portal.domain.bookings import Event, Stage
from portal.domain.errors import NotNow
from portal.domain.photos import MOST_PHOTOS, Picture
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import stops
from portal.services.bookings import record
from portal.services.holds import day_at


def keep(
    session: Session,
    actor: Actor,
    item: BookingItem,
    found: CheckIn,
    pictures: Sequence[Picture],
    now: datetime,
) -> None:
    """Write down what was found when the pair came in, for the pair's own history."""
    row = tables.CheckIn(
        pair_id=item.pair_id,
        item_id=item.id,
        day=day_at(find_workshop.the(session), now),
        at=now,
        technician=actor.name,
        photos=[],
    )
    _fill(row, found)
    _add(row, item, pictures, now)
    session.add(row)
    session.flush()  # Whoever asks for the base that is left finds it.


def correct(
    session: Session,
    actor: Actor,
    item_id: int,
    found: CheckIn,
    pictures: Sequence[Picture],
    now: datetime,
) -> None:
    """Write down anew what was found, until the pair is ground; a base that turns out too thin stops the work now."""
    item = find_bookings.locked_item(session, actor, item_id)
    insist(actor, Action.WORK_ON_PAIR, item)
    if item.stage not in {Stage.CHECKED_IN, Stage.STOPPED}:
        raise NotNow(
            Phrase(
                N_("This pair stands at “%(now)s”, so what was found at check-in stays as it is."),
                {"now": Phrase(item.stage.label)},
            )
        )
    row = find_arrivals.check_in_of(session, item_id)
    if row is None:
        keep(session, actor, item, found, pictures, now)
    else:
        _fill(row, found)
        _add(row, item, pictures, now)
    record(item.booking, Event.CORRECTED, actor, now, item.pair.title, item)
    session.flush()  # The question about the base that is left finds the new measurement.
    if item.stage is Stage.CHECKED_IN:
        stops.stop_if_too_thin(session, actor, item, now)
    else:
        stops.measure_again(session, item)


def remove_photo(session: Session, actor: Actor, photo_id: int, now: datetime) -> None:
    """Take a photo away for good, for one that shows what it should not."""
    photo = find_arrivals.photo(session, actor, photo_id)
    insist(actor, Action.WORK_ON_PAIR, photo.pair)
    row = find_arrivals.check_in_with(session, photo.check_in_id)
    row.photos.remove(photo)
    if row.item_id is not None:
        item = find_bookings.locked_item(session, actor, row.item_id)
        record(item.booking, Event.CORRECTED, actor, now, item.pair.title, item)


def keep_handback(session: Session, actor: Actor, item: BookingItem, told: Handback, now: datetime) -> None:
    """Write down how the pair went back."""
    session.add(
        tables.Handback(
            item_id=item.id,
            at=now,
            technician=actor.name,
            taken_by=told.taken_by,
            checks=list(told.checks),
            care=list(told.care),
            remarks=told.remarks,
        )
    )


def _fill(row: tables.CheckIn, found: CheckIn) -> None:
    row.brought_by, row.belongs_together = found.brought_by, found.belongs_together
    row.conditions = [one.to_json() for one in found.conditions]
    row.flatness, row.gap_um = found.flatness, found.gap_um
    thickness = found.thickness
    row.tip_um, row.middle_um, row.tail_um = thickness.tip_um, thickness.middle_um, thickness.tail_um
    row.remarks = found.remarks


def _add(row: tables.CheckIn, item: BookingItem, pictures: Sequence[Picture], now: datetime) -> None:
    if len(row.photos) + len(pictures) > MOST_PHOTOS:
        raise NotNow(
            Phrase(
                N_("At most %(most)s photos are kept with one check-in. Remove one first."),
                {"most": MOST_PHOTOS},
            )
        )
    row.photos.extend(
        tables.Photo(
            pair_id=item.pair_id,
            mimetype=one.mimetype,
            width=one.width,
            height=one.height,
            data=one.data,
            created_at=now,
        )
        for one in pictures
    )
