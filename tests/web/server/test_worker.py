"""The worker does each job once, goes on after one that fails, and shares the work with another worker."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections import Counter

import pytest
from contracts.tree import SOURCE, modules_below
from django.db import OperationalError, connections

from treadle.web.base import jobs
from treadle.web.base.jobs import ask_for, do_next, kind_of_job
from treadle.web.base.models import BackgroundJob
from treadle.web.base.scope import shop_in_scope, shop_scope
from treadle.web.server import worker
from treadle.web.server.worker import work_until

PATIENCE = 60  # a worker that hangs fails the test after so many seconds


@pytest.fixture
def kinds(monkeypatch):
    """Room for kinds of job that only a test knows."""
    monkeypatch.setattr(jobs, "_KINDS", {})


@pytest.fixture
def done(kinds):
    """What was done, as (shop, number); the job 'last' tells the worker to stop."""
    found = []

    @kind_of_job("count")
    def count(number):
        found.append((shop_in_scope(), number))

    return found


@pytest.fixture
def stop(done):
    """The worker's sign to stop, given by a job of its own."""
    sign = threading.Event()
    kind_of_job("last")(sign.set)
    return sign


def ask(shop, kind, **arguments):
    with shop_scope(shop.pk):
        return ask_for(kind, **arguments)


@pytest.mark.django_db(transaction=True)
def test_each_job_is_done_once_in_the_scope_of_its_shop(shop, other_shop, done, stop):
    first, second = ask(shop, "count", number=1), ask(other_shop, "count", number=2)
    ask(shop, "last")
    work_until(stop, name="one")
    assert done == [(shop.pk, 1), (other_shop.pk, 2)]
    for job in (first, second):
        job.refresh_from_db()
        assert (job.state, job.tries, job.worker) == ("done", 1, "one")
    assert not do_next("one")


@pytest.mark.django_db(transaction=True)
def test_the_worker_goes_on_after_a_job_that_fails(shop, done, stop):
    @kind_of_job("fail")
    def fail():
        raise ValueError("a seized cam")

    failing = ask(shop, "fail")
    ask(shop, "count", number=1)
    ask(shop, "last")
    work_until(stop, name="one")
    assert done == [(shop.pk, 1)]
    failing.refresh_from_db()
    assert (failing.state, failing.tries, failing.message) == ("waiting", 1, "ValueError: a seized cam")
    assert failing.not_before > failing.started_at


@pytest.mark.django_db(transaction=True)
def test_a_job_that_goes_on_failing_is_given_up_and_keeps_its_message(shop, done):
    @kind_of_job("fail")
    def fail():
        raise ValueError("a seized cam")

    failing = ask(shop, "fail")
    for _ in range(jobs.TRIES):
        assert do_next("one")
        BackgroundJob.objects.filter(state="waiting").update(not_before=failing.asked_at)
    assert not do_next("one")
    failing.refresh_from_db()
    assert (failing.state, failing.message) == ("failed", "ValueError: a seized cam")


@pytest.mark.django_db(transaction=True)
def test_two_workers_never_do_one_job_twice(shop, done):
    asked = 60
    for number in range(asked):
        ask(shop, "count", number=number)
    together, faults = threading.Barrier(2), []

    def work(name):
        try:
            together.wait(PATIENCE)
            while do_next(name):
                pass
        except BaseException as fault:  # noqa: BLE001 - told to the test, which runs elsewhere
            faults.append(fault)
        finally:
            connections.close_all()

    workers = [threading.Thread(target=work, args=(name,)) for name in ("one", "two")]
    for one in workers:
        one.start()
    for one in workers:
        one.join(PATIENCE)
    assert faults == []
    assert Counter(number for _, number in done) == Counter(range(asked))
    rows = BackgroundJob.objects.values_list("state", "tries")
    assert Counter(rows) == {("done", 1): asked}


def test_a_database_that_refuses_is_asked_again(monkeypatch, caplog):
    monkeypatch.setattr(worker, "AFTER_FAULT_SECONDS", 0)
    stop, asked = threading.Event(), []

    def refuse_once(_):
        asked.append(1)
        if len(asked) == 1:
            raise OperationalError("it does not answer")
        stop.set()
        return True

    monkeypatch.setattr(jobs, "do_next", refuse_once)
    work_until(stop, name="one")
    assert len(asked) == 2
    assert "the database refused" in caplog.text


KINDS_OF_THE_WORKER = """
import json
from treadle.web.server import worker

def tell(*_, **__):
    from treadle.web.base import jobs
    print(json.dumps({name: work.__module__ for name, work in jobs._KINDS.items()}))

worker.work_until = tell
worker.main()
"""


def modules_with_kinds():
    folder = SOURCE / "web"
    return {
        path.relative_to(SOURCE.parent).with_suffix("").as_posix().replace("/", ".")
        for path in modules_below(folder)
        if "@kind_of_job(" in path.read_text(encoding="utf-8")
    }


def test_the_worker_knows_every_kind_of_job_there_is():
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": "treadle.web.settings"}
    done = subprocess.run(
        [sys.executable, "-c", KINDS_OF_THE_WORKER], env=environment, capture_output=True, text=True, check=True
    )
    assert set(json.loads(done.stdout).values()) == modules_with_kinds(), "import each in its app's background.py"
