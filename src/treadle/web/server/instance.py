"""One server for one folder, and one for one port: a second of either is refused before it can take a reading."""

from __future__ import annotations

import errno
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from treadle.web.server.refusal import CannotServe

LOCK, ADDRESS = "serve.lock", "serve.address"


@contextmanager
def alone_in(folder: Path, address: str) -> Iterator[None]:
    """Hold the folder for as long as the block runs; the lock goes with the process, however that ends.

    Raises
    ------
    CannotServe
        Another server holds it.
    """
    lock = FileLock(folder / LOCK, timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise CannotServe("serve.already_running", folder=folder, address=_address_in(folder)) from None
    try:
        (folder / ADDRESS).write_text(address, encoding="utf-8")
        yield
    finally:
        (folder / ADDRESS).unlink(missing_ok=True)
        lock.release()


def _address_in(folder: Path) -> str:
    """The address that the server of this folder wrote down; a dash in the moment before it does."""
    try:
        return (folder / ADDRESS).read_text(encoding="utf-8")
    except OSError:
        return "–"


def check_port(host: str, port: int) -> None:
    """Refuse a port that somebody listens on.

    The server itself would share it without a word, and each of the two would get some of the requests.

    Raises
    ------
    CannotServe
        The port is taken or not allowed, or the host is no address of this machine.
    """
    try:
        family, kind, protocol, _, where = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except OSError:
        raise CannotServe("serve.no_such_host", host=host) from None
    with socket.socket(family, kind, protocol) as trial:
        if sys.platform == "win32":
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind(where)
        except OSError as refused:
            if refused.errno == errno.EADDRNOTAVAIL:
                raise CannotServe("serve.no_such_host", host=host) from refused
            code = "serve.port_forbidden" if refused.errno == errno.EACCES else "serve.port_taken"
            raise CannotServe(code, host=host, port=port, other=port + 1) from refused
