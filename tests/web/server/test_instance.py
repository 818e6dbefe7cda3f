"""One server for one folder and for one port."""

from __future__ import annotations

import socket
import subprocess
import sys

import pytest

from treadle.web.server.instance import alone_in, check_port
from treadle.web.server.refusal import CannotServe
from treadle.words import LANGUAGES

HOLDING = """
import sys
from pathlib import Path
from treadle.web.server.instance import alone_in
with alone_in(Path(sys.argv[1]), "http://127.0.0.1:8337/"):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def holder(tmp_path):
    """A process that holds the folder."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.communicate()


def test_a_second_server_of_one_folder_is_refused_and_told_where_the_first_is(holder, tmp_path):
    with pytest.raises(CannotServe) as refused, alone_in(tmp_path, "http://127.0.0.1:9000/"):
        pass
    assert refused.value.code == "serve.already_running"
    for language in LANGUAGES:
        assert "http://127.0.0.1:8337/" in refused.value.said(language)
        assert str(tmp_path) in refused.value.said(language)


def test_a_server_that_was_killed_leaves_no_lock_behind(holder, tmp_path):
    holder.kill()
    holder.wait()
    with alone_in(tmp_path, "http://127.0.0.1:9000/"):
        assert (tmp_path / "serve.address").read_text() == "http://127.0.0.1:9000/"


def test_a_server_that_stopped_leaves_the_folder_free(tmp_path):
    for _ in range(2):
        with alone_in(tmp_path, "http://127.0.0.1:9000/"):
            pass
    assert not (tmp_path / "serve.address").exists()


@pytest.fixture
def listening():
    """A port on which somebody listens, ready to share it, as the server itself would be."""
    with socket.socket() as taken:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        yield taken.getsockname()[1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_port_that_is_taken_is_refused_with_another_to_try(language, listening):
    with pytest.raises(CannotServe) as refused:
        check_port("127.0.0.1", listening)
    assert refused.value.code == "serve.port_taken"
    said = refused.value.said(language)
    assert "127.0.0.1, p" in said
    assert f"--port {listening + 1}" in said


def test_a_free_port_is_taken_without_a_word(listening):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        free = probe.getsockname()[1]
    assert check_port("127.0.0.1", free) is None


@pytest.mark.parametrize("host", ["192.0.2.1", "no-such-host.invalid"])
def test_an_address_of_another_machine_is_refused(host):
    # 192.0.2.0/24 and .invalid are set aside: RFC 5737, RFC 2606.
    with pytest.raises(CannotServe) as refused:
        check_port(host, 8337)
    assert refused.value.code == "serve.no_such_host"
    assert host in refused.value.said("en")
