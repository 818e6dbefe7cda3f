"""Starting the server of one shop: everything between the command and the first page."""

from __future__ import annotations

import http.client
import multiprocessing
import os
import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib import import_module
from multiprocessing.connection import wait
from pathlib import Path
from typing import TYPE_CHECKING, Any

import django
from django.db import connections
from pydantic import ValidationError

from treadle.web.config import Config
from treadle.web.data_folder import in_source_tree, make_private, secret_key
from treadle.web.first_start import close_first_start, open_first_start
from treadle.web.server.door import Door
from treadle.web.server.instance import alone_in, check_port
from treadle.web.server.keeper import Keeper
from treadle.web.server.refusal import CannotServe
from treadle.web.server.static import gather_static, static_folder

if TYPE_CHECKING:
    from granian.server.mp import MPServer
    from granian.server.mt import MTServer

THREADS = 4
"""Requests at work at once, in one process: with SQLite a second one would bring back the starved writers."""
EVERYWHERE = frozenset({"0.0.0.0", "::"})  # noqa: S104  # nosec B104 - compared with, not bound to
LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})


@dataclass(frozen=True)
class Started:
    """A server that answers: its address, its folder, the set-up address while there is no lead, and a warning."""

    address: str
    folder: Path
    set_up: str | None
    in_clear: bool
    """Whether it can be reached from other machines without TLS."""


def serve(*, data: Path, host: str, port: int, announce: Callable[[Started], None]) -> None:
    """Serve one shop until told to stop (Ctrl+C, or the signal to terminate).

    Parameters
    ----------
    data : Path
        The shop's folder; made if it is not there.
    host : str
        The address to listen at.
    port : int
        The port to listen at.
    announce : Callable
        Called once the server answers.

    Raises
    ------
    CannotServe
        Something stands in the way; it says what, where and what to do.
    """
    folder = data.expanduser().resolve()
    if in_source_tree(folder):
        raise CannotServe("serve.in_source_tree", folder=folder)
    address = f"http://{_bracketed(_reached_by(host))}:{port}/"
    os.umask(0o077)
    try:
        make_private(folder)
        secret = secret_key(folder)
    except OSError as refused:
        raise CannotServe("serve.folder_unusable", folder=folder, reason=refused.strerror) from refused
    with alone_in(folder, address):
        check_port(host, port)
        static = static_folder(folder)
        _tell_the_settings(folder, secret, static, host)
        django.setup()
        from treadle.web.server.database import bring_up_to_date, check_demo, has_lead  # noqa: PLC0415 - needs Django

        bring_up_to_date()
        check_demo(demo=_config().demo, folder=folder)
        gather_static(static)
        _load_site()
        set_up = None
        if has_lead():
            close_first_start(folder)
        else:
            set_up = f"{address}welcome/?token={open_first_start(folder)}"
        connections.close_all()  # the serving process may be forked from this one and must open its own
        in_clear = host not in LOOPBACK and not _config().https
        _listen(host, port, lambda: announce(Started(address, folder, set_up, in_clear)))


def _config() -> Config:
    """The settings of the environment as it is now."""
    try:
        return Config()
    except ValidationError as wrong:
        first = wrong.errors()[0]
        raise CannotServe(
            "serve.bad_setting", name=f"TREADLE_{first['loc'][0]}".upper(), given=first["input"]
        ) from wrong


def _tell_the_settings(folder: Path, secret: str, static: Path, host: str) -> None:
    """Put what was found out where the settings of this process and of those it starts read it."""
    given = _config()
    names = [given.hosts, *(_names_of_this_machine() if host in EVERYWHERE else [_bracketed(host)])]
    os.environ["TREADLE_DATA"] = str(folder)
    os.environ["TREADLE_STATIC"] = str(static)
    os.environ["TREADLE_HOSTS"] = ",".join(dict.fromkeys(names))
    if not given.secret_key:
        os.environ["TREADLE_SECRET_KEY"] = secret
    os.environ["DJANGO_SETTINGS_MODULE"] = "treadle.web.settings"


# ---- listening


def _listen(host: str, port: int, when_it_answers: Callable[[], None]) -> None:
    """Serve until told to stop, the worker beside it."""
    from granian import Granian  # noqa: PLC0415 - loaded once nothing stands in the way
    from granian.constants import Interfaces  # noqa: PLC0415
    from granian.log import LogLevels  # noqa: PLC0415

    server = Granian(
        "treadle.web.wsgi:application",
        address=host,
        port=port,
        interface=Interfaces.ASGINL,
        workers=1,
        websockets=False,
        respawn_failed_workers=True,
        workers_kill_timeout=10,
        log_level=LogLevels.warning,
    )
    keeper = Keeper()
    faults: list[BaseException] = []

    def beside() -> None:
        try:
            _beside(server, keeper, host, port, when_it_answers)
        except BaseException as fault:  # noqa: BLE001 - raised again below, where somebody sees it
            faults.append(fault)
            server.interrupt_signal = True  # as Ctrl+C would have it
            server.main_loop_interrupt.set()

    server.on_startup(threading.Thread(target=beside, daemon=True).start)
    check_port(host, port)  # once more, the closer to listening the better
    try:
        server.serve(target_loader=load_application, wrap_loader=False)
    finally:
        keeper.stop()
    for fault in faults:
        raise fault


def _load_site() -> None:
    """Load every page before anybody asks: a fault shows now, and where processes are forked this one's copy serves."""
    from django.urls import get_resolver  # noqa: PLC0415 - needs Django set up

    import_module("treadle.web.wsgi")
    if not get_resolver().url_patterns:
        raise RuntimeError("the site has no pages")


def _beside(
    server: MPServer | MTServer, keeper: Keeper, host: str, port: int, when_it_answers: Callable[[], None]
) -> None:
    """Wait for the serving process, which is forked where that is possible and so before we begin; then begin."""
    while not server.wrks:
        time.sleep(0.01)
    keeper.start()
    _wait_for_an_answer(host, port)
    when_it_answers()


def load_application() -> Any:
    """Return the application, in the process that serves; that process ends when the one that started it does."""
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    from treadle.web.wsgi import application  # noqa: PLC0415 - loaded in the serving process alone

    return Door(application, threads=THREADS)


def _leave_with_parent() -> None:
    """End at once when the parent is gone: nobody would hold the folder's lock any more."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


def _wait_for_an_answer(host: str, port: int) -> None:
    """Ask for the first page until it comes, whatever it says; this loads what the first visitor would wait for."""
    while True:
        with suppress(OSError, http.client.HTTPException):
            asking = http.client.HTTPConnection("127.0.0.1" if host in EVERYWHERE else host, port, timeout=60)
            asking.request("GET", "/")
            asking.getresponse().read()
            asking.close()
            return
        time.sleep(0.05)


# ---- names


def _bracketed(host: str) -> str:
    """A host as it stands in an address."""
    return f"[{host}]" if ":" in host else host


def _reached_by(host: str) -> str:
    """What others call this machine when it listens at every address it has."""
    return _address_on_the_network() if host in EVERYWHERE else host


def _names_of_this_machine() -> list[str]:
    name = socket.gethostname().lower()
    return [name, f"{name}.local", _bracketed(_address_on_the_network())]


def _address_on_the_network() -> str:
    """The address this machine would use towards others; nothing is sent to find out."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as trial, suppress(OSError):
        trial.connect(("192.0.2.1", 9))  # an address set aside for examples (RFC 5737)
        return str(trial.getsockname()[0])
    return "127.0.0.1"
