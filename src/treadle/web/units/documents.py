"""Papers and pictures of a unit: taken in upright and without place or device, kept once, handed out as they are."""

from __future__ import annotations

import hashlib
import io
from typing import IO

from django.core.files.base import ContentFile
from django.db import transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from treadle.errors import BadInput, Problem
from treadle.web.people.models import Person
from treadle.web.units.models import Document, Unit

LARGEST = 12 * 1024 * 1024
"""Largest file taken. [bytes] (chosen: a phone's picture is less than half of it)"""
_MOST_PIXELS = 60_000_000
_LONGEST_SIDE = 2400
_QUALITY = 85
_PICTURES = ("JPEG", "PNG", "WEBP")
PDF, JPEG = "application/pdf", "image/jpeg"
_PDF_BEGINS = b"%PDF-"


@transaction.atomic
def add_document(unit: Unit, file: IO[bytes], *, size: int, what: str, by: Person) -> Document:
    """Keep a picture or a PDF with a unit.

    A picture is turned upright, made no larger than is of use and written anew, so that nothing but what it shows is
    kept; a PDF is kept as it is.

    Parameters
    ----------
    unit : Unit
        What it belongs to.
    file : file of bytes
        What was sent.
    size : int
        Its size. [bytes]
    what : str
        What it is, in a few words.
    by : Person
        Who adds it.

    Raises
    ------
    BadInput
        It is too large, or neither a picture that can be read nor a PDF.
    """
    if size > LARGEST:
        raise BadInput(Problem("file_too_large", "file", {"most": f"{LARGEST // 1024**2} MB"}))
    content = file.read()
    kept, media_type, ending = (content, PDF, "pdf") if content.startswith(_PDF_BEGINS) else _picture(content)
    document = Document(
        unit=unit,
        what=what,
        media_type=media_type,
        digest=hashlib.sha256(kept).hexdigest(),
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    document.file.save(f"{document.pk}.{ending}", ContentFile(kept), save=False)
    document.save()
    return document


def _picture(content: bytes) -> tuple[bytes, str, str]:
    """Return a picture upright, in bounds and free of what the device wrote into it."""
    try:
        with Image.open(io.BytesIO(content), formats=_PICTURES) as opened:
            if opened.width * opened.height > _MOST_PIXELS:
                raise BadInput(Problem("picture_too_large", "file", {"given": f"{opened.width} x {opened.height}"}))
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as fault:
        raise BadInput(Problem("not_a_picture_or_pdf", "file")) from fault
    upright.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE))
    upright.info.clear()
    written = io.BytesIO()
    upright.save(written, "JPEG", quality=_QUALITY, optimize=True)
    return written.getvalue(), JPEG, "jpg"
