"""A server that is killed while it writes loses nothing that it acknowledged, and leaves a sound database.

A killed process is not a power cut: that the disk itself keeps what it was told to keep cannot be shown here.
`do.py faults` runs more rounds, by FAULT_ROUNDS.
"""

from __future__ import annotations

import http.client
import itertools
import os
import re
import signal
import sqlite3
import threading
import urllib.parse
import uuid
from collections import Counter
from contextlib import closing
from dataclasses import dataclass

import pytest
from web.server.running import running

ROUNDS = int(os.environ.get("FAULT_ROUNDS", "2"))
WRITERS = 4
ACKNOWLEDGED_BEFORE_THE_KILL = 25
FORM = "application/x-www-form-urlencoded"


@dataclass
class Visitor:
    """A browser's worth: where, and the cookies it was given."""

    port: int
    cookies: dict[str, str]

    def send(self, method, path, **fields):
        """Ask, keep the cookies of the answer, and return its status, its address of going on, and its text."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if method == "POST":
            headers |= {"Content-Type": FORM, "X-CSRFToken": self.cookies["csrftoken"]}
            body = urllib.parse.urlencode(fields, doseq=True)
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        for cookie in answer.headers.get_all("Set-Cookie") or ():
            name, _, value = cookie.partition(";")[0].partition("=")
            self.cookies[name] = value
        connection.close()
        return answer.status, answer.headers.get("Location", ""), text

    def at(self, port):
        """The same browser, the server being at another port now."""
        return Visitor(port, dict(self.cookies))


def found_shop(server):
    """Found the shop with the token the server printed; return its lead's browser."""
    lead = Visitor(server.port, {})
    address = f"/welcome/?token={server.token}"
    assert lead.send("GET", address)[0] == 200
    shop = {
        "name": "Saltgrass Haulage",
        "zone": "America/Denver",
        "runs_in": ["us"],
        "measure": "in",
        "paper": "letter",
    }
    password = {"new_password": "chock-the-wheels-first", "new_password_again": "chock-the-wheels-first"}
    status, _, text = lead.send(
        "POST", address, token=server.token, lead="M. Oduya", sign_in="oduya", **shop, **password
    )
    assert status == 302, text
    return lead


def lead_of(folder):
    with closing(sqlite3.connect(folder / "treadle.sqlite3")) as database:
        (found,) = database.execute("select id from people_person").fetchone()
    return uuid.UUID(found)


class Writers:
    """Some browsers that enter records as fast as they can, and note which the server acknowledged."""

    def __init__(self, lead, server, person, numbers):
        self.lead, self.server, self.numbers = lead, server, numbers
        self.path = f"/people/{person}/qualify/"
        self.acknowledged, self.odd = [], []
        self.enough = threading.Event()
        self.guard = threading.Lock()
        self.threads = [threading.Thread(target=self._write) for _ in range(WRITERS)]

    def _write(self):
        visitor = self.lead.at(self.server.port)
        try:
            while True:
                with self.guard:
                    evidence = f"certificate {next(self.numbers)}"
                fields = {"for_what": "brakes", "ground": "year", "evidence": evidence, "granted_on": "2020-01-31"}
                status, _, text = visitor.send("POST", self.path, **fields)
                with self.guard:
                    (self.acknowledged if status == 302 else self.odd).append(evidence if status == 302 else text)
                    if self.odd or len(self.acknowledged) >= ACKNOWLEDGED_BEFORE_THE_KILL:
                        self.enough.set()
        except (OSError, http.client.HTTPException):
            return  # the server is gone: what was under way has no answer, and may be kept or not

    def until_killed(self):
        """Write until the server is killed in the middle of it; return what it acknowledged."""
        for thread in self.threads:
            thread.start()
        assert self.enough.wait(120)
        os.killpg(self.server.process.pid, signal.SIGKILL)
        self.server.ended()
        for thread in self.threads:
            thread.join(60)
        assert self.odd == []
        return self.acknowledged


@pytest.fixture(scope="module")
def rounds(tmp_path_factory):
    """What was acknowledged in all rounds, and the folder the last of them left."""
    folder = tmp_path_factory.mktemp("faults") / "shop"
    with running(folder) as server:
        lead = found_shop(server)
        assert server.stop() == 0
    person, numbers, acknowledged = lead_of(folder), itertools.count(1), []
    for _ in range(ROUNDS):
        with running(folder) as server:
            acknowledged += Writers(lead, server, person, numbers).until_killed()
    return folder, acknowledged, next(numbers)


def kept(folder, query):
    with closing(sqlite3.connect(folder / "treadle.sqlite3")) as database:
        return database.execute(query).fetchall()


def test_nothing_acknowledged_is_lost_or_kept_twice(rounds):
    folder, acknowledged, _ = rounds
    assert len(acknowledged) >= ROUNDS * ACKNOWLEDGED_BEFORE_THE_KILL
    found = Counter(evidence for (evidence,) in kept(folder, "select evidence from people_qualification"))
    assert [one for one in acknowledged if found[one] != 1] == []


def test_what_was_kept_without_being_acknowledged_had_been_sent(rounds):
    folder, acknowledged, next_number = rounds
    unanswered = {evidence for (evidence,) in kept(folder, "select evidence from people_qualification")}
    unanswered -= set(acknowledged)
    assert len(unanswered) <= ROUNDS * WRITERS
    assert all(int(re.fullmatch(r"certificate (\d+)", one)[1]) < next_number for one in unanswered)


def test_every_record_has_its_history(rounds):
    folder, _, _ = rounds
    rows = kept(folder, "select evidence from people_qualification order by 1")
    assert kept(folder, "select evidence from people_historicalqualification order by 1") == rows


def test_the_database_is_sound(rounds):
    folder, _, _ = rounds
    assert kept(folder, "pragma integrity_check") == [("ok",)]
    assert kept(folder, "pragma foreign_key_check") == []
