"""The batch list as a person reads it."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from msgspec.structs import replace

from racewright.cards.batch_pages import write_batch
from racewright.cards.layout import Writer, find_paper
from racewright.cards.pack_model import Pack
from racewright.cli.main import main
from racewright.job.bench_list import bench_list
from racewright.job.plan_job import plan_job
from racewright.records.parse import job_from_data

STUB = "examples/workshop-panel-stub.yaml"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(tmp_path / "jobs.rwshop"))
    for words in (
        ["new", "orchard", "--area", "Rooms"],
        ["add", "examples/pump-house-saddle.yaml", "--area", "Rooms", "--key", "RM", "--times", "20"],
        ["add", "examples/packing-shed-column.yaml", "--key", "PS"],
        ["add", STUB, "--key", "WS-1"],
        ["add", STUB, "--key", "WS-2"],
        ["set", "bent", "RM", "--copy", "1-14"],
    ):
        assert main(["job", *words]) == 0
    capsys.readouterr()
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["job", "batch", *words]) == 0
    return capsys.readouterr().out


def test_like_work_stands_together(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys)
    assert out.startswith("NOT INCLUDED\n- Nothing known is left out.")
    assert "kind 1 (6 pieces): RM#15 to 20  [plan " in out
    assert 'cut 58 7/8"; marks (1) 19 3/4", (2) 27 7/16", (3) 35 7/16"' in out
    assert "  3 settings of the angle; no order can do with fewer" in out
    first = out.partition("  1. bend to 22 1/2°, read after letting go; on the floor")[2].partition("  2. ")[0]
    assert 'kind 1, RM x 6, bend 1 of 3: mark 1 at 19 3/4", star, hook toward A; draw a' in first
    assert "kind 2, PS, bend 1 of 3: mark 1 at 234 mm, star" in first
    assert "kind 3 (2 pieces): WS-1; WS-2" in out
    assert "Bending: eye protection" in out
    assert "Bender upside down" in out


def test_what_is_begun_is_left_to_its_card(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "record", "RM", "--copy", "17", "--made", "1=22.5"]) == 0
    capsys.readouterr()
    out = said(capsys)
    assert "- Bends are made on it already: RM#17. Finish it by its own card." in out
    assert "RM#15 to 16, 18 to 20" in out


def test_through_bends_kind_after_kind(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = said(capsys, "--through", "--area", "rooms")
    assert "settings of the angle" not in out
    assert '1. mark 1 at 19 3/4", star, hook toward A; draw a line along the top of the conduit' in out
    assert "bend to 45°, read after letting go; bender upside down, handle on the floor" in " ".join(out.split())
    assert "WS-1" not in out


def test_a_plans_sign_stands_on_one_line_of_the_packs_list(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also where all of its letters are wide."""
    assert main(["job", "export", "-"]) == 0
    job = job_from_data(json.loads(capsys.readouterr().out))
    runs = tuple(plan_job(job))
    bench = bench_list(job, runs, ("measured", "planned"))
    kinds = tuple(
        replace(kind, pieces=tuple(replace(one, plan="MWWMWW") for one in kind.pieces)) for kind in bench.kinds
    )
    writer = Writer(find_paper("letter"), title="orchard", footer="", running="orchard")
    write_batch(writer, Pack(job=job, runs=runs), replace(bench, kinds=kinds))
    assert str(writer.scene()).count("text='MWWMWW'") == len(kinds)


def test_the_table_holds_every_bend_in_its_order(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = shop / "batch.csv"
    said(capsys, "--out", str(file), "--status", "bent")
    rows = list(csv.reader(file.read_text(encoding="utf-8-sig").splitlines()))
    head = rows.index(next(row for row in rows if row[:2] == ["raceway", "tool"]))
    bends = [row for row in rows[head + 1 :] if row[:1] == ["EMT 1/2"]]
    text = " ".join(said(capsys, "--status", "bent").split())
    assert rows[head][-1] == "then look"
    assert all(row[-1] and row[-1] in text for row in bends), "what to look at and how to hold it, as the text has it"
    assert [(row[2], row[3], row[6], row[7]) for row in bends] == [
        ("1", "22 1/2°", "14", "1"),
        ("2", "45°", "14", "2"),
        ("3", "22 1/2°", "14", "3"),
    ]
    assert ["1", "EMT 1/2", "emt-1/2", "RM", "14", '58 7/8"', ""] in [row[:-2] for row in rows]
    assert "nothing to bend" in said(capsys, "--status", "wired")
