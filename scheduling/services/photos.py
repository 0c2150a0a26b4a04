"""Photos that crews send: made anew as small JPEG files without what the camera wrote into them."""

from io import BytesIO
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.utils.translation import gettext

from finishing.models import Company
from finishing.services.errors import Fault, InputFaults

MOST_BYTES = 10 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_SIDE_PX = 1600
KINDS = ("JPEG", "PNG", "WEBP")


def checked_photo(sent: bytes) -> bytes:
    """Return a photo as the JPEG that is kept; raise InputFaults where it is none.

    Only its pixels go on: not where it was taken, nor anything hidden behind it.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415 - large, and most processes see no photo

    if len(sent) > MOST_BYTES:
        raise InputFaults([Fault("photo", gettext("This is too large. Send a smaller photo."))])
    try:
        with Image.open(BytesIO(sent), formats=KINDS) as photo:
            if photo.width * photo.height > MOST_PIXELS:
                raise ValueError("too many pixels")
            upright = ImageOps.exif_transpose(photo).convert("RGB")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        said = gettext("This is no photo that can be read. Send a JPEG, PNG or WebP picture.")
        raise InputFaults([Fault("photo", said)]) from None
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    kept = BytesIO()
    Image.frombytes("RGB", upright.size, upright.tobytes()).save(kept, "JPEG", quality=80)
    return kept.getvalue()


def keep_photo(*, company: Company, photo: bytes) -> str:
    """Store a checked photo; return its name. Raise OSError, and keep nothing of it, where the disk
    has no room."""
    name = f"{uuid4().hex}.jpg"
    path = photo_path(company, name)
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        path.write_bytes(photo)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    return name


def photo_path(company: Company, name: str) -> Path:
    """Return where a company's photo lies; each company's lie in a folder of its own."""
    return Path(settings.PHOTO_DIR) / str(company.public_id) / name
