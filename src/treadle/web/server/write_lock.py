"""One writer at a time on SQLite, whose own queue of writers starves some of them under load."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.http.request import RawPostDataException, UnreadablePostError

Answer = Callable[[HttpRequest], HttpResponse]
READING_ONLY = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})
_WRITING = threading.Lock()
"""Of the process: the server has one process where the database is SQLite."""


class WriteLock:
    """Middleware that lets requests which may write take turns; PostgreSQL needs none of it."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request, alone among those that write."""
        if request.method in READING_ONLY or connection.vendor != "sqlite":
            return self.get_response(request)
        try:
            _take_in(request)
        except UnreadablePostError:
            return HttpResponse(status=400)  # the phone went away in the middle: nobody is left to read an answer
        with _WRITING:
            return self.get_response(request)


def _take_in(request: HttpRequest) -> None:
    """Read all that is sent before the turn begins, so that a phone on a poor line holds up nobody else."""
    if request.content_type == "multipart/form-data":
        len(request.POST)  # parses it; pictures go to temporary files
    else:
        with suppress(RawPostDataException):  # somebody before us read it
            len(request.body)
