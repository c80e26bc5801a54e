"""One question has one answer: the command and the server say the same, to the last word; numbers within 1e-9.

The browser's engine is asked the same in tests/browser/engines.test.mjs.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec
import pytest
from door_requests import REQUESTS, ROOT, Asked, shops
from web_client import client

from racewright.cli.main import main
from racewright.errors import Finding
from racewright.operations.common import Answer, Known
from racewright.operations.operations import OPERATIONS


def near(one: Any, other: Any, at: str) -> None:
    """Equal in every key, text and order; numbers within 1e-9."""
    if isinstance(one, float | int) and not isinstance(one, bool):
        assert one == pytest.approx(other, rel=1e-9, abs=1e-9), at
    elif isinstance(one, dict):
        assert list(one) == list(other), at
        for key, value in one.items():
            near(value, other[key], f"{at}.{key}")
    elif isinstance(one, list):
        assert len(one) == len(other), at
        for k, value in enumerate(one):
            near(value, other[k], f"{at}[{k}]")
    else:
        assert one == other, at


def run(asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *options: str) -> int:
    """Run the command from the project's folder, with shops of its own where it names them."""
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    if any("{shops}" in word for word in asked.command):
        shops(tmp_path)
    return main([*(word.replace("{shops}", str(tmp_path)) for word in asked.command), *options])


@pytest.mark.parametrize("asked", REQUESTS, ids=lambda asked: f"{asked.operation}: {' '.join(asked.command)[:60]}")
def test_command_and_server_give_one_answer(
    asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code = run(asked, tmp_path, monkeypatch, "--json")
    out, err = capsys.readouterr()
    got = client(tmp_path).post(f"/ask/{asked.operation}", json=asked.request)
    served = got.json()
    if "error" in served:
        assert code in (2, 3), err
        assert served["error"]["hint"] in err, err
        return
    assert code in (0, 1), err
    near(json.loads(out), served[asked.part] if asked.part else served, asked.operation)


MARKS = ("zzfindingzz", "zzleftoutzz", "zzcautionzz")
ONE_EACH = list({asked.operation: asked for asked in reversed(REQUESTS)}.values())


@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
@pytest.mark.parametrize("asked", ONE_EACH, ids=lambda asked: asked.operation)
def test_no_command_drops_a_finding_a_caution_or_what_is_not_included(
    asked: Asked, as_json: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A marker planted in each of the three is printed, once, by every command, and is in its JSON."""
    operation = OPERATIONS[asked.operation]
    works_out = operation.work_out
    assert operation.answer  # its types are known before its function is exchanged

    def planted(request: Any, known: Known) -> Answer:
        answer = works_out(request, known)
        return msgspec.structs.replace(
            answer,
            findings=(*answer.findings, Finding(rule="test", severity="caution", message=MARKS[0])),
            not_included=(*answer.not_included, MARKS[1]),
            cautions=(*answer.cautions, MARKS[2]),
        )

    monkeypatch.setitem(operation.__dict__, "work_out", planted)
    assert run(asked, tmp_path, monkeypatch, *(["--json"] if as_json else [])) in (0, 1)
    out = capsys.readouterr().out
    assert {mark: out.count(mark) for mark in MARKS} == dict.fromkeys(MARKS, 1)
