"""Attacks on a server that runs, from an address of this machine of their own (127.0.0.2), and what an honest asker at
127.0.0.1 has of it: an answer, every time. The limits are the server's, shortened so that the tests need not wait."""

from __future__ import annotations

import http.client
import json
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, suppress
from pathlib import Path

import pytest
from ask_samples import saddle_survey

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")

if sys.platform != "linux":
    pytest.skip("a second address of this machine is there without more on Linux only", allow_module_level=True)

ROOT = Path(__file__).resolve().parents[2]
HEAD_S, BODY_S = 1.0, 1.0
#: Longer than any question here takes on a machine at other work: what happens at its end stands in test_web_guard.py.
ASK_S = 300.0
SERVER = f"""
import pathlib, sys
from racewright.web import connections, guard, runner
connections.HEAD_S = {HEAD_S}
fields = dict(zip(guard.ServerSettings.__struct_fields__[::-1], guard.ServerSettings.__struct_defaults__[::-1]))
assert fields["body_limit_s"] == 10.0
class Quick(guard.ServerSettings, kw_only=True):
    body_limit_s: float = {BODY_S}
    ask_limit_s: float = {ASK_S}
guard.ServerSettings = Quick
runner.serve(0, lan="", shop=pathlib.Path(sys.argv[1]))
"""


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    shop = tmp_path_factory.mktemp("shop") / "jobs.rwshop"
    env = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONUNBUFFERED": "1"}
    child = subprocess.Popen([sys.executable, "-c", SERVER, str(shop)], env=env, stdout=subprocess.PIPE, text=True)
    assert child.stdout
    for line in child.stdout:
        if "http://127.0.0.1:" in line:
            yield int(line.split("http://127.0.0.1:")[1].split("/")[0])
            break
    child.kill()
    child.wait()


def attacker(port: int, head: bytes = b"") -> socket.socket:
    """A connection from the other address, with what it says at once."""
    one = socket.create_connection(("127.0.0.1", port), timeout=30, source_address=("127.0.0.2", 0))
    one.sendall(head)
    return one


def ended(one: socket.socket, within_s: float) -> bool:
    """Whether the server ends this connection in time."""
    one.settimeout(within_s)
    try:
        while one.recv(65536):
            pass
    except TimeoutError:
        return False
    except ConnectionError:
        pass
    return True


def honest(port: int, path: str = "/server.json", body: object = None) -> int:
    """The status that a browser on this machine gets."""
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=60)) as asker:
        kind = {"content-type": "application/json"}
        asker.request("POST" if body else "GET", path, json.dumps(body) if body else None, kind)
        answer = asker.getresponse()
        answer.read()
        return answer.status


def request_head(port: int, line: str, *fields: str) -> bytes:
    return "\r\n".join([f"{line} HTTP/1.1", f"Host: 127.0.0.1:{port}", *fields, "", ""]).encode()


def test_seventy_idle_connections_shut_nobody_out(port: int) -> None:
    with ExitStack() as stack:
        idle = [stack.enter_context(closing(attacker(port))) for _ in range(70)]
        assert honest(port) == 200
        assert honest(port, "/ask/plan", {"survey": saddle_survey()}) == 200
        assert all(ended(one, 5.0) for one in idle[:38]), "more than an address may hold"
        assert all(ended(one, HEAD_S + 5.0) for one in idle), "and the rest when no head came"


def test_idle_connections_of_the_same_address_make_room_for_a_new_one(port: int) -> None:
    with ExitStack() as stack:
        for _ in range(70):
            stack.enter_context(closing(socket.create_connection(("127.0.0.1", port))))
        assert honest(port) == 200


@pytest.mark.parametrize("before", [0, 1])
def test_a_head_that_comes_byte_by_byte_is_not_awaited(port: int, before: int) -> None:
    """The first head of a connection, and one after an answer."""
    with closing(attacker(port)) as one:
        for _ in range(before):
            one.sendall(request_head(port, "GET /server.json"))
            assert one.recv(65536).startswith(b"HTTP/1.1 200")
        began = time.monotonic()
        sent = 0
        with suppress(ConnectionError):
            for byte in request_head(port, "GET /server.json", "X: " + "y" * 400):
                one.sendall(bytes([byte]))
                sent += 1
                time.sleep(0.05)
        assert sent < 400
        assert time.monotonic() - began < HEAD_S + 15.0
    assert honest(port) == 200


def test_bodies_that_stall_are_given_up_and_hold_nobody(port: int) -> None:
    head = request_head(port, "POST /ask/plan", "Content-Type: application/json", "Content-Length: 1000")
    with ExitStack() as stack:
        stalled = [stack.enter_context(closing(attacker(port, head + b"{"))) for _ in range(30)]
        assert honest(port, "/ask/plan", {"survey": saddle_survey()}) == 200
        for one in stalled:
            one.settimeout(BODY_S + 10.0)
            assert one.recv(65536).startswith(b"HTTP/1.1 408")
        for one in stalled[:5]:
            one.sendall(b"1")  # going on by drops keeps no connection either
        assert all(ended(one, HEAD_S + 10.0) for one in stalled)


def test_long_questions_of_one_address_hold_up_no_other(port: int) -> None:
    """Eight jobs of 60 runs asked at once: worked out one after the other, and others are answered meanwhile."""
    runs = [{"key": f"R-{number}", "survey": saddle_survey(name=f"Shed {number}")} for number in range(60)]
    job = {"racewright_job": 1, "head": {"name": "Orchard"}, "runs": runs}
    body = json.dumps({"job": job}).encode()
    fields = ("Content-Type: application/json", f"Content-Length: {len(body)}")
    done: list[bytes] = []

    def ask(one: socket.socket) -> None:
        one.settimeout(ASK_S)
        done.append(one.recv(12))

    with ExitStack() as stack:
        head = request_head(port, "POST /ask/job_plan", *fields)
        many = [stack.enter_context(closing(attacker(port, head + body))) for _ in range(8)]
        threads = [threading.Thread(target=ask, args=(one,), daemon=True) for one in many]
        for thread in threads:
            thread.start()
        assert honest(port, "/ask/parse_length", {"text": "31 5/16"}) == 200
        assert honest(port, "/ask/plan", {"survey": saddle_survey()}) == 200
        assert len(done) < len(many), "answered while the other's were at work"
        for thread in threads:
            thread.join(ASK_S)
        assert done == [b"HTTP/1.1 200"] * len(many), "the other has its answers too"
