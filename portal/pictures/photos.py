"""Photos that people send, written anew: upright, small, with nothing in them but the picture."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, ImageOps

from portal.domain.photos import FORMATS, LONGEST_SIDE_PX, MOST_BYTES, MOST_PIXELS, Picture
from portal.domain.words import N_, Phrase

QUALITY = 80
PAPER = "white"


class BadPhoto(ValueError):
    """A file that is not kept, with what to do about it."""

    def __init__(self, text: str, **values: object) -> None:
        self.phrase = Phrase(text, values)
        super().__init__(text)


def cleaned(data: bytes) -> Picture:
    """The photo as it is kept; ``BadPhoto`` for what is too large, too many pixels, or no whole picture of a known format.

    Place, camera and everything else that a file can carry beside its pixels is left behind, since only those are written.
    """
    if len(data) > MOST_BYTES:
        raise BadPhoto(N_("Choose a photo of at most %(most)s MB"), most=MOST_BYTES // 1_000_000)
    try:
        with Image.open(BytesIO(data), formats=FORMATS) as image:
            _insist_on_size(image)
            # A JPEG is unpacked at about the size that is needed.
            image.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
            return _written(image)
    except BadPhoto:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise _too_many_pixels() from bomb
    except Exception as fault:
        # Whatever a broken file makes its reader stumble over, it is one thing to whoever sent it.
        raise BadPhoto(
            N_("This file is no photo that can be read. Choose one as JPEG, PNG or WebP")
        ) from fault


def _insist_on_size(image: Image.Image) -> None:
    if image.width * image.height > MOST_PIXELS:
        raise _too_many_pixels()


def _too_many_pixels() -> BadPhoto:
    return BadPhoto(N_("Choose a photo of at most %(most)s million pixels"), most=MOST_PIXELS // 1_000_000)


def _written(image: Image.Image) -> Picture:
    upright = ImageOps.exif_transpose(image)
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    if upright.has_transparency_data:
        clear = upright.convert("RGBA")
        upright = Image.new("RGB", clear.size, PAPER)
        upright.paste(clear, mask=clear.getchannel("A"))
    # Pixels alone are carried over, so that no profile, thumbnail or note comes along.
    kept = Image.new("RGB", upright.size)
    kept.paste(upright.convert("RGB"))
    out = BytesIO()
    kept.save(out, "WEBP", quality=QUALITY, method=4)
    return Picture(out.getvalue(), kept.width, kept.height)
