"""``backprobe serve``: where it listens, what it says, how it stops."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from backprobe.web.app import Serving
from backprobe.web.guard import LOOPBACK
from backprobe.web.serving import listen, make_serving, pairing_text
from tests.cli.helpers import run


@contextmanager
def served(store: Path, *options: str) -> Iterator[tuple[subprocess.Popen[str], dict[str, Any]]]:
    """The command at work on a free port, and what it said first."""
    code = "from backprobe.cli.main import main; main()"
    command = [sys.executable, "-c", code, "serve", "--port", "0", "--json", "--store", str(store), *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout
        said = ""
        while not said.endswith("}\n"):
            line = process.stdout.readline()
            if not line:
                assert process.stderr
                raise AssertionError(process.stderr.read())
            said += line
        try:
            yield process, json.loads(said)
        finally:
            process.kill()


def fetch(address: str, host: str = "") -> tuple[int, str]:
    request = urllib.request.Request(address, headers={"host": host} if host else {})
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()


@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_it_serves_this_machine_and_stops_when_asked(tmp_path: Path, by: signal.Signals) -> None:
    with served(tmp_path / "jobs.sqlite") as (process, said):
        assert said["address"].startswith("http://127.0.0.1:")
        assert said["phone"] == ""
        status, page = fetch(said["address"])
        assert status == 200
        assert "No job stands open." in page
        assert fetch(said["address"], host="evil.example")[0] == 400
        process.send_signal(by)
        assert process.wait(timeout=20) == 0
        assert process.stderr
        assert process.stderr.read() == ""


def test_the_demo_is_served_with_its_jobs_and_kept_nowhere(tmp_path: Path) -> None:
    store = tmp_path / "jobs.sqlite"
    with served(store, "--demo") as (process, said):
        assert fetch(said["address"])[1].count('class="card" href="/job/') == 3
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 0
    assert not store.exists()


def test_a_port_that_is_taken_is_one_message() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        result = run("serve", "--port", str(port), env={"BACKPROBE_STORE": ":memory:"})
    assert result.exit_code == 2
    assert f"--port: '{port}' cannot be listened on" in result.stderr
    assert "0 for a free one" in result.stderr


def test_it_listens_to_this_machine_only_unless_asked() -> None:
    with listen(0, lan=False) as own, listen(0, lan=True) as wide:
        assert own.getsockname()[0] == "127.0.0.1"
        assert wide.getsockname()[0] == "0.0.0.0"


def test_no_part_of_a_page_waits_for_an_acknowledgement() -> None:
    with (
        listen(0, lan=False) as own,
        socket.create_connection(own.getsockname()),
        own.accept()[0] as accepted,
    ):
        assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)


def test_a_phone_gets_an_address_with_a_code() -> None:
    serving = make_serving(8765, "192.0.2.7")
    assert {"192.0.2.7", *LOOPBACK} <= set(serving.hosts)
    phone, drawn = pairing_text(serving)
    assert phone.startswith("http://192.0.2.7:8765/pair?code=")
    assert serving.pairing.admit(phone.partition("=")[2])
    assert len(drawn.splitlines()) > 10


def test_without_a_network_there_is_no_code() -> None:
    serving = make_serving(8765, "")
    assert serving.hosts == LOOPBACK
    assert pairing_text(serving) == ("", "")
    assert isinstance(serving, Serving)


def test_a_store_that_is_none_is_said_before_anything_is_served(tmp_path: Path) -> None:
    bad = tmp_path / "no.sqlite"
    bad.write_bytes(b"no store at all " * 256)
    code = "from backprobe.cli.main import main; main()"
    command = [sys.executable, "-c", code, "serve", "--port", "0", "--store", str(bad)]
    # In a process of its own with an end to its patience: a server that starts would never come back.
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "is not a job store" in done.stderr
