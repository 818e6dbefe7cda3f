"""`treadle serve` as a shop runs it: started, asked, stopped, killed and started again."""

from __future__ import annotations

import http.client
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from web.server.running import PATIENCE, free_port, running, start

from treadle.web.data_folder import source_tree
from treadle.web.first_start import token_fits


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """A new shop, served."""
    with running(tmp_path_factory.mktemp("serve") / "shop") as one:
        yield one


@pytest.fixture(scope="module")
def stopped(tmp_path_factory):
    """A shop whose server was stopped."""
    folder = tmp_path_factory.mktemp("stopped") / "shop"
    with running(folder) as one:
        assert one.stop() == 0
    return folder


@pytest.fixture
def folder(stopped, tmp_path):
    """A copy of that shop, for one test."""
    return Path(shutil.copytree(stopped, tmp_path / "shop"))


def ask(server, path, **headers):
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)
    connection.request("GET", path, headers=headers)
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer, body


def test_a_new_shop_is_empty_and_says_how_to_set_it_up_once(server):
    assert server.address in server.said
    assert str(server.folder) in server.said
    assert token_fits(server.folder, server.token)
    with closing(sqlite3.connect(server.folder / "treadle.sqlite3")) as database:
        assert [
            database.execute(f"select count(*) from people_{table}").fetchone() for table in ("shop", "person")
        ] == [
            (0,),
            (0,),
        ]


def test_a_stranger_is_asked_to_sign_in(server):
    answer, _ = ask(server, "/")
    assert (answer.status, answer.headers["Location"].partition("?")[0]) == (302, "/sign-in/")


def test_static_files_come_gathered_packed_and_under_names_that_may_be_kept(server):
    _, page = ask(server, "/sign-in/")
    path = re.search(r'href="(/static/[^"]+\.css)"', page.decode())[1]
    assert re.search(r"\.[0-9a-f]{12}\.css$", path)
    answer, _ = ask(server, path, **{"Accept-Encoding": "gzip"})
    assert answer.status == 200
    assert answer.headers["Content-Encoding"] == "gzip"
    assert "immutable" in answer.headers["Cache-Control"]


def test_the_folder_is_its_owners_alone_down_to_every_record(server):
    gathered = server.folder / "cache"  # the same for everybody, and shut in by the folder around it
    kept = [path for path in (server.folder, *server.folder.rglob("*")) if not path.is_relative_to(gathered)]
    assert {path.name for path in kept} >= {"treadle.sqlite3", "secret-key", "first-start"}
    assert [path for path in kept if path.stat().st_mode & 0o077] == []


def test_a_second_server_of_the_folder_is_refused_and_the_first_goes_on(server):
    second = start(server.folder, free_port())
    said, _ = second.communicate(timeout=60)
    assert second.returncode == 2
    assert server.address in said
    assert "already" in said
    assert ask(server, "/sign-in/")[0].status == 200


def test_a_server_of_another_folder_is_refused_the_port_and_leaves_the_folder_free(server, tmp_path):
    second = start(tmp_path / "other", server.port)
    said, _ = second.communicate(timeout=60)
    assert second.returncode == 2
    assert f"port {server.port}" in said
    assert not (tmp_path / "other" / "treadle.sqlite3").exists()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_cleanly_when_told_to(number, folder):
    with running(folder) as server:
        assert server.stop(number) == 0
        assert "Traceback" not in server.said
    assert not (folder / "serve.address").exists()


def test_a_later_start_keeps_the_key_and_lets_only_its_own_token_in(folder):
    key = (folder / "secret-key").read_text()
    with running(folder) as first:
        pass
    with running(folder) as second:
        assert (folder / "secret-key").read_text() == key
        assert not token_fits(folder, first.token)
        assert token_fits(folder, second.token)


def test_after_a_kill_nothing_of_it_goes_on_and_the_folder_can_be_served_again(folder):
    with running(folder) as first:
        # Its output ends when the serving process and the worker have let go of it too.
        assert first.stop(signal.SIGKILL) == -signal.SIGKILL
    with running(folder) as second:
        assert ask(second, "/sign-in/")[0].status == 200


def test_records_are_not_kept_in_the_source_tree():
    inside = source_tree() / "shop-data"
    done = subprocess.run(
        [sys.executable, "-m", "treadle", "serve", "--data", str(inside)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert str(inside) in done.stderr
    assert not inside.exists()


def test_a_setting_nobody_understands_is_named(tmp_path):
    process = start(tmp_path, free_port(), TREADLE_HTTPS="perhaps")
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "perhaps" in said
    assert "TREADLE_HTTPS" in said


def test_a_database_that_does_not_answer_is_named(tmp_path):
    process = start(tmp_path, free_port(), TREADLE_DATABASE_URL=f"postgresql://x@127.0.0.1:{free_port()}/treadle")
    said, _ = process.communicate(timeout=60)
    assert process.returncode == 2
    assert "TREADLE_DATABASE_URL" in said


ANNOUNCING_NOTHING = """
import sys
from pathlib import Path
from treadle.web.server.start import serve

def announce(_):
    raise RuntimeError("no sentence for it")

serve(data=Path(sys.argv[1]), host="127.0.0.1", port=int(sys.argv[2]), announce=announce)
"""


def test_a_server_that_cannot_say_where_it_is_stops_and_says_why(folder):
    # It used to go on without a word: the address was to be told by a thread whose fault nobody saw.
    done = subprocess.run(
        [sys.executable, "-c", ANNOUNCING_NOTHING, str(folder), str(free_port())],
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE,
    )
    assert done.returncode != 0
    assert "RuntimeError: no sentence for it" in done.stderr
