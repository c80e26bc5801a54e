"""The kit list: what goes to each room."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from racewright.cli.main import main

RUN = """run:
  name: {name}
  raceway: EMT 1/2
  wires: ["2 x 12 THHN"]
  start: {{fitting: set-screw}}
  end: {{fitting: set-screw}}
  walk:
    - leg: {leg}
"""


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """Twenty rooms alike with two runs each, and one run more on the same floor; a room by itself."""
    monkeypatch.setenv("RACEWRIGHT_SHOP", str(tmp_path / "jobs.rwshop"))
    assert main(["job", "new", "shed", "--area", "Rooms", "--area", "Lab"]) == 0
    for key, leg, area, times in (("RM-1", 40, "Rooms", 20), ("RM-2", 50, "Rooms", 20), ("RM-3", 60, "Rooms", 1)):
        _add(tmp_path, key, leg, area, times)
    _add(tmp_path, "LB-1", 70, "Lab", 1)
    capsys.readouterr()
    return tmp_path


def _add(folder: Path, key: str, leg: int, area: str, times: int) -> None:
    file = folder / f"{key}.yaml"
    file.write_text(RUN.format(name=key, leg=leg))
    assert main(["job", "add", str(file), "--area", area, "--times", str(times)]) == 0


def test_a_kit_a_room_and_one_for_each_of_those_alike(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "kits"]) == 0
    out = capsys.readouterr().out
    head, *kits = out.split("\n\n")
    assert head.startswith(
        "NOT INCLUDED\n- Nothing else known is left out, but in a kit only where items of the run name"
    )
    assert [kit.splitlines()[0] for kit in kits[:3]] == [
        "Rooms: RM-3",
        "Rooms, 20 kits alike, each: RM-1, RM-2",
        "Lab: LB-1",
    ]
    assert "  [ ] connector  EMT 1/2 set-screw connector          4 each" in kits[1]
    assert '  [ ] conduit    EMT 1/2, 41 1/2": RM-1' in kits[1]
    # 2 wires: 40 in and 50 in, 3/4 in into each fitting, 12 in more at each end, 5 % for waste
    feet = 2 * (40 + 50 + 4 * 0.75 + 4 * 12) * 1.05 / 12
    assert f"{feet:.2f} ft" in kits[1]
    assert "Wire holds 5 % for waste." in out


def test_the_table_holds_the_same_of_one_area(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = shop / "kits.csv"
    assert main(["job", "kits", "--area", "lab", "--out", str(out)]) == 0
    rows = list(csv.reader(out.read_text(encoding="utf-8-sig").splitlines()))
    assert ["Lab", "1", "EMT 1/2", "LB-1", "71 1/2", "", "", ""] in rows
    assert ["Lab", "1", "connector", "EMT 1/2 set-screw connector", "2", "each"] in rows
    assert not [row for row in rows if row[:1] == ["Rooms"]]
    assert main(["job", "kits", "--area", "attic"]) == 2
    assert "no run is in area 'attic'" in capsys.readouterr().err
