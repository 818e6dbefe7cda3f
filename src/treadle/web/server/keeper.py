"""Keeps the worker process going beside the server: starts it, starts it again when it falls over, ends it."""

from __future__ import annotations

import logging
import subprocess  # nosec B404 - it runs our own worker
import sys
import threading

FIRST_PAUSE, LONGEST_PAUSE = 1.0, 60.0
PATIENCE = 20.0
"""How long a job under way may take to finish when the server stops. [s]"""
log = logging.getLogger("treadle.serve")


class Keeper:
    """One worker process, kept going from `start` to `stop`."""

    def __init__(self, command: list[str] | None = None) -> None:
        self.command = command or [sys.executable, "-P", "-m", "treadle.web.server.worker", "--with-parent"]
        self.process: subprocess.Popen[bytes] | None = None
        self._stopping = threading.Event()
        self._turn = threading.Lock()
        self._thread = threading.Thread(target=self._keep, name="keeper", daemon=True)

    def start(self) -> None:
        """Start the worker and watch over it."""
        self._thread.start()

    def stop(self) -> None:
        """End the worker, after the job it is at; one that does not come to an end is ended all the same."""
        with self._turn:
            self._stopping.set()
            process = self.process
        if process is not None:
            _end(process)
        if self._thread.is_alive():
            self._thread.join()

    def _keep(self) -> None:
        pause = FIRST_PAUSE
        while (process := self._start_one()) is not None:
            with process:  # closes what is left of its input
                code = process.wait()
            if not self._stopping.wait(pause):
                log.error("the worker ended with %s; starting it again", code)
            pause = min(2 * pause, LONGEST_PAUSE)

    def _start_one(self) -> subprocess.Popen[bytes] | None:
        """Start a worker, unless it was said to stop."""
        with self._turn:
            if self._stopping.is_set():
                return None
            # Its input is open for as long as we live: that is how it knows.  It has a group of its own, so that Ctrl+C
            # ends it between two jobs and not within one.
            self.process = subprocess.Popen(self.command, stdin=subprocess.PIPE, process_group=0)  # noqa: S603  # nosec B603
            return self.process


def _end(process: subprocess.Popen[bytes]) -> None:
    """Close the worker's input, which tells it to end, and wait."""
    if process.stdin is not None:
        process.stdin.close()
    try:
        process.wait(PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
