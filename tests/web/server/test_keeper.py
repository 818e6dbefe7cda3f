"""The worker process is kept going as long as the server runs, and no longer."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from treadle.web.server import keeper as module
from treadle.web.server.keeper import Keeper

READS_TO_THE_END = "import sys; print('up', flush=True); sys.stdin.read()"


def wait_for(condition, patience=2000):
    """Look until it is so; how often is bounded, so what never comes fails the test."""
    pause = module.threading.Event()
    for _ in range(patience):
        if condition():
            return True
        pause.wait(0.005)
    return False


@pytest.fixture
def keeper(monkeypatch):
    monkeypatch.setattr(module, "FIRST_PAUSE", 0.01)
    made = Keeper([sys.executable, "-c", READS_TO_THE_END])
    yield made
    made.stop()


def test_a_worker_that_falls_over_is_started_again(keeper, caplog):
    keeper.start()
    assert wait_for(lambda: keeper.process is not None)
    first = keeper.process
    first.kill()
    assert wait_for(lambda: keeper.process is not first)
    assert keeper.process.poll() is None
    assert "starting it again" in caplog.text


def test_stopping_ends_the_worker_and_starts_no_other(keeper, caplog):
    keeper.start()
    assert wait_for(lambda: keeper.process is not None)
    process = keeper.process
    keeper.stop()
    assert process.returncode == 0
    assert keeper.process is process
    assert caplog.text == ""


def test_a_worker_that_does_not_come_to_an_end_is_ended(monkeypatch):
    monkeypatch.setattr(module, "PATIENCE", 0.2)
    deaf = Keeper([sys.executable, "-c", "import threading; threading.Event().wait()"])
    deaf.start()
    assert wait_for(lambda: deaf.process is not None)
    deaf.stop()
    assert deaf.process.returncode != 0


def test_one_stopped_before_it_began_starts_nothing():
    never = Keeper([sys.executable, "-c", READS_TO_THE_END])
    never.stop()
    never.start()
    never.stop()
    assert never.process is None


PARENT = """
import sys, threading
from treadle.web.server.keeper import Keeper
keeper = Keeper([sys.executable, "-c", "import sys; sys.stdin.read()"])
keeper.start()
while keeper.process is None:
    pass
print(keeper.process.pid, flush=True)
threading.Event().wait()
"""


def test_a_worker_ends_with_a_parent_that_was_killed():
    parent = subprocess.Popen([sys.executable, "-c", PARENT], stdout=subprocess.PIPE, text=True)
    worker = int(parent.stdout.readline())
    parent.kill()
    parent.communicate()
    assert wait_for(lambda: not is_running(worker))


def is_running(pid):
    """Whether a process runs; one that ended and waits to be collected does not."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    state = subprocess.run(["ps", "-o", "state=", "-p", str(pid)], capture_output=True, text=True, check=False)
    return state.stdout.strip() not in ("", "Z")
