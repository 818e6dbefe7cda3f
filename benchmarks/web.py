"""Measures the web door over a large carrier: lists, a unit's page, the board, one reading, eight phones at once.

python benchmarks/web.py FOLDER [--units 2000]

FOLDER holds the carrier's records; where it is empty they are made first, which takes minutes.  The server is the real
one, started on a port of its own and stopped at the end; nothing but this machine is asked.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import random
import re
import statistics
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).parent.parent
HOST, PORT = "127.0.0.1", 8371
PASSWORD = "measured-not-guessed"  # noqa: S105 - of a carrier made for this run alone
LEAD = "oduya"
ZONE = "America/Denver"
ROUNDS, CLIENTS, PER_CLIENT = 200, 8, 40


def main() -> None:
    """Make the records if they are not there, serve them, and print a table."""
    asked = _parser().parse_args()
    if not (asked.folder / "treadle.sqlite3").exists():
        command = ["-m", "demo.load", "--data", asked.folder, "--units", str(asked.units), "--password", PASSWORD]
        subprocess.run([sys.executable, *command], cwd=ROOT, check=True)  # noqa: S603 - our own words and a path
    with _served(asked.folder):
        phone = Phone()
        phone.sign_in()
        _print_table(_measured(phone))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Measure the web door.")
    parser.add_argument("folder", type=Path, help="where the records are, or are to be made")
    parser.add_argument("--units", type=int, default=2000, help="how many units, where they are made")
    return parser


def _measured(phone: Phone) -> list[tuple[str, list[float], int]]:
    """Return what was measured: the work, its spans in seconds, its budget in milliseconds."""
    units = phone.units()
    drawn = random.Random(7)  # noqa: S311 - any units will do, the same ones each time
    some = drawn.sample(units, min(ROUNDS, len(units)))
    rows = [
        ("units list, first page", _spans(lambda: phone.get("/units/"), ROUNDS), 60),
        ("units list, narrowed", _spans(lambda: phone.get("/units/?q=1"), ROUNDS), 60),
        ("unit page", [_span(partial(phone.get, f"/units/{unit}/")) for unit in some], 60),
        ("dispatch board", _spans(lambda: phone.get("/dispatch/"), 50), 60),
    ]
    walk = phone.begin(some[0])
    rows.append(("one reading, alone", _spans(lambda: phone.read(walk, some[0]), ROUNDS), 25))
    rows.append((f"one reading, {CLIENTS} clients", _together(some[: CLIENTS + 1][1:]), 80))
    rows.append(("200 waiting readings, in all", [_span(partial(_flush, phone, walk, some[0]))], 3000))
    return rows


def _flush(phone: Phone, walk: str, unit: str) -> None:
    for _ in range(200):
        phone.read(walk, unit)


def _together(units: list[str]) -> list[float]:
    """Return the spans of readings sent by several phones at once, each at a unit of its own."""

    def work(unit: str) -> list[float]:
        phone = Phone()
        phone.sign_in()
        walk = phone.begin(unit)
        return _spans(lambda: phone.read(walk, unit), PER_CLIENT)

    with ThreadPoolExecutor(CLIENTS) as crew:
        return [span for spans in crew.map(work, units) for span in spans]


def _spans(work: Callable[[], object], times: int) -> list[float]:
    work()
    return [_span(work) for _ in range(times)]


def _span(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _print_table(rows: list[tuple[str, list[float], int]]) -> None:
    print(f"{'work':34}{'median':>10}{'p95':>10}{'budget':>10}")
    for work, spans, budget in rows:
        p95 = statistics.quantiles(spans, n=20)[-1] if len(spans) > 1 else spans[0]
        print(f"{work:34}{statistics.median(spans) * 1e3:7.0f} ms{p95 * 1e3:7.0f} ms{budget:7} ms")


class Phone:
    """One signed-in browser's worth of requests over one kept connection."""

    def __init__(self) -> None:
        """Open the connection."""
        self.connection = http.client.HTTPConnection(HOST, PORT, timeout=30)
        self.cookies: dict[str, str] = {}

    def get(self, path: str) -> str:
        """Return a page; anything but a page is a fault of the measurement."""
        status, text = self._ask("GET", path)
        if status != 200:
            raise RuntimeError(f"GET {path} answered {status}: {text[:200]}")
        return text

    def post_json(self, path: str, entry: dict[str, object]) -> dict[str, object]:
        """Return what the API answered to an entry."""
        headers = {"Content-Type": "application/json", "X-CSRFToken": self.cookies["csrftoken"]}
        status, text = self._ask("POST", path, json.dumps(entry), headers)
        if status not in (200, 201):
            raise RuntimeError(f"POST {path} answered {status}: {text[:300]}")
        return json.loads(text)  # type: ignore[no-any-return]

    def sign_in(self) -> None:
        """Sign in as the lead."""
        page = self.get("/sign-in/")
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
        if token is None:
            raise RuntimeError("the sign-in page has no form")
        form = urlencode({"csrfmiddlewaretoken": token[1], "username": LEAD, "next": "", "password": PASSWORD})
        status, text = self._ask("POST", "/sign-in/", form, {"Content-Type": "application/x-www-form-urlencoded"})
        if status != 302:
            raise RuntimeError(f"signing in answered {status}: {text[:200]}")

    def units(self) -> list[str]:
        """Return the numbers of the units of the first pages of the list."""
        pages = [self.get(f"/units/?page={page}") for page in range(1, 9)]
        return sorted({found for page in pages for found in re.findall(r'class="row" href="/units/([^"/]+)/"', page)})

    def begin(self, unit: str) -> str:
        """Begin a service walk-around of a unit by itself; return its id."""
        walk = str(uuid.uuid4())
        entry = {"id": walk, "unit": unit, "occasion": "service", "alone": True, "at": _now(), "zone": ZONE}
        self.post_json("/api/walk-arounds", entry)
        return walk

    def read(self, walk: str, unit: str) -> None:
        """Send one applied stroke of the first axle, left."""
        self.post_json(
            "/api/readings",
            {
                "id": str(uuid.uuid4()),
                "walk_around": walk,
                "unit": unit,
                "axle": 1,
                "side": "left",
                "kind": "applied_stroke",
                "value": "1 1/2 in",
                "reservoir": "95 psi",
                "engine": "off",
                "spring_brakes": "released",
                "at": _now(),
                "zone": ZONE,
            },
        )

    def _ask(self, method: str, path: str, body: str = "", headers: dict[str, str] | None = None) -> tuple[int, str]:
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        around = {"Cookie": cookies, "Origin": f"http://{HOST}:{PORT}", **(headers or {})}
        self.connection.request(method, path, body or None, around)
        answer = self.connection.getresponse()
        text = answer.read().decode()
        for line in answer.headers.get_all("Set-Cookie") or ():
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        return answer.status, text


def _now() -> str:
    return datetime.now().astimezone().isoformat()


@contextmanager
def _served(folder: Path) -> Iterator[None]:
    """Serve the folder until the block ends."""
    command = [sys.executable, "-m", "treadle", "serve", "--data", str(folder), "--port", str(PORT)]
    settings = {"TREADLE_DEMO": "1"}
    server = subprocess.Popen(command, cwd=ROOT, env=os.environ | settings, stdout=subprocess.DEVNULL)  # noqa: S603
    try:
        _wait_until_it_answers()
        yield
    finally:
        server.terminate()
        server.wait(timeout=20)


def _wait_until_it_answers() -> None:
    for _ in range(300):
        try:
            Phone().get("/sign-in/")
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError("the server did not answer within 30 seconds")


if __name__ == "__main__":
    main()
