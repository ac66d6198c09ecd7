"""Photos are written anew: what is in them beside the picture is gone, and what is no picture is refused."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image

from portal.domain.photos import LONGEST_SIDE_PX, MOST_BYTES, MOST_PIXELS
from portal.pictures.photos import BadPhoto, cleaned
from tests import photo_files


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


def test_place_and_camera_stay_behind() -> None:
    sent = photo_files.jpeg()
    assert opened(sent).getexif().get_ifd(photo_files.GPS_INFO), (
        "the file that is sent says where it was taken"
    )
    assert photo_files.PLACE.encode() in sent
    kept = cleaned(sent)
    image = opened(kept.data)
    assert image.format == "WEBP"
    assert kept.mimetype == "image/webp"
    assert not image.getexif()
    assert not {"exif", "icc_profile", "xmp", "comment"} & set(image.info)
    for secret in (photo_files.PLACE, "Lumenfjord", "Exif", "EXIF"):
        assert secret.encode() not in kept.data


def test_a_photo_is_kept_upright() -> None:
    # EXIF 2.32, tag 0x0112: 6 means that the first row is at the right, so it has to be turned by a quarter.
    kept = cleaned(photo_files.jpeg(turned=6))
    assert (kept.width, kept.height) == (300, 400)
    image = opened(kept.data).convert("L")
    assert image.getpixel((150, 50)) > 150, "what was at the left is at the top"  # type: ignore[operator]
    assert image.getpixel((150, 350)) < 100  # type: ignore[operator]


def test_a_large_photo_is_made_small_and_a_small_one_stays() -> None:
    kept = cleaned(photo_files.jpeg(photo_files.base(4000, 3000)))
    assert (kept.width, kept.height) == (LONGEST_SIDE_PX, LONGEST_SIDE_PX * 3 // 4)
    assert len(kept.data) < 400_000
    kept = cleaned(photo_files.png(photo_files.base(40, 30)))
    assert (kept.width, kept.height) == (40, 30)


def test_what_is_clear_becomes_white() -> None:
    kept = cleaned(photo_files.png(Image.new("RGBA", (20, 20), (0, 0, 0, 0))))
    assert min(opened(kept.data).convert("L").getextrema()) > 250  # type: ignore[type-var, operator]


def test_palettes_greys_and_moving_pictures_are_read() -> None:
    for mode in ("L", "P", "1", "CMYK"):
        out = BytesIO()
        photo_files.base().convert(mode).save(out, "JPEG" if mode == "CMYK" else "PNG")
        assert cleaned(out.getvalue()).width == 400
    out = BytesIO()
    photo_files.base().save(out, "WEBP", save_all=True, append_images=[photo_files.base()] * 3)
    kept = opened(cleaned(out.getvalue()).data)
    assert getattr(kept, "n_frames", 1) == 1


NO_PHOTO = "This file is no photo that can be read. Choose one as JPEG, PNG or WebP"


def test_what_is_no_photo_is_refused_with_what_to_do() -> None:
    gif, whole = BytesIO(), photo_files.jpeg()
    photo_files.base().save(gif, "GIF")
    for data in (
        b"",
        b"Dear workshop, here is my photo.",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        gif.getvalue(),
        whole[: len(whole) // 2],
        photo_files.png()[:200],
        b"\xff\xd8\xff\xe0" + bytes(500),
    ):
        with pytest.raises(BadPhoto) as refused:
            cleaned(data)
        assert str(refused.value.phrase) == NO_PHOTO


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    for side in (8_000, 12_000, 30_000):
        bomb = photo_files.bomb(side)
        assert side * side > MOST_PIXELS
        assert len(bomb) < 2_000
        with pytest.raises(BadPhoto) as refused:
            cleaned(bomb)
        assert str(refused.value.phrase) == "Choose a photo of at most 60 million pixels"


def test_a_file_of_too_many_bytes_is_not_looked_at() -> None:
    with pytest.raises(BadPhoto) as refused:
        cleaned(photo_files.jpeg() + bytes(MOST_BYTES))
    assert str(refused.value.phrase) == "Choose a photo of at most 15 MB"
