"""Work for the worker: which kinds there are, asking for one, and doing one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from treadle.web.base.models import BackgroundJob
from treadle.web.base.scope import shop_in_scope, shop_scope

Work = Callable[..., None]
_KINDS: dict[str, Work] = {}
TRIES = 3
WAIT_AFTER_FAILURE = timedelta(minutes=2)
LOST_AFTER = timedelta(minutes=30)
"""A job still running after this long was lost with its worker and is done again."""


def kind_of_job(name: str) -> Callable[[Work], Work]:
    """Register a function as the work of a kind of job; it is called with the job's arguments, in its shop's scope."""

    def register(work: Work) -> Work:
        _KINDS[name] = work
        return work

    return register


def ask_for(kind: str, *, not_before: datetime | None = None, **arguments: Any) -> BackgroundJob:
    """Ask the worker to do something for the shop in scope; the same thing already waiting is not asked for twice."""
    if kind not in _KINDS:
        raise KeyError(f"no kind of job is called {kind!r}; known: {', '.join(sorted(_KINDS))}")
    waiting = BackgroundJob.objects.filter(
        shop_id=shop_in_scope(), kind=kind, arguments=arguments, state=BackgroundJob.State.WAITING
    ).first()
    if waiting is not None:
        return waiting
    return BackgroundJob.objects.create(
        shop_id=shop_in_scope(), kind=kind, arguments=arguments, not_before=not_before or timezone.now()
    )


def do_next(worker: str) -> bool:
    """Do the job that has waited longest; return whether there was one.

    A job that fails is tried again later, three times in all; its last message is kept.  No transaction is around it: a
    long one would keep everybody else from writing, so each job opens short ones of its own and may be done twice.
    """
    job = _take(worker)
    if job is None:
        return False
    try:
        with shop_scope(job.shop_id):
            _KINDS[job.kind](**job.arguments)
    except Exception as fault:  # noqa: BLE001 - whatever a job raises is kept with it, and the worker goes on
        _failed(job, f"{type(fault).__name__}: {fault}")
    else:
        _settle(job.pk, BackgroundJob.State.DONE, "")
    return True


def _take(worker: str) -> BackgroundJob | None:
    """Mark the next job as this worker's; two workers never get the same one."""
    now = timezone.now()
    lost = BackgroundJob.objects.filter(state=BackgroundJob.State.RUNNING, started_at__lt=now - LOST_AFTER)
    lost.update(state=BackgroundJob.State.WAITING)
    ready = BackgroundJob.objects.filter(state=BackgroundJob.State.WAITING, not_before__lte=now, kind__in=_KINDS)
    for job in ready.order_by("not_before", "asked_at")[:5]:
        mine = BackgroundJob.objects.filter(pk=job.pk, state=BackgroundJob.State.WAITING).update(
            state=BackgroundJob.State.RUNNING, started_at=now, worker=worker, tries=job.tries + 1
        )
        if mine:
            job.refresh_from_db()
            return job
    return None


def _failed(job: BackgroundJob, message: str) -> None:
    again = job.tries < TRIES
    state = BackgroundJob.State.WAITING if again else BackgroundJob.State.FAILED
    _settle(job.pk, state, message)
    if again:
        BackgroundJob.objects.filter(pk=job.pk).update(not_before=timezone.now() + WAIT_AFTER_FAILURE * job.tries)


def _settle(pk: UUID, state: str, message: str) -> None:
    BackgroundJob.objects.filter(pk=pk).update(state=state, message=message, finished_at=timezone.now())
