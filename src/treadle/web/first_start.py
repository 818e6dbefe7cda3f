"""The one-time way into an empty shop: a token printed at start, good until the shop has its first lead."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from pathlib import Path

from treadle.web.data_folder import write_private

KEPT = "first-start"


def open_first_start(folder: Path) -> str:
    """Make a token, keep nothing but its hash, and return it; a token made before no longer fits."""
    token = secrets.token_urlsafe(24)
    write_private(folder / KEPT, _hash_of(token))
    return token


def token_fits(folder: Path, token: str) -> bool:
    """Whether this token was the last to be made; never, once the shop has its first lead.

    The comparison takes the same time wherever the two differ.
    """
    try:
        kept = (folder / KEPT).read_text(encoding="utf-8")
    except FileNotFoundError:
        return False
    return hmac.compare_digest(kept, _hash_of(token))


def close_first_start(folder: Path) -> None:
    """Forget the token: the shop has a lead."""
    (folder / KEPT).unlink(missing_ok=True)


def _hash_of(token: str) -> str:
    """The SHA-256 of a token, in hexadecimal; the token is random and long, so a slow hash would add nothing."""
    return hashlib.sha256(token.encode()).hexdigest()
