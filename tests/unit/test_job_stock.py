"""What a job is cut from, by the command: as a job file would say it."""

import json
from pathlib import Path
from typing import Any

import pytest

from racewright.cli.main import main

SADDLE = "examples/pump-house-saddle.yaml"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(tmp_path / "jobs.rwshop"))
    assert main(["job", "new", "orchard", "--by", "Kim"]) == 0
    assert main(["job", "add", SADDLE, "--key", "PH-01", "--times", "3"]) == 0
    capsys.readouterr()
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    capsys.readouterr()
    assert main(["job", *words]) == code
    told = capsys.readouterr()
    return told.out if code == 0 else told.err


def head(capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(said(capsys, "export", "-"))["head"]


def test_sticks_are_set_changed_and_taken_out(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "No sticks" in said(capsys, "stock")
    said(capsys, "stock", "EMT 1/2", "10 ft", "--price", "7.40")
    said(capsys, "stock", "emt 1/2", "120", "--on-hand", "4", "--note", "rack 2")
    told = said(capsys, "stock", "EMT 1/2", "65", "--left-over", "2", "--by", "Kim")
    assert [line.split("  ")[0] for line in told.splitlines()[2:]] == ["EMT 1/2"] * 3
    assert "2 left over" in told
    assert head(capsys)["stock"] == [
        {"raceway": "EMT 1/2", "length": "10 ft", "price": "7.40"},
        {"raceway": "EMT 1/2", "length": "120", "count": 4, "note": "rack 2"},
        {"raceway": "EMT 1/2", "length": "65", "count": 2, "offcut": True},
    ]
    cut = said(capsys, "cut")
    assert "65" in cut
    said(capsys, "stock", "EMT 1/2", "10 ft", "--on-hand", "6", "--by", "Kim")
    assert [one.get("count") for one in head(capsys)["stock"]] == [None, 6, 2]
    said(capsys, "undo", "--by", "Kim")
    assert [one.get("count") for one in head(capsys)["stock"]] == [None, 4, 2]
    said(capsys, "stock", "EMT 1/2", "65", "--left-over", "0")
    said(capsys, "stock", "EMT 1/2", "120", "--remove")
    assert "stock" not in head(capsys)
    assert "stock: EMT 1/2, 120" in said(capsys, "log")


def test_the_saw_and_what_cannot_be(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "stock", "--kerf", "1/8", "--keep", "18")
    assert told.startswith("Stock of job orchard; the saw takes 1/8; a leftover from 18 on is kept")
    assert head(capsys)["cutting"] == {"kerf": "1/8", "keep": "18"}
    assert json.loads(said(capsys, "stock", "--json")) == {"stock": [], "cutting": {"kerf": "1/8", "keep": "18"}}
    for line, words in (
        (["EMT 1/2"], "of which sticks is missing"),
        (["--on-hand", "3"], "of which sticks is missing"),
        (["EMT 7", "10 ft"], "EMT"),
        (["EMT 1/2", "long"], "long"),
        (["EMT 1/2", "10 ft", "--price", "much"], "much"),
        (["EMT 1/2", "9 ft", "--remove"], "the job has no 'EMT 1/2' of 9 ft"),
    ):
        assert words in said(capsys, "stock", *line, code=2)
    assert "stock" not in head(capsys)
