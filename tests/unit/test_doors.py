"""One question has one answer: the command and the server say the same, to the last word; numbers within 1e-9.

The browser's engine is asked the same in tests/browser/engines.test.mjs.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from door_requests import REQUESTS, ROOT, Asked, shops
from web_client import client

from racewright.cli.main import main


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


@pytest.mark.parametrize("asked", REQUESTS, ids=lambda asked: f"{asked.operation}: {' '.join(asked.command)[:60]}")
def test_command_and_server_give_one_answer(
    asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    if any("{shops}" in word for word in asked.command):
        shops(tmp_path)
    code = main([*(word.replace("{shops}", str(tmp_path)) for word in asked.command), "--json"])
    out, err = capsys.readouterr()
    got = client(tmp_path).post(f"/ask/{asked.operation}", json=asked.request)
    served = got.json()
    if "error" in served:
        assert code in (2, 3), err
        assert served["error"]["hint"] in err, err
        return
    assert code in (0, 1), err
    near(json.loads(out), served[asked.part] if asked.part else served, asked.operation)
