"""Requests come in whole before a thread is spent on them; what a phone sends half never reaches a page."""

from __future__ import annotations

import asyncio
import io
import socket
import time

import pytest
from web.server.running import running

from treadle.web.server import door
from treadle.web.server.door import Door, environment_of


def scope(**changed):
    plain = {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/readings/",
        "query_string": b"",
        "headers": [],
        "server": ("127.0.0.1", 8337),
        "client": ("127.0.0.1", 50000),
    }
    return plain | changed


def pieces(*parts, then="whole"):
    """What is sent, piece by piece; then it is whole, or the phone is gone, or nothing more ever comes."""
    left = [{"type": "http.request", "body": part, "more_body": True} for part in parts]

    async def receive():
        if left:
            return left.pop(0)
        if then == "gone":
            return {"type": "http.disconnect"}
        if then == "silent":
            await asyncio.Event().wait()
        return {"type": "http.request", "body": b"", "more_body": False}

    return receive


def answer_of(site, receive, **changed):
    """What the door sends back: status, headers and body; None for nothing at all."""
    sent = []

    async def send(message):
        sent.append(message)

    asyncio.run(Door(site, threads=1)(scope(**changed), receive, send))
    if not sent:
        return None
    body = b"".join(message["body"] for message in sent[1:])
    assert [message.get("more_body") for message in sent[1:]] == [True] * (len(sent) - 2) + [False]
    return sent[0]["status"], sent[0]["headers"], body


def echo(environment, start_response):
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [environment["REQUEST_METHOD"].encode(), b" ", environment["wsgi.input"].read()]


def never(*_):
    raise AssertionError("it reached the page")


def test_a_page_finds_all_that_was_sent_in_pieces():
    assert answer_of(echo, pieces(b"1 1/", b"4 in")) == (200, [(b"content-type", b"text/plain")], b"POST 1 1/4 in")


@pytest.mark.parametrize("size", [0, 1, door.PIECE - 1, door.PIECE, door.PIECE + 1, 2 * door.PIECE])
def test_an_answer_comes_out_as_long_as_it_was(size):
    def site(_, start_response):
        start_response("200 OK", [])
        return [b"x" * size]

    assert answer_of(site, pieces()) == (200, [], b"x" * size)


def test_what_is_sent_half_never_reaches_a_page():
    assert answer_of(never, pieces(b"1 1/", then="gone")) is None


def test_a_phone_that_falls_silent_is_given_up(monkeypatch):
    monkeypatch.setattr(door, "PATIENCE", 0.05)
    assert answer_of(never, pieces(b"1 1/", then="silent")) is None


def test_more_than_is_taken_is_refused_before_a_page_sees_it(monkeypatch):
    monkeypatch.setattr(door, "LARGEST", 8)
    assert answer_of(never, pieces(b"12345", b"6789"))[0] == 413
    assert answer_of(echo, pieces(b"12345", b"678"))[0] == 200


def test_an_answer_nobody_takes_is_given_up_and_its_page_closed(monkeypatch):
    monkeypatch.setattr(door, "PATIENCE", 0.05)
    closed = []

    class Pages(list):
        def close(self):
            closed.append(True)

    async def send(message):
        if message["type"] == "http.response.body":
            await asyncio.Event().wait()

    def site(_, start_response):
        start_response("200 OK", [])
        return Pages([b"x"])

    assert asyncio.run(Door(site, threads=1)(scope(), pieces(), send)) is None
    assert closed == [True]


def test_a_fault_around_the_site_is_an_answer_and_is_written_down(caplog):
    def site(_, start_response):
        start_response("200 OK", [])
        yield b"half a page"
        raise RuntimeError("a fault of ours")

    assert answer_of(site, pieces()) == (500, [], b"")
    assert "a fault of ours" in caplog.text


def test_the_environment_is_that_of_the_standard():
    # PEP 3333, "environ Variables"; RFC 3875 4.1.18 for HTTP_*; RFC 9113 8.2.3: cookies may come in several fields.
    headers = [
        (b"host", b"shop.local:8337"),
        (b"content-type", b"application/json"),
        (b"content-length", b"999"),
        (b"cookie", b"treadle=a"),
        (b"cookie", b"csrftoken=b"),
        (b"accept-language", b"es"),
        (b"accept-language", b"en"),
        (b"x_forwarded_for", b"192.0.2.9"),
    ]
    made = environment_of(
        scope(headers=headers, raw_path=b"/units/K%2D12%C3%B1/", query_string=b"q=1", scheme="https"), io.BytesIO(b"{}")
    )
    expected = {
        "REQUEST_METHOD": "POST",
        "SCRIPT_NAME": "",
        "PATH_INFO": "/units/K-12ñ/".encode().decode("latin-1"),
        "QUERY_STRING": "q=1",
        "CONTENT_TYPE": "application/json",
        "CONTENT_LENGTH": "2",
        "SERVER_NAME": "127.0.0.1",
        "SERVER_PORT": "8337",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": "127.0.0.1",
        "HTTP_HOST": "shop.local:8337",
        "HTTP_COOKIE": "treadle=a; csrftoken=b",
        "HTTP_ACCEPT_LANGUAGE": "es,en",
        "wsgi.url_scheme": "https",
    }
    assert {name: made[name] for name in expected} == expected
    assert [name for name in made if "FORWARDED" in name or name == "HTTP_CONTENT_LENGTH"] == []
    assert made["wsgi.input"].read() == b"{}"


def test_phones_that_stop_in_the_middle_do_not_stop_the_server(tmp_path):
    begun = b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100000\r\n\r\nusername="
    with running(tmp_path) as server:
        phones = [socket.create_connection(("127.0.0.1", server.port)) for _ in range(12)]
        for phone in phones:
            phone.sendall(begun)
        with socket.create_connection(("127.0.0.1", server.port), timeout=20) as other:
            asked = time.monotonic()
            other.sendall(b"GET /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
            assert other.recv(64).startswith(b"HTTP/1.1 200 ")
            assert time.monotonic() - asked < door.PATIENCE
        for phone in phones:
            phone.close()
