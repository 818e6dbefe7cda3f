"""A real `treadle serve` in a process of its own, for tests that start, ask, stop and kill it; a helper."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PATIENCE = 120
"""How long a start may take on a machine that does much else; a server that takes longer is killed. [s]"""


def free_port() -> int:
    """A port on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Server:
    """A server that answers."""

    def __init__(self, folder: Path, port: int, **settings: str) -> None:
        self.folder, self.port, self.address = folder, port, f"http://127.0.0.1:{port}/"
        self.process = start(folder, port, **settings)
        self.said = self._until_it_answers()

    def _until_it_answers(self) -> str:
        lines = []
        too_long = threading.Timer(PATIENCE, self.process.kill)
        too_long.start()
        for line in self.process.stdout:
            lines.append(line)
            if "Ctrl+C" in line:
                break
        too_long.cancel()
        return "".join(lines)

    @property
    def token(self) -> str:
        """The token of the set-up address it printed; empty where it printed none."""
        found = re.search(r"welcome/\?token=(\S+)", self.said)
        return found[1] if found else ""

    def stop(self, number: int = signal.SIGTERM) -> int:
        """Send a signal and wait for the end; return the exit code."""
        self.process.send_signal(number)
        return self.ended()

    def ended(self) -> int:
        """Wait until it and all it started have let go of its output; return the exit code."""
        self.said += self.process.stdout.read()
        return self.process.wait(PATIENCE)


def start(folder: Path, port: int, **settings: str) -> subprocess.Popen[str]:
    """Start `treadle serve` and do not wait."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("TREADLE_", "DJANGO_"))}
    return subprocess.Popen(
        [sys.executable, "-m", "treadle", "serve", "--data", str(folder), "--port", str(port)],
        env={**kept, "PYTHONUNBUFFERED": "1", **settings},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,  # a group of its own, to be killed whole
    )


@contextmanager
def running(folder: Path, **settings: str) -> Iterator[Server]:
    """Serve a folder for as long as the block runs."""
    server = Server(folder, free_port(), **settings)
    try:
        yield server
    finally:
        with server.process:  # closes its output, and waits
            server.process.kill()
