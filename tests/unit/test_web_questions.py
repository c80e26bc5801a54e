"""Questions in processes of their own: kept warm, replaced when they end, gone with the server; turns by device."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("starlette")

from door_requests import one_of_each

from racewright.store import served_tools
from racewright.store.job_store import JobStore
from racewright.store.places import own_shop
from racewright.store.shop_tools import keep_tool
from racewright.tools.written import BenderRecord
from racewright.web.questions import READS_HINT, Asked, Ended, Given, Questions, worked_out
from racewright.web.turns import Turns

ROOT = Path(__file__).resolve().parents[2]
HALF = BenderRecord(raceway="EMT", size="1/2", take_up="5 in", gain="2 5/8 in")
LENGTH = Asked("parse_length", b'{"text": "31 5/16"}', "none.rwshop")


def test_one_process_answers_question_after_question() -> None:
    with closing(Questions(15.0)) as questions:
        questions.warm()
        assert [questions.ask(LENGTH).status for _ in range(3)] == [200] * 3
        assert len(questions._all) == 1


def test_a_process_that_was_killed_while_it_was_idle_is_replaced_and_nobody_hears_of_it() -> None:
    with closing(Questions(15.0)) as questions:
        assert questions.ask(LENGTH).status == 200
        (process,) = questions._all
        os.kill(process._child.pid, signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        assert [questions.ask(LENGTH).status for _ in range(2)] == [200] * 2
        assert len(questions._all) == 1
    with pytest.raises(Ended):
        questions.ask(LENGTH)


def test_a_question_that_every_process_ends_at_is_asked_twice_and_no_more(tmp_path: Path) -> None:
    count = tmp_path / "count"
    reads = "import sys; print('\\0' * 8, end='', flush=True); sys.stdin.buffer.read(1)"
    dying = f"{reads}; open({str(count)!r}, 'a').write('x')"
    with closing(Questions(15.0, (sys.executable, "-c", dying))) as questions:
        with pytest.raises(Ended):
            questions.ask(LENGTH)
        assert count.read_text() == "xx"


def test_a_shop_file_that_is_locked_is_for_who_names_a_tool(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(served_tools, "PATIENCE_S", 0.1)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "own"))
    shop = tmp_path / "jobs.rwshop"
    with JobStore.open(shop, create=True) as store:
        keep_tool(store, "blue half", HALF, replace=False, by="Kim")
    survey = {"run": {"name": "A", "raceway": "EMT 1/2", "walk": [{"leg": "30"}, {"turn": "left"}, {"leg": "30"}]}}
    named = {"survey": {"run": {**survey["run"], "bender": "blue half"}}}

    def asked(operation: str, request: object) -> Given:
        return worked_out(Asked(operation, json.dumps(request).encode(), str(shop)))

    assert asked("plan", named).status == 200
    with closing(sqlite3.connect(shop, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        began = time.monotonic()
        assert asked("parse_length", {"text": "5 in"}).status == 200
        assert asked("plan", {"survey": survey}).status == 200
        assert time.monotonic() - began < 10.0, "nobody waited for the file"
        locked = asked("plan", named)
        assert locked.status == 503
        assert (
            "somebody else has been saving for longer than it should take"
            in json.loads(locked.body)["error"]["message"]
        )
        assert asked("benders", {}).status == 200
        assert "jobs.rwshop" in capsys.readouterr().err, "the list goes without, and the terminal says so"
    assert asked("plan", named).status == 200


def test_no_question_tells_a_tool_of_the_shop_to_who_is_told_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every question there is, as it is and with the tool named in it, is answered as if the shop had none."""
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "own"))
    shop, none = tmp_path / "jobs.rwshop", str(tmp_path / "none.rwshop")
    for path in (shop, own_shop()):
        path.parent.mkdir(exist_ok=True)
        with JobStore.open(path, create=True) as store:
            keep_tool(store, "blue half", HALF, replace=False, by="Kim")
    told, missed = set(), set()
    for operation, request in one_of_each().items():
        for asked in (request, _naming("blue half", request)):
            body = json.dumps(asked).encode()
            given = worked_out(Asked(operation, body, str(shop), tools=False))
            assert given == worked_out(Asked(operation, body, none, tools=False)), operation
            if asked is request:
                assert b"blue half" not in given.body, operation
                told |= {operation} if b"blue half" in worked_out(Asked(operation, body, str(shop))).body else set()
            elif given.status == 422 and b"there is no bender" in given.body:
                assert READS_HINT in json.loads(given.body)["error"]["hint"], operation
                missed.add(operation)
    assert {"benders", "catalogue"} <= told, "who is told tools is told it"
    assert {"bender", "plan", "check", "remark", "tweak", "diagnose", "card"} <= missed


def _naming(tool: str, request: Any) -> Any:
    """The same question, with this tool for every run, or for the question itself."""
    if isinstance(request, list):
        return [_naming(tool, part) for part in request]
    if not isinstance(request, dict):
        return request
    named = {key: _naming(tool, part) for key, part in request.items()}
    if "walk" in named:
        return named | {"bender": tool}
    return named | ({"bender_name": tool} if "bender_name" in named else {})


def test_what_is_printed_at_work_comes_between_no_answers(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    broken = tmp_path / "jobs.rwshop"
    broken.write_bytes(b"no shop file" * 100)
    with closing(Questions(15.0)) as questions:
        for _ in range(2):
            assert questions.ask(Asked("benders", b"{}", str(broken))).status == 200
    assert "jobs.rwshop" in capfd.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="looks for a process by its number")
def test_processes_end_with_the_server_even_where_it_was_killed() -> None:
    code = (
        "import os\nfrom racewright.web.questions import Questions\nquestions = Questions(15.0)\nquestions.warm()\n"
        "print(next(iter(questions._all))._child.pid, flush=True)\nos.kill(os.getpid(), 9)"
    )
    env = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run([sys.executable, "-c", code], env=env, stdout=subprocess.PIPE, text=True, check=False)
    number = int(done.stdout)
    for _ in range(600):
        try:
            os.kill(number, 0)
        except ProcessLookupError:
            return
        if Path(f"/proc/{number}/stat").exists() and Path(f"/proc/{number}/stat").read_text().split()[2] == "Z":
            return  # over; whoever takes in orphans here has not looked yet
        time.sleep(0.1)
    os.kill(number, signal.SIGKILL)
    pytest.fail("the process outlived its server")


def test_a_device_has_one_turn_at_a_time_and_others_have_theirs() -> None:
    async def asked() -> list[str]:
        turns, seen = Turns(), []

        async def ask(who: str, name: str) -> None:
            over = await turns.take(who)
            seen.append(f"{name} begins")
            await asyncio.sleep(0.01)
            seen.append(f"{name} ends")
            over()

        await asyncio.gather(ask("a", "a1"), ask("a", "a2"), ask("b", "b1"))
        held = await turns.take("a")
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(turns.take("a"), 0.01)
        held()
        assert (turns._locks, turns._waiting) == ({}, {}), "nothing is kept of who asks no more"
        return seen

    seen = asyncio.run(asked())
    assert seen.index("a2 begins") > seen.index("a1 ends")
    assert seen.index("b1 begins") < seen.index("a1 ends")
