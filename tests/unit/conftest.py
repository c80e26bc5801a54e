"""For the tests of commands: a folder to type them in."""

from __future__ import annotations

from pathlib import Path

import pytest
from typed import JobCommand, type_in

from racewright.cli.main import main

SADDLE = Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml"


@pytest.fixture
def empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where one stands: nothing in it, the person's own settings below it, and no shop file named elsewhere."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("RACEWRIGHT_SHOP", raising=False)
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path / "home"))
    return tmp_path


@pytest.fixture
def here(empty_folder: Path) -> Path:
    """The same with a shop file: one job, orchard, without runs."""
    assert type_in("new", "orchard", "--by", "Kim") == 0
    return empty_folder


@pytest.fixture
def job(empty_folder: Path) -> JobCommand:
    """`racewright job` as it prints, with two jobs in the shop file (orchard, shed), of a run each."""

    def run(*line: str) -> int:
        return main(["job", *line])

    for key, name in (("orchard", "PH-01"), ("shed", "PS-01")):
        assert run("new", key, "--by", "Kim") == 0
        assert run("add", str(SADDLE), "--key", name, "--by", "Kim") == 0
    return run
