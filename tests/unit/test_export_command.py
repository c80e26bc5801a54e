"""`racewright export FILE`: writes what is asked for, says so on stderr, refuses what cannot be."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from typed import typed

from racewright.cautions import DECIDES
from racewright.cli import cmd_export
from racewright.errors import InputError, MissingExtra, RacewrightError

EXAMPLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")


export = partial(typed, cmd_export)


def test_all_three_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("ezdxf")
    pytest.importorskip("ifcopenshell")
    dxf, glb, ifc = (tmp_path / name for name in ("run.dxf", "run.glb", "run.ifc"))
    assert export(EXAMPLE, "--dxf", str(dxf), "--gltf", str(glb), "--ifc", str(ifc)) == 0
    assert b"AC1024" in dxf.read_bytes()[:200]
    assert glb.read_bytes()[:4] == b"glTF"
    assert ifc.read_bytes().startswith(b"ISO-10303-21;")
    told = capsys.readouterr()
    assert told.out == ""
    lines = told.err.splitlines()
    assert lines[:3] == [f"DXF written to {dxf}", f"glTF written to {glb}", f"IFC written to {ifc}"]
    assert DECIDES in " ".join(told.err.split())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["run.dxf", "run.glb", "run.ifc"]


def test_gltf_needs_no_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("ezdxf", "ifcopenshell"):
        monkeypatch.setitem(__import__("sys").modules, name, None)
    assert export(EXAMPLE, "--gltf", str(tmp_path / "run.glb")) == 0
    with pytest.raises(MissingExtra, match="DXF") as dxf:
        export(EXAMPLE, "--dxf", str(tmp_path / "run.dxf"))
    assert dxf.value.extra == "dxf"
    with pytest.raises(MissingExtra, match="IFC") as ifc:
        export(EXAMPLE, "--ifc", str(tmp_path / "run.ifc"))
    assert ifc.value.extra == "ifc"
    assert [path.name for path in tmp_path.iterdir()] == ["run.glb"]


def test_a_file_to_write_must_be_named() -> None:
    with pytest.raises(InputError, match="no file to write"):
        export(EXAMPLE)


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RacewrightError, match="cannot be written"):
        export(EXAMPLE, "--gltf", str(tmp_path / "none" / "run.glb"))
