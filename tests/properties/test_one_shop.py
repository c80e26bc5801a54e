"""A fixed slice of `evidence/evidence_one_shop.py`: phones that are the page's own records, commands and a server that
is killed, on one shop file. Nothing is lost, and all come to say the same."""

import os
from pathlib import Path

import pytest

from evidence_one_shop import hold
from phone import built, lacking

pytest.importorskip("starlette")
pytest.importorskip("uvicorn")


def test_phones_and_commands_on_one_shop_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if missing := lacking():
        assert not os.environ.get("CI"), f"this needs {missing}, and nothing is skipped here"
        pytest.skip(f"this needs {missing}")
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    done = hold(range(1, 3), 45, tmp_path, built(tmp_path / "page"))
    assert done["versions written on phones"] > 8
    assert done["shared: done"] > 8
    assert done["commands"] > 5
    assert done["servers that died in a save"] + done["servers killed"] > 3
