"""Requests that may write take turns on SQLite; those that only read do not wait, and a turn waits for no slow line."""

from __future__ import annotations

import io
import threading
from types import SimpleNamespace

import pytest
from django.core.handlers.wsgi import WSGIRequest
from django.http import HttpResponse
from django.test import RequestFactory

from treadle.web.server import write_lock
from treadle.web.server.write_lock import WriteLock

PATIENCE = 10  # a thread that ought to arrive and does not fails the test after so many seconds


@pytest.fixture
def on_sqlite(monkeypatch):
    monkeypatch.setattr(write_lock, "connection", SimpleNamespace(vendor="sqlite"))


class Counting:
    """Answers requests and counts how many are at work at once."""

    def __init__(self, together: int = 1) -> None:
        self.at_work = self.most = 0
        self.guard = threading.Lock()
        self.together = threading.Barrier(together)

    def __call__(self, request):
        with self.guard:
            self.at_work += 1
            self.most = max(self.most, self.at_work)
        self.together.wait(PATIENCE)
        with self.guard:
            self.at_work -= 1
        return HttpResponse(status=204)


def answers_at_once(middleware, requests):
    answers = []
    threads = [threading.Thread(target=lambda one=one: answers.append(middleware(one))) for one in requests]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
    return [answer.status_code for answer in answers]


@pytest.mark.usefixtures("on_sqlite")
@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_requests_that_may_write_take_turns(method):
    work = Counting()
    requests = [getattr(RequestFactory(), method)("/readings/") for _ in range(8)]
    assert answers_at_once(WriteLock(work), requests) == [204] * 8
    assert work.most == 1


@pytest.mark.usefixtures("on_sqlite")
@pytest.mark.parametrize("method", ["get", "head", "options"])
def test_requests_that_only_read_do_not_wait_for_each_other(method):
    work = Counting(together=4)  # nobody gets on before four are at work
    requests = [getattr(RequestFactory(), method)("/units/") for _ in range(4)]
    assert answers_at_once(WriteLock(work), requests) == [204] * 4
    assert work.most == 4


def test_postgresql_keeps_its_own_order(monkeypatch):
    monkeypatch.setattr(write_lock, "connection", SimpleNamespace(vendor="postgresql"))
    work = Counting(together=4)
    assert answers_at_once(WriteLock(work), [RequestFactory().post("/readings/") for _ in range(4)]) == [204] * 4


class SlowLine(io.BytesIO):
    """What a phone sends, which is not all there until it is allowed to be."""

    def __init__(self, content, arrived):
        super().__init__(content)
        self.arrived = arrived

    def read(self, *arguments):
        assert self.arrived.wait(PATIENCE)
        return super().read(*arguments)


@pytest.mark.usefixtures("on_sqlite")
@pytest.mark.parametrize("content_type", ["application/json", "multipart/form-data; boundary=x"])
def test_a_phone_on_a_slow_line_holds_up_nobody(content_type):
    arrived = threading.Event()
    body = b'{"value": "1 1/4 in"}' if "json" in content_type else b"--x--\r\n"
    environment = RequestFactory()._base_environ(
        REQUEST_METHOD="POST",
        CONTENT_TYPE=content_type,
        CONTENT_LENGTH=str(len(body)),
        **{"wsgi.input": SlowLine(body, arrived)},
    )
    middleware = WriteLock(lambda _: HttpResponse(status=204))
    answers = []
    slow = threading.Thread(target=lambda: answers.append(middleware(WSGIRequest(environment))))
    slow.start()
    assert middleware(RequestFactory().post("/readings/")).status_code == 204
    assert answers == []
    arrived.set()
    slow.join(PATIENCE)
    assert [answer.status_code for answer in answers] == [204]


@pytest.mark.usefixtures("on_sqlite")
def test_the_view_still_finds_what_was_sent():
    seen = []

    def view(request):
        seen.append((request.POST.get("value"), request.FILES["photo"].read() if request.FILES else request.body))
        return HttpResponse()

    sent = {"value": "1 1/4 in", "photo": io.BytesIO(b"picture")}
    WriteLock(view)(RequestFactory().post("/readings/", sent))
    WriteLock(view)(RequestFactory().post("/readings/", b'{"a": 1}', content_type="application/json"))
    assert seen == [("1 1/4 in", b"picture"), (None, b'{"a": 1}')]


class GoneAway(io.BytesIO):
    def read(self, *_):
        raise OSError("the other side closed the line")


@pytest.mark.usefixtures("on_sqlite")
def test_a_phone_that_goes_away_in_the_middle_writes_nothing():
    environment = RequestFactory()._base_environ(
        REQUEST_METHOD="POST", CONTENT_TYPE="application/json", CONTENT_LENGTH="9", **{"wsgi.input": GoneAway()}
    )

    def view(_):
        raise AssertionError("half a request reached the view")

    assert WriteLock(view)(WSGIRequest(environment)).status_code == 400


@pytest.mark.usefixtures("on_sqlite")
def test_a_view_that_fails_gives_its_turn_back():
    def view(_):
        raise RuntimeError("a fault of ours")

    with pytest.raises(RuntimeError):
        WriteLock(view)(RequestFactory().post("/readings/"))
    assert WriteLock(lambda _: HttpResponse(status=204))(RequestFactory().post("/readings/")).status_code == 204
