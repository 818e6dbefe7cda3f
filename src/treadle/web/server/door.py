"""Takes each request in whole before a thread is spent on it, so that a phone on a poor line holds up nobody.

A phone may be carried out of reach in the middle of a picture and never be heard of again; a thread that read from it
would wait for ever, and a few of them would be the whole server.  So the server speaks ASGI to this, which waits for
many at once, and this speaks WSGI to the pages, in a few threads that keep their connection to the database.
"""

from __future__ import annotations

import asyncio
import io
import logging
import sys
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from http import HTTPStatus
from tempfile import SpooledTemporaryFile
from typing import IO, Any
from urllib.parse import unquote_to_bytes

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Headers = list[tuple[bytes, bytes]]

PATIENCE = 30.0
"""How long a phone may send, or take, nothing before its request is given up. [s]"""
LARGEST = 64 * 1024 * 1024
"""More than this is no photo and no table of a shop's; it is refused. [byte]"""
IN_MEMORY = 1024 * 1024
"""What is larger waits in a temporary file. [byte]"""
PIECE = 64 * 1024
log = logging.getLogger("treadle.serve")


class TooSlow(Exception):
    """Nothing came, or was taken, for too long, or the other side is gone; there is nobody to answer."""


class TooLarge(Exception):
    """More was sent than is taken."""


class Door:
    """The site as an ASGI application; `threads` requests are at work at once."""

    def __init__(self, site: Callable[..., Iterable[bytes]], *, threads: int) -> None:
        self.site = site
        self.pool = ThreadPoolExecutor(threads, thread_name_prefix="request")

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer one request."""
        with SpooledTemporaryFile(IN_MEMORY) as sent, SpooledTemporaryFile(IN_MEMORY) as answer:
            try:
                await _take_in(receive, sent)
                work = asyncio.get_running_loop().run_in_executor(self.pool, self._answer, scope, sent, answer)
                status, headers = await work
                await _give_out(send, status, headers, answer)
            except TooLarge:
                with suppress(TooSlow):
                    await _give_out(send, HTTPStatus.REQUEST_ENTITY_TOO_LARGE, [], io.BytesIO())
            except TooSlow:
                return

    def _answer(self, scope: Message, sent: IO[bytes], answer: IO[bytes]) -> tuple[int, Headers]:
        """Have the site answer into a file, in a thread of the pool."""
        begun: list[tuple[int, Headers]] = []

        def start_response(status: str, headers: list[tuple[str, str]], _: Any = None) -> Callable[[bytes], Any]:
            named = [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers]
            begun[:] = [(int(status.split(" ", 1)[0]), named)]
            return answer.write

        try:
            pieces = self.site(environment_of(scope, sent), start_response)
            try:
                for piece in pieces:
                    answer.write(piece)
            finally:
                if hasattr(pieces, "close"):
                    pieces.close()
        except Exception:  # the site answers for its own faults, so this is one of what lies around it
            log.exception("no answer to %s %s", scope["method"], scope["path"])
            answer.seek(0)
            answer.truncate()
            return HTTPStatus.INTERNAL_SERVER_ERROR, []
        answer.seek(0)
        return begun[0]


async def _take_in(receive: Receive, sent: IO[bytes]) -> None:
    """Write what is sent into a file and go back to its beginning."""
    size = 0
    while True:
        try:
            message = await asyncio.wait_for(receive(), PATIENCE)
        except TimeoutError:
            raise TooSlow from None
        if message["type"] == "http.disconnect":
            raise TooSlow
        piece = message.get("body", b"")
        size += len(piece)
        if size > LARGEST:
            raise TooLarge
        sent.write(piece)
        if not message.get("more_body", False):
            sent.seek(0)
            return


async def _give_out(send: Send, status: int, headers: Headers, answer: IO[bytes]) -> None:
    """Send an answer piece by piece, each as soon as it is taken."""
    try:
        await send({"type": "http.response.start", "status": int(status), "headers": headers})
        more = True
        while more:
            piece = answer.read(PIECE)
            more = len(piece) == PIECE
            message = {"type": "http.response.body", "body": piece, "more_body": more}
            await asyncio.wait_for(send(message), PATIENCE)
    except (TimeoutError, OSError):
        raise TooSlow from None


def environment_of(scope: Message, sent: IO[bytes]) -> dict[str, Any]:
    """Return the WSGI environment (PEP 3333) of an ASGI request whose body lies in a file.

    Parameters
    ----------
    scope : MutableMapping
        The request, as ASGI gives it.
    sent : IO
        Its body, at the beginning.
    """
    path = scope.get("raw_path") or scope["path"].encode("utf-8")
    server = scope.get("server") or ("localhost", 80)
    client = scope.get("client") or ("", 0)
    environment: dict[str, Any] = {
        "REQUEST_METHOD": scope["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": unquote_to_bytes(path.partition(b"?")[0]).decode("latin-1"),
        "QUERY_STRING": scope["query_string"].decode("latin-1"),
        "SERVER_PROTOCOL": f"HTTP/{scope['http_version']}",
        "SERVER_NAME": str(server[0]),
        "SERVER_PORT": str(server[1]),
        "REMOTE_ADDR": str(client[0]),
        "REMOTE_PORT": str(client[1]),
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope.get("scheme", "http"),
        "wsgi.input": sent,
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    size = sent.seek(0, io.SEEK_END)
    sent.seek(0)
    for raw_name, raw_value in scope["headers"]:
        name, value = raw_name.decode("latin-1"), raw_value.decode("latin-1")
        if name == "content-type":
            environment["CONTENT_TYPE"] = value
        elif name not in ("content-length", "transfer-encoding") and "_" not in name:  # `_` could pass for `-`
            key = f"HTTP_{name.upper().replace('-', '_')}"
            between = "; " if key == "HTTP_COOKIE" else ","
            environment[key] = f"{environment[key]}{between}{value}" if key in environment else value
    environment["CONTENT_LENGTH"] = str(size)
    return environment
