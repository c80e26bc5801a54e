import argparse
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from racewright.cli import cmd_bender, cmd_job, cmd_shape, cmd_wires
from racewright.cli import main as cli

ROOT = Path(__file__).parents[2]
SADDLE = str(ROOT / "examples" / "pump-house-saddle.yaml")
EXAMPLES = sorted((ROOT / "examples").glob("*.yaml"))


def run(capsys: pytest.CaptureFixture[str], *args: Any) -> tuple[int, str, str]:
    code = cli.main(list(args))
    out = capsys.readouterr()
    return code, out.out, out.err


def test_alone_it_tells_a_newcomer_three_things_to_try(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys)
    assert code == 0
    assert err == ""
    tries = [line for line in out.splitlines() if line.startswith("  racewright ")]
    assert len(tries) == 3
    for name in cli.COMMANDS:
        assert name in out


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_every_command_has_help(capsys: pytest.CaptureFixture[str], name: str) -> None:
    with pytest.raises(SystemExit) as left:
        cli.main([name, "--help"])
    assert left.value.code == 0
    assert name in capsys.readouterr().out


@pytest.mark.parametrize("command", [cmd_bender, cmd_job, cmd_shape, cmd_wires])
def test_every_action_of_a_command_says_what_it_does_and_what_each_option_is(command: Any) -> None:
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    (actions,) = (one.choices for one in parser._actions if isinstance(one, argparse._SubParsersAction))
    untold = [name for name, one in actions.items() if not one.description]
    untold += [f"{name} {told.dest}" for name, one in actions.items() for told in one._actions if not told.help]
    assert untold == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_prints_a_card_with_every_mark(capsys: pytest.CaptureFixture[str], path: Path) -> None:
    code, out, _ = run(capsys, "plan", str(path))
    assert code == 0
    _, text, _ = run(capsys, "plan", str(path), "--json")
    for piece in json.loads(text)["pieces"]:
        assert piece["cut_length_tape"] in out
        for bend in piece["bends"]:
            assert bend["mark_tape"] in out
    assert "\x1b[" not in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_json_has_the_fields_that_others_check(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "plan", SADDLE, "--json")
    plan = json.loads(out)
    assert code == 0
    piece = plan["pieces"][0]
    assert {"cut_length_mm", "outside_diameter_mm", "bend_radius_mm", "bends"} <= piece.keys()
    assert [b["roll_deg"] for b in piece["bends"]] == [0.0, 180.0, 0.0]
    assert [b["angle_deg"] for b in piece["bends"]] == pytest.approx([22.5, 45, 22.5], abs=1e-9)
    assert [b["reference"] for b in piece["bends"]] == ["star", "center", "arrow"]
    for bend in piece["bends"]:
        assert {"arc_start_mm", "order", "hook", "mark_mm", "mark_tape", "pointer_deg"} <= bend.keys()
    assert {"radius_mm", "arrow_lead_mm", "centre_mm", "star_mm"} <= plan["bender"].keys()
    for finding in plan["findings"]:
        assert {"rule", "severity", "message", "citation"} <= finding.keys()


def test_files_are_written_whole(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    pdf, svg, strip = tmp_path / "card.pdf", tmp_path / "card.svg", tmp_path / "strip.pdf"
    code, _, err = run(capsys, "plan", SADDLE, "--pdf", str(pdf), "--svg", str(svg), "--strip", str(strip))
    assert code == 0
    assert pdf.read_bytes().startswith(b"%PDF")
    assert svg.read_text().startswith("<?xml") or svg.read_text().startswith("<svg")
    assert strip.read_bytes().startswith(b"%PDF")
    assert "100 %" in err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["card.pdf", "card.svg", "strip.pdf"]


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (["plan", "no-such-file.yaml"], 2, "cannot be read"),
        (["plan", SADDLE, "--bender", "nobody's"], 2, "hint:"),
        (["plam"], 2, "did you mean plan"),
        (["plan", SADDLE, "--strip", "x.doc"], 2, ".pdf or .svg"),
    ],
)
def test_errors_go_to_stderr_with_a_hint_and_a_code(
    capsys: pytest.CaptureFixture[str], args: list[str], code: int, said: str
) -> None:
    got, _, err = run(capsys, *args)
    assert got == code
    assert said in err
    assert "Traceback" not in err


