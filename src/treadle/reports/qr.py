"""The address of a record as a QR code: what a phone's camera opens; drawn here, read by nobody here."""

from __future__ import annotations

import io

QUIET = 4
"""Modules of white around the code, as ISO/IEC 18004 asks for."""


def qr_picture(address: str) -> str:
    """Return an address as a QR code, an SVG with its quiet zone; empty where there is no address.

    A short text would fit a Micro QR, which few phones read, so a full-size one is always made.
    """
    if not address:
        return ""
    import segno  # noqa: PLC0415  (loaded only when a paper with a code is asked for)

    drawn = io.BytesIO()
    segno.make_qr(address, error="m").save(
        drawn, kind="svg", xmldecl=False, omitsize=True, border=QUIET, dark="#000", light="#fff"
    )
    return drawn.getvalue().decode()
