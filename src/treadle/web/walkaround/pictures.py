"""Pictures of wheel ends: turned upright, made small, and freed of what the camera wrote into them."""

from __future__ import annotations

import hashlib
import io
import uuid
import warnings
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from PIL import Image, ImageOps, UnidentifiedImageError

from treadle.errors import BadInput, Problem
from treadle.web.people.models import Person
from treadle.web.units.models import Unit
from treadle.web.walkaround.enter import Conflict
from treadle.web.walkaround.models import Photo, WalkAround

MOST_BYTES = 12 * 1024 * 1024
LONGEST_SIDE = 1600
"""Enough to see a crack on a screen and on paper (chosen). [pixel]"""
_MOST_PIXELS = 60_000_000
_QUALITY = 82


def cleaned(content: bytes) -> bytes:
    """Return a picture as JPEG: upright, its longer side at most `LONGEST_SIDE`, without place, device or thumbnail.

    Raises
    ------
    BadInput
        It is no picture, or too large a one.
    """
    if len(content) > MOST_BYTES:
        raise BadInput(Problem("photo_too_large", "file", {"most": MOST_BYTES // 1024 // 1024}))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content)) as opened:
                if opened.width * opened.height > _MOST_PIXELS:
                    raise BadInput(Problem("photo_too_large", "file", {"most": MOST_BYTES // 1024 // 1024}))
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
    ) as fault:
        raise BadInput(Problem("not_a_picture", "file")) from fault
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()


@transaction.atomic
def keep_photo(
    photo_id: uuid.UUID,
    walk_around: WalkAround,
    unit: Unit,
    content: bytes,
    *,
    axle: int | None,
    side: str,
    at: datetime,
    zone: str,
    by: Person,
    sent_by: Person | None = None,
) -> tuple[Photo, bool]:
    """Keep a picture under the id made where it was taken; return it, and whether it is new.

    Raises
    ------
    Conflict
        The id is known with another picture.
    BadInput
        It is no picture, or too large a one.
    """
    digest = hashlib.sha256(content).hexdigest()
    known = Photo.objects.filter(pk=photo_id).first()
    if known is not None:
        return _known(known, walk_around, digest), False
    row = Photo(
        id=photo_id,
        walk_around=walk_around,
        unit=unit,
        axle=axle,
        side=side,
        taken_at=at,
        taken_zone=zone,
        digest=digest,
        entered_by=by,
        entered_zone=zone,
        sent_by=sent_by,
    )
    row.file.save(f"{photo_id}.jpg", ContentFile(cleaned(content)), save=False)
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as fault:
        raise Conflict(Problem("id_taken", str(photo_id))) from fault
    return row, True


def _known(known: Photo, walk_around: WalkAround, digest: str) -> Photo:
    if (known.walk_around_id, known.digest) != (walk_around.pk, digest):
        raise Conflict(Problem("id_taken", str(known.pk)))
    return known