def test_what_cannot_be_made_exits_with_3(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text("run:\n  name: x\n  raceway: EMT 1/2\n  walk:\n    - leg: 3\n    - turn: left\n    - leg: 40\n")
    code, out, err = run(capsys, "plan", str(bad))
    assert (code, out) == (3, "")
    assert "turn 1" in err


def test_a_problem_exits_with_1_and_still_prints_the_card(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    run_file = tmp_path / "tight.yaml"
    run_file.write_text(
        "run:\n  name: x\n  raceway: EMT 1/2\n  walk:\n    - leg: 60\n      features:\n"
        "        - keep_clear: {centre: 30, height: 4, width: 4}\n"
    )
    code, out, _ = run(capsys, "plan", str(run_file))
    assert code == 1
    assert "runs into it" in " ".join(out.split())


def test_the_module_runs_as_a_program_and_survives_a_closed_pipe() -> None:
    env = dict(os.environ, PYTHONPATH=str(ROOT / "src"))
    done = subprocess.run(
        f'"{sys.executable}" -m racewright plan "{SADDLE}" | head -1',
        shell=True,
        capture_output=True,
        text=True,
        env=env,
    )
    assert done.returncode == 0
    assert "Traceback" not in done.stderr


def test_the_core_loads_no_heavy_library() -> None:
    code = (
        "import sys, racewright.plan.plan_run, racewright.printable\n"
        "bad = {'yaml', 'reportlab', 'numpy', 'scipy', 'starlette', 'PIL'} & set(sys.modules)\n"
        "sys.exit(str(bad) if bad else 0)"
    )
    env = dict(os.environ, PYTHONPATH=str(ROOT / "src"))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    "module",
    [
        ".".join(p.with_suffix("").relative_to(ROOT / "src").parts).removesuffix(".__init__")
        for p in sorted((ROOT / "src" / "racewright").rglob("*.py"))
        if p.name != "__main__.py" and "site" not in p.parts
    ],
)
def test_no_module_needs_another_to_be_loaded_first(module: str) -> None:
    """Imports go one way, so any single module can be the first one loaded: checked by its import graph."""
    import ast

    path = ROOT / "src" / Path(*module.split("."))
    path = path / "__init__.py" if path.is_dir() else path.with_suffix(".py")
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = [n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]
    assert module not in names


RISER = """units: in
run:
  name: Packing shed, riser
  raceway: RMC 3/4
  going: up
  start: {name: box, fitting: threaded}
  end: {name: %s, fitting: threaded}
  walk:
    - leg: 67
      features:
        - keep_clear: {name: %s, centre: 31, height: 3, width: 2}
"""


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("name", ["hood", "weather-head-of-the-packing-shed-" * 4, '"a\\tb\\x07c"'])
def test_nothing_stands_below_a_card_that_stands_on_it(
    name: str, width: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    path = tmp_path / "riser.yaml"
    path.write_text(RISER % (name, name), encoding="utf-8")
    _, said, _ = run(capsys, "plan", str(path), "--colour", "never")
    assert [line for line in said.split("\n") if line.lower() == "take care"] == ["TAKE CARE"]
    below = said[said.rindex("─" * 20) :]
    assert "[" not in below


def test_a_card_in_colours_says_nothing_twice(capsys: pytest.CaptureFixture[str]) -> None:
    _, plain, _ = run(capsys, "plan", SADDLE, "--colour", "never")
    _, coloured, _ = run(capsys, "plan", SADDLE, "--colour", "always")
    assert coloured != plain
    assert re.sub("\x1b\\[[0-9;]*m", "", coloured) == plain
