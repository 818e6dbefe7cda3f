"""The process that does the jobs of the background, one after the other; started beside the server, and with it ended.

python -m treadle.web.server.worker --with-parent     ends when whoever started it closes its standard input or dies
python -m treadle.web.server.worker                   ends at Ctrl+C, or when it is told to terminate
"""

from __future__ import annotations

import logging
import os
import signal
import socket
import sys
import threading

import django
from django.db import DatabaseError, connection
from django.utils.module_loading import autodiscover_modules

IDLE_SECONDS = 1.0
AFTER_FAULT_SECONDS = 5.0
log = logging.getLogger("treadle.worker")


def main() -> None:
    """Do jobs until told to stop; a job under way is finished first."""
    stop = threading.Event()
    with_parent = "--with-parent" in sys.argv[1:]
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    # A parent says itself when; Ctrl+C at its terminal is for it alone.
    signal.signal(signal.SIGINT, signal.SIG_IGN if with_parent else lambda *_: stop.set())
    if with_parent:
        threading.Thread(target=_stop_with_parent, args=(stop,), daemon=True).start()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "treadle.web.settings")
    django.setup()
    autodiscover_modules("background")  # each app's background.py names the kinds of job it can do
    work_until(stop, name=f"{socket.gethostname()}:{os.getpid()}")


def work_until(stop: threading.Event, *, name: str) -> None:
    """Do every job there is, and look again after a while; what the database refuses is tried again later."""
    from treadle.web.base.jobs import do_next  # noqa: PLC0415 - models load only once Django is set up

    while not stop.is_set():
        try:
            if not do_next(name):
                stop.wait(IDLE_SECONDS)
        except DatabaseError:
            log.exception("the database refused; trying again in %s s", AFTER_FAULT_SECONDS)
            connection.close()
            stop.wait(AFTER_FAULT_SECONDS)


def _stop_with_parent(stop: threading.Event) -> None:
    """Wait for the end of standard input, which comes when the parent closes it and when the parent dies."""
    os.read(sys.stdin.fileno(), 1)
    stop.set()


if __name__ == "__main__":
    main()
