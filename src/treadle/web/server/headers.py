"""Headers that Django has no setting for."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

PERMISSIONS = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"
"""What a page may ask the phone for: its camera, for labels and damage, and nothing else."""


class Headers:
    """Middleware: what pages may use of the phone, and that no copy of a page stays on a shared one."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request and add what the answer does not say itself."""
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response
