"""The job table: asked for once while it waits, done in its shop's scope, tried again when it fails."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from treadle.web.base import jobs
from treadle.web.base.models import BackgroundJob
from treadle.web.base.scope import shop_in_scope, shop_scope


@pytest.fixture
def done(monkeypatch):
    """Two kinds of job: one that notes where it ran, one that fails."""
    ran = []
    monkeypatch.setattr(jobs, "_KINDS", {})

    @jobs.kind_of_job("note")
    def note(what):
        ran.append((shop_in_scope(), what))

    @jobs.kind_of_job("fail")
    def fail():
        raise ValueError("the disk is full")

    return ran


def test_a_job_is_done_in_the_scope_of_the_shop_that_asked(done, shop, other_shop):
    for one, what in ((shop, "ours"), (other_shop, "theirs")):
        with shop_scope(one.pk):
            jobs.ask_for("note", what=what)
    while jobs.do_next("worker"):
        pass
    assert done == [(shop.pk, "ours"), (other_shop.pk, "theirs")]


def test_the_same_thing_waiting_is_asked_for_once(done, in_shop):
    assert jobs.ask_for("note", what="a") == jobs.ask_for("note", what="a")
    jobs.ask_for("note", what="b")
    assert BackgroundJob.objects.count() == 2


def test_a_kind_nobody_knows_is_refused_where_it_is_asked_for(done, in_shop):
    with pytest.raises(KeyError, match="note"):
        jobs.ask_for("sing")


def test_a_job_waits_for_its_hour(done, in_shop):
    jobs.ask_for("note", not_before=timezone.now() + timedelta(hours=1), what="later")
    assert jobs.do_next("worker") is False
    assert done == []


def test_a_job_that_fails_is_tried_three_times_and_says_why(done, in_shop):
    job = jobs.ask_for("fail")
    for _ in range(jobs.TRIES):
        BackgroundJob.objects.update(not_before=timezone.now())
        assert jobs.do_next("worker") is True
    job.refresh_from_db()
    assert (job.state, job.tries, job.message) == ("failed", 3, "ValueError: the disk is full")
    assert jobs.do_next("worker") is False


def test_a_job_lost_with_its_worker_is_done_again(done, in_shop):
    job = jobs.ask_for("note", what="again")
    long_ago = timezone.now() - jobs.LOST_AFTER - timedelta(minutes=1)
    BackgroundJob.objects.filter(pk=job.pk).update(state="running", started_at=long_ago, worker="gone")
    assert jobs.do_next("worker") is True
    assert [what for _, what in done] == ["again"]
