"""Photos at check-in: what is kept, what is refused, and who sees them."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from werkzeug.datastructures import FileStorage
from werkzeug.test import TestResponse, encode_multipart

from portal.domain.bookings import Stage
from portal.domain.photos import MOST_BYTES
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from tests import photo_files
from tests.cast import Cast
from tests.page import Page, Visitor


def posted(visitor: Visitor, path: str, fields: dict[str, Any], *files: tuple[str, bytes]) -> TestResponse:
    """A form with files, as a browser sends it; encoded here, since the test client would leave its own files open."""
    # The encoder closes no file, and these are none of the system's.
    values = {**fields, "photos": [FileStorage(BytesIO(data), name) for name, data in files]}
    boundary, body = encode_multipart(values)
    kind = f"multipart/form-data; boundary={boundary}"
    return visitor.client.post(path, data=body, follow_redirects=True, content_type=kind)


def send(tina: Visitor, path: str, *files: tuple[str, bytes], status: int = 200, **given: Any) -> Page:
    """The check-in with files beside its fields."""
    page = Page(posted(tina, path, {**tina.get(path).form(), "match": "yes", **given}, *files))
    assert page.status == status, page.text[:300]
    return page


def in_(booked: Any) -> str:
    return f"/shop/pairs/{booked.item_id}/check-in"


def photos_of(desk: Any, booked: Any) -> list[Any]:
    row = desk.read(find_arrivals.check_in_of, booked.item_id)
    return row.photos if row is not None else []


@pytest.fixture
def pictured(tina: Visitor, desk: Any) -> Any:
    """A pair of Alice's that came in with one photo."""
    booked = desk.confirmed()
    send(tina, in_(booked), ("left.jpg", photo_files.jpeg()))
    return booked


def test_a_photo_is_kept_without_the_place_it_was_taken_at(tina: Visitor, desk: Any, pictured: Any) -> None:
    (photo,) = photos_of(desk, pictured)
    page = tina.get(f"/shop/pair/{pictured.pair_id}")
    assert f"/shop/photos/{photo.id}.webp" in page.links
    answer = tina.raw("GET", f"/shop/photos/{photo.id}.webp")
    assert answer.mimetype == "image/webp"
    assert not Image.open(BytesIO(answer.data)).getexif()
    assert photo_files.PLACE.encode() not in answer.data
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "private" in answer.headers["Cache-Control"]
    assert "public" not in answer.headers["Cache-Control"]
    again = tina.raw(
        "GET", f"/shop/photos/{photo.id}.webp", headers={"If-None-Match": answer.headers["ETag"]}
    )
    assert (again.status_code, again.data) == (304, b"")
    assert tina.raw("GET", f"/shop/pair/{pictured.pair_id}").headers["Cache-Control"] == "no-store"


def test_the_owner_sees_it_and_nobody_else(visitor: Visitor, desk: Any, cast: Cast, pictured: Any) -> None:
    (photo,) = photos_of(desk, pictured)
    path = f"/my/photos/{photo.id}.webp"
    alice = visitor.as_(cast.alice)
    assert path in alice.get(f"/my/pairs/{pictured.pair_id}").links
    assert alice.raw("GET", path).status_code == 200
    for stranger in (cast.carl, cast.cora, cast.dora):
        assert visitor.as_(stranger).raw("GET", path).status_code == 404
        assert visitor.as_(stranger).raw("GET", f"/shop/photos/{photo.id}.webp").status_code == 404
    assert visitor.raw("GET", path).status_code == 303, "whoever is not signed in is asked to"
    assert alice.raw("GET", f"/my/photos/{photo.id + 1}.webp").status_code == 404


def test_the_managers_of_a_club_see_the_photos_of_its_pairs(
    visitor: Visitor, desk: Any, cast: Cast, clubhouse_order: Any
) -> None:
    order = clubhouse_order(pairs=1)
    send(visitor.as_(cast.tina), f"{in_(order)}/correct", ("p.png", photo_files.png()))
    (photo,) = photos_of(desk, order)
    path = f"/my/photos/{photo.id}.webp"
    cora = visitor.as_(cast.cora)
    assert path in cora.get(f"/club/{cast.club_id}/pairs/{order.pair_id}").links
    assert cora.raw("GET", path).status_code == 200
    assert visitor.as_(cast.dora).raw("GET", path).status_code == 404


BAD = (
    ("note.jpg", b"Dear workshop, here is my photo.", "is no photo that can be read"),
    ("half.jpg", photo_files.jpeg()[:3000], "is no photo that can be read"),
    ("bomb.png", photo_files.bomb(), "Choose a photo of at most 60 million pixels"),
    ("huge.jpg", photo_files.jpeg() + bytes(MOST_BYTES), "Choose a photo of at most 15 MB"),
)


def test_a_bad_file_is_named_and_nothing_typed_is_lost(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    for name, data, told in BAD:
        page = send(tina, in_(booked), ("good.jpg", photo_files.jpeg()), (name, data), remarks="Kept words")
        (error,) = page.errors
        assert error.startswith(f"{name}: ")
        assert told in error
        assert "Kept words" in page.text
        assert "Choose the photos again" in page.text
    assert desk.read(find_bookings.whole, booked.id).items[0].stage is Stage.AWAITED


def test_so_many_photos_and_no_more(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    files = [(f"{number}.png", photo_files.png()) for number in range(7)]
    assert send(tina, in_(booked), *files).errors == ["Choose at most 6 photos"]
    send(tina, in_(booked), *files[:5])
    page = send(tina, f"{in_(booked)}/correct", *files[:2], status=409, remarks="Kept words")
    assert "At most 6 photos are kept with one check-in" in page.text
    assert "Kept words" in page.text
    assert len(photos_of(desk, booked)) == 5


def test_a_photo_is_removed_for_good(tina: Visitor, desk: Any, cast: Cast, pictured: Any) -> None:
    (photo,) = photos_of(desk, pictured)
    path = f"/shop/photos/{photo.id}/remove"
    tina.as_(cast.alice).post(path, status=404)
    tina.send(tina.get(f"/shop/pair/{pictured.pair_id}"), "remove")
    assert photos_of(desk, pictured) == []
    assert tina.raw("GET", f"/shop/photos/{photo.id}.webp").status_code == 404


def test_only_staff_send_so_many_bytes_and_only_there(visitor: Visitor, desk: Any, cast: Cast) -> None:
    """The limit is raised before the form is read, for whoever works here; everybody else meets the page for large files."""
    booked = desk.confirmed()
    large = ("large.jpg", photo_files.jpeg() + bytes(5_000_000))
    send(visitor.as_(cast.tina), in_(booked), large)
    assert len(photos_of(desk, booked)) == 1
    for who, path in ((cast.alice, in_(booked)), (cast.tina, "/shop/scan")):
        someone = visitor.as_(who)
        answer = posted(someone, path, {"csrf_token": someone.token()}, large)
        assert answer.status_code == 413
        assert "too large" in answer.get_data(as_text=True)


def test_far_too_many_bytes_are_refused_kindly(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    tina.get(in_(booked))
    answer = tina.client.post(
        in_(booked),
        data={"csrf_token": tina.token()},
        environ_overrides={"CONTENT_LENGTH": str(200_000_000)},
        content_type="multipart/form-data",
    )
    assert answer.status_code == 413
    assert "Send fewer photos at once" in answer.get_data(as_text=True)
