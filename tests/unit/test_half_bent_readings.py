"""Readings of made bends that cannot be so: refused by both marks, with the reading that could be, and only then."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from racewright.cli import main as cli
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import read_survey_file
from racewright.units.length import parse_length

EXAMPLES = Path(__file__).parents[2] / "examples"
SADDLE = EXAMPLES / "pump-house-saddle.yaml"


def remark(capsys: pytest.CaptureFixture[str], path: Path, *made: str, more: tuple[str, ...] = ()) -> tuple[int, str]:
    asked = [word for text in made for word in ("--made", text)]
    code = cli.main(["remark", str(path), *asked, *more])
    out, err = capsys.readouterr()
    return code, out + err


def in_mm(folder: Path) -> Path:
    data = yaml.safe_load(SADDLE.read_text(encoding="utf-8"))
    data["units"] = "mm"
    data["run"]["clearance"] = "8"
    data["run"]["walk"] = [
        {"leg": "1430", "from": "face", "to": "face", "features": [
            {"saddle": {"name": "suction pipe", "centre": "660", "over": "round", "height": "72"}}]}
    ]  # fmt: skip
    path = folder / "mm.yaml"
    path.write_text(yaml.safe_dump(data), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("made", "named", "would"),
    [
        (("1: start 18", "2: start 18"), 'mark 1 (start 18")', r'mark 2: start ([\d /]+)" or more'),
        (("1: start 18", "2: start 18"), 'mark 2 (start 18")', r'mark 1: start ([\d /]+)" or less'),
        (("2: mark 30", "3: mark 31"), 'mark 3 (mark 31")', r'mark 3: mark ([\d /]+)" or more'),
        (("1: angle 130", "2: angle 44"), "mark 1 (angle 130°)", r"mark 1: angle ([\d /]+)° or less"),
        (("1: mark 2, angle 80", "2"), 'mark 1 (mark 2", angle 80°)', r'mark 1: mark ([\d /]+)" or more'),
        (("3: start 57 1/2",), 'mark 3 (start 57 1/2")', r'mark 3: start ([\d /]+)" or less'),
        (("2: mark 12",), 'mark 2 (mark 12")', r'mark 2: mark ([\d /]+)" or more'),
        (("1: angle 170",), "mark 1 (angle 170°)", r"mark 1: angle ([\d /]+)° or less"),
    ],
)
def test_what_cannot_be_so_is_refused_and_what_it_names_instead_can(
    capsys: pytest.CaptureFixture[str], made: tuple[str, ...], named: str, would: str
) -> None:
    code, said = remark(capsys, SADDLE, *made)
    assert code == 2
    assert named in said
    assert "long" not in said.replace("how long the conduit is, if it is longer", "")
    shared = "they overlap" in said
    found = re.search(would, said)
    assert found is not None, said
    word = found[0].split(": ")[1].split()[0]
    number = found[0].split(":")[0].removeprefix("mark ")

    def with_reading(value: str) -> list[str]:
        return [
            re.sub(rf"{word} [\d /]+", f"{word} {value}", text) if text.startswith(number) else text for text in made
        ]

    code, said = remark(capsys, SADDLE, *with_reading(found[1]))
    assert code in (0, 1), said
    # within one step of the tape two bends touch; two back: refused, but where the other bend may give way
    if word != "angle" and made != ("2: mark 12",):
        step = -0.0625 if found[0].endswith("more") else 0.0625
        read = float(parse_length(found[1], "in")) / 25.4
        code, _ = remark(capsys, SADDLE, *with_reading(f"{read + step:.4f}"))
        assert code == (1 if shared else 2)
        code, _ = remark(capsys, SADDLE, *with_reading(f"{read + 2.0 * step:.4f}"))
        assert code == 2


def test_the_refusal_reads_as_the_survey_does_and_names_both_stretches(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = in_mm(tmp_path)
    bends = plan_run(read_survey_file(path).survey).pieces[0].piece.bends
    start = round(bends[0].arc_end_mm) - 20
    code, said = remark(capsys, path, "1", f"2: start {start}")
    assert code == 2
    assert f"mark 1 (as planned) is bent from {bends[0].arc_start_mm:.0f} mm to {bends[0].arc_end_mm:.0f} mm" in said
    assert f"mark 2 (start {start} mm) is bent from {start} mm to {start + bends[1].arc_length_mm:.0f} mm" in said
    least = re.search(r"mark 2: start (\d+) mm or more", said)
    assert least is not None
    assert bends[0].arc_end_mm <= int(least[1]) < bends[0].arc_end_mm + 1.0
    assert '"' not in said


def test_a_bend_that_is_left_gives_way_where_it_can(capsys: pytest.CaptureFixture[str]) -> None:
    """Mark 2 stands where mark 1 was to be bent, and mark 1 finds another place: no reading is refused for that."""
    planned = plan_run(read_survey_file(SADDLE).survey).pieces[0].piece.bends
    assert planned[0].arc_end_mm > 19.0 * 25.4
    code, said = remark(capsys, SADDLE, "2: start 19", more=("--have", "120"))
    assert code in (0, 1)
    assert "Worked out with these marks, the far end meets its fitting" in said
    assert "measure again" not in said


def test_more_conduit_than_the_plan_takes_makes_room_for_a_bend_far_out(capsys: pytest.CaptureFixture[str]) -> None:
    code, said = remark(capsys, SADDLE, "3: start 57 1/2")
    assert code == 2
    assert "say how long the conduit is, if it is longer" in said
    code, _ = remark(capsys, SADDLE, "3: start 57 1/2", more=("--have", "62"))
    assert code in (0, 1)
