"""What the square codes in a photo say."""

from __future__ import annotations

import warnings
from io import BytesIO

import zxingcpp
from PIL import Image, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
# More than any phone takes. A JPEG is read at a fraction of its size; the others are unpacked whole, so they are less.
MOST_PIXELS, MOST_PIXELS_WHOLE = 120_000_000, 30_000_000
# A code that fills a tenth of the photo is still some two hundred pixels wide.
LOOKED_AT = (2_000, 2_000)


class NoPhoto(Exception):
    """The file is no photo that can be looked at."""


def codes_in(photo: bytes) -> tuple[str, ...]:
    """The texts of the square codes in a photo (ISO/IEC 18004), each once; ``NoPhoto`` for another file or a huge one."""
    try:
        with warnings.catch_warnings():
            # How large is too large is said here, for each kind.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(BytesIO(photo), formats=FORMATS)
            most = MOST_PIXELS if image.format == "JPEG" else MOST_PIXELS_WHOLE
            if image.width * image.height > most:
                raise NoPhoto
            image.draft("L", LOOKED_AT)
            grey = image.convert("L")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise NoPhoto from None
    grey.thumbnail(LOOKED_AT)
    found = zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode))
    return tuple(dict.fromkeys(one.text for one in found if one.text))
