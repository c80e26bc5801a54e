"""Questions in processes of their own: kept warm, replaced when they end, gone with the server; turns by device."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

pytest.importorskip("starlette")

from racewright.web.questions import Asked, Ended, Questions
from racewright.web.turns import Turns

ROOT = Path(__file__).resolve().parents[2]
LENGTH = Asked("parse_length", b'{"text": "31 5/16"}', "none.rwshop")


def test_one_process_answers_question_after_question() -> None:
    with closing(Questions(15.0)) as questions:
        questions.warm()
        assert [questions.ask(LENGTH).status for _ in range(3)] == [200] * 3
        assert len(questions._all) == 1


def test_a_process_that_is_ended_from_outside_is_told_and_replaced() -> None:
    with closing(Questions(15.0)) as questions:
        assert questions.ask(LENGTH).status == 200
        (process,) = questions._all
        os.kill(process._child.pid, signal.SIGTERM)
        with pytest.raises(Ended):
            questions.ask(LENGTH)
        assert questions.ask(LENGTH).status == 200
        assert len(questions._all) == 1
    with pytest.raises(Ended):
        questions.ask(LENGTH)


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
