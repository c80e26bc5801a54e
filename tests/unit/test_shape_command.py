"""`racewright shape`: what it prints, as JSON too, and how it refuses."""

import json
import re
from math import cos, radians, sin
from pathlib import Path

import pytest
from msgspec import inspect

from racewright.cards.text.shape import as_text
from racewright.cli.main import main
from racewright.cli.options import option_of
from racewright.errors import InputError
from racewright.operations.answer import answer
from racewright.operations.shape import SHAPES
from racewright.operations.shapes.asked import read_angle
from racewright.operations.shapes.report import ShapeAnswer

ASKED = {
    "stub": "--height 13 --leg 30",
    "back-to-back": "--distance 48 --stub 12 --second-stub 12",
    "kick": "--rise 10 --travel 20",
    "offset": "--rise 6 --angle 30 --at 30",
    "box-offset": "--rise 1/2",
    "rolling-offset": "--rise 6 --shift 8 --at 40",
    "saddle": "--rise 2-3/4 --centre 24 --length 52",
    "four-bend-saddle": "--obstacle square --height 4 --width 6 --clearance 1/4 --centre 27",
    "parallel-offset": "--rise 6 --spacing 2",
    "parallel-kick": "--rise 6 --gap 1 --sizes 1/2,3/4",
    "concentric": "--spacing 2",
    "segmented": "--radius 20 --stub 30",
}


@pytest.fixture(autouse=True)
def _own_home(monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))


def printed(capsys: pytest.CaptureFixture[str], line: str, code: int = 0) -> str:
    assert main(["shape", *line.split()]) == code
    return capsys.readouterr().out


NAMES = [shape.label() for shape in SHAPES]


def test_every_shape_has_an_example() -> None:
    assert set(NAMES) == set(ASKED)


def test_every_reading_says_what_it_means() -> None:
    for shape in SHAPES:
        kind = inspect.type_info(shape)
        assert isinstance(kind, inspect.StructType)
        for field in kind.fields:
            assert isinstance(field.type, inspect.Metadata), f"{shape.label()}: {field.name}"
            assert (field.type.extra_json_schema or {}).get("description"), f"{shape.label()}: {field.name}"


def test_every_shape_and_option_stands_in_its_document() -> None:
    text = (Path(__file__).parents[2] / "docs" / "shapes.md").read_text(encoding="utf-8")
    for shape in SHAPES:
        assert f"`{shape.label()}`" in text
        said = [option_of(name).replace("centre", "center") for name in shape.__struct_fields__]
        assert [option for option in said if option not in text] == []


def test_without_a_name_the_shapes_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "")
    assert all(name in out for name in NAMES)


@pytest.mark.parametrize("name", sorted(ASKED))
def test_every_shape_prints_text_and_json(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(capsys, f"{name} {ASKED[name]}")
    assert "bender emt-1/2" in text
    data = json.loads(printed(capsys, f"{name} {ASKED[name]} --json"))
    assert data["shape"] == name
    assert data["bends"] or data["tables"]
    assert "NaN" not in json.dumps(data)


def test_saddle_shows_the_rule_beside_the_exact_marks(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(printed(capsys, "saddle --rise 2-3/4 --centre 24 --length 52 --json"))
    push, outward = data["rules"]
    assert [m["rule"]["mm"] / 25.4 for m in push["marks"]] == pytest.approx([17.640625, 24.515625, 31.390625], abs=1e-9)
    assert [m["reference"] for m in push["marks"]] == ["star", "center", "arrow"]
    assert 'far leg 1/8" off the line' in push["rule_lands"]
    assert "far leg on the line" in push["exact_lands"]
    assert [m["hook"] for m in outward["marks"]] == ["B", "A", "A"]


def test_stub_of_13_marks_8(capsys: pytest.CaptureFixture[str]) -> None:
    data = json.loads(printed(capsys, "stub --height 13 --json"))
    marks = {(mark["hook"], mark["reference"]): mark["at"]["tape"] for mark in data["bends"][0]["marks"]}
    assert marks["A", "arrow"] == "8"
    assert marks["B", "star"] == "13"


def test_a_saddle_that_does_not_clear_is_a_problem(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "saddle --obstacle square --height 2-1/4 --width 7 --rise 2-1/4 --centre 33 --angle 30", 1)
    assert "does not clear the obstacle" in out
    assert "four bends instead" in out


def test_millimetres(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "offset --rise 150 --unit mm --bender emt-3/4 --at 800 --room 320")
    assert "298 mm" in out
    assert "no: 320 mm of room" in out


def test_heated_pvc_needs_only_a_radius(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "offset --rise 6 --raceway PVC-40 --size 1 --bend-radius 6")
    assert 'radius 6"' in out
    assert main(["shape", "offset", "--rise", "6", "--raceway", "PVC-40"]) == 3


@pytest.mark.parametrize(
    ("line", "code", "word"),
    [
        ("offset --rise 1 --angle 60", 3, "least rise"),
        ("stub --height 4", 3, "the least is"),
        ("saddle", 2, "--rise is missing"),
        ("kick --rise 10", 2, "a travel or an angle"),
        ("offset --rise abc", 2, "abc"),
        ("offset --rise 6 --angle nan", 2, "angle"),
        ("parallel-offset --rise 6", 2, "either a spacing"),
        ("segmented --radius 20 --shots 0", 2, "shots"),
        ("saddle --rise 2-1/4 --centre 4", 3, "farther away"),
        ("offset --rise 6 --bender nobody", 2, "nobody"),
    ],
)
def test_refusals(line: str, code: int, word: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", *line.split()]) == code
    got = capsys.readouterr()
    assert word in got.err
    assert "hint:" in got.err
    assert got.out == ""


def test_the_least_that_a_refusal_names_can_be_made(capsys: pytest.CaptureFixture[str]) -> None:
    main(["shape", "stub", "--height", "4"])
    hint = capsys.readouterr().err.split("make the stub ")[1].split('"')[0]
    assert main(["shape", "stub", "--height", hint]) == 0


@pytest.mark.parametrize(
    ("text", "degrees"), [("30", 30.0), ("22.5", 22.5), ("22 1/2", 22.5), ("22-1/2", 22.5), ("45°", 45)]
)
def test_angles_as_written(text: str, degrees: float) -> None:
    assert read_angle(text) * 180.0 / 3.141592653589793 == pytest.approx(degrees)


@pytest.mark.parametrize("text", ["", "0", "-30", "1/0", "91", "inf", "nan", "x"])
def test_angles_that_are_none(text: str) -> None:
    with pytest.raises(InputError):
        read_angle(text)


def test_a_rack_of_several_sizes_names_the_shoe_of_each(capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(capsys, "concentric --sizes 3/4,3/4,1 --spacing 4")
    shoes = [line for line in out.splitlines() if line.startswith("bender ")]
    assert [line.split()[1] for line in shoes] == ["emt-3/4,", "emt-1,"]
    assert "emt-1/2" not in out
    data = json.loads(printed(capsys, "parallel-offset --sizes 3/4,1 --rise 5 --spacing 4 --json"))
    assert [bender["name"] for bender in data["benders"]] == ["emt-3/4", "emt-1"]


def test_a_rack_of_several_sizes_takes_the_persons_own_shoe_for_its_size(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["bender", "add", "mine", "--raceway", "EMT", "--size", "3/4", "--take-up", "6", "--gain", "3-1/8"]) == 0
    )
    capsys.readouterr()
    out = printed(capsys, "concentric --bender mine --sizes 3/4,1 --spacing 4")
    assert [line.split()[1] for line in out.splitlines() if line.startswith("bender ")] == ["mine,", "emt-1,"]


def test_a_kick_beside_a_90_is_asked_by_its_angle_and_told_from_the_back_of_the_90(
    capsys: pytest.CaptureFixture[str],
) -> None:
    data = json.loads(printed(capsys, "kick --rise 5-1/4 --angle 22.5 --beside-90 --json"))
    first, ninety = data["bends"]
    angle = radians(first["angle_deg"])
    radius = (first["arc_end_mm"] - first["arc_start_mm"]) / angle
    corner = ninety["arc_start_mm"] + radius
    # the corner of the 90 stands 5 1/4 off the run
    assert radius * (1 - cos(angle)) + (corner - first["arc_end_mm"]) * sin(angle) == pytest.approx(5.25 * 25.4)
    middle = (first["arc_start_mm"] + first["arc_end_mm"]) / 2
    back = next(f["mm"] for f in data["facts"] if f["label"] == "from the back of the 90 to the middle of the kick")
    assert back == pytest.approx(corner - middle + 0.706 * 25.4 / 2)
    out = printed(capsys, "kick --rise 5-1/4 --angle 22.5 --beside-90 --fraction 32")
    assert re.search(r'rise times 2\.6 .*13 21/32"\s+14 1/16"', out)  # 5 1/4 x 2.6 = 13.65
    assert re.search(r'rise over the sine .*13 23/32"\s+14 1/16"', out)  # 5 1/4 / sin 22.5 = 13.72


def test_a_kick_takes_a_travel_or_an_angle_and_not_both(capsys: pytest.CaptureFixture[str]) -> None:
    for more in ("", " --travel 20 --angle 30"):
        assert main(f"shape kick --rise 4{more}".split()) == 2
        assert "a travel or an angle, one of them" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "end", "past"),
    [
        ("stub --height 12-1/2 --size 1-1/4", "A", '1 1/2"'),
        ("stub --height 6 --leg 12", "A", '1"'),
        ("stub --height 14 --leg 6", "B", '1"'),
        ("offset --rise 4 --at 10", "A", None),
        ("saddle --rise 2-1/2 --centre 8 --length 40", "A", None),
        ("four-bend-saddle --rise 2 --flat 5 --centre 9 --length 60", "A", None),
        ("saddle --rise 2-1/2 --centre 30 --length 39", "B", None),
        ("back-to-back --distance 30 --stub 6 --second-stub 20", "A", '1"'),
    ],
)
def test_an_end_too_short_for_the_hook_is_told_with_what_would_work(
    line: str, end: str, past: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    said = " ".join(printed(capsys, line).split())
    assert f"hook toward end {end}:" in said
    assert "the shoe will not hold it" in said
    assert f"longer at end {end}, or more, and cut it after" in said
    if past:
        assert f"{past} of conduit lies past the arrow's mark" in said


@pytest.mark.parametrize(
    "line",
    [
        "stub --height 20 --leg 30",
        "offset --rise 4 --at 30",
        "saddle --rise 2-1/2 --centre 30 --length 70",
        "kick --rise 5 --angle 30",
    ],
)
def test_an_end_long_enough_for_the_hook_needs_no_note(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "will not hold" not in printed(capsys, line)


@pytest.mark.parametrize("shape", ASKED)
def test_every_shape_says_what_its_figures_are_measured_to(shape: str, capsys: pytest.CaptureFixture[str]) -> None:
    said = " ".join(printed(capsys, f"{shape} {ASKED[shape]}").split())
    measured = said.partition("Measured: ")[2].partition("along the conduit.")[0]
    assert "centerline" in measured or "back" in measured


@pytest.mark.parametrize(
    ("line", "over"),
    [
        ("kick --rise 5 --angle 30", '5 11/16"'),
        ("offset --rise 4-1/2", '5 3/16"'),
        ("saddle --rise 2-3/4 --centre 30", '3 7/16"'),
    ],
)
def test_a_rise_is_given_over_the_outside_of_the_conduit_too(
    line: str, over: str, capsys: pytest.CaptureFixture[str]
) -> None:
    # 1/2 EMT is 0.706 in over all
    assert f"far edge to far edge, the rise is {over}" in " ".join(printed(capsys, line).split())


@pytest.mark.parametrize("shape", ASKED)
def test_no_length_of_a_title_stands_without_its_unit(shape: str, capsys: pytest.CaptureFixture[str]) -> None:
    title = printed(capsys, f"{shape} {ASKED[shape]}").splitlines()[0]
    bare = re.sub(r'[\d /]+"|[\d /]+°|\d+ (?:parallel|concentric|shots)|90s', "", title)
    assert not re.search(r"\d", bare)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ("--bend-radius 10 --bender emt-1", "--bend-radius: a bender is named too"),
        ("--bender emt-1 --size 1/2", "--bender: bender 'emt-1' is for EMT 1, and EMT 1/2 was asked"),
        ("--bender emt-1/2 --raceway RMC", "--bender: bender 'emt-1/2' is for EMT 1/2, and RMC 1/2 was asked"),
    ],
)
def test_what_contradicts_the_bender_is_refused(capsys: pytest.CaptureFixture[str], options: str, said: str) -> None:
    assert main(["shape", "offset", "--rise", "6", "--angle", "30", "--at", "30", *options.split()]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "hint: " in told


def test_a_field_that_a_hint_writes_is_told_by_its_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shape", "offset", "--rise", "6", "--raceway", "PVC-40", "--size", "1"]) == 3
    assert "in place of a bender: `--bend-radius '6 in'` or more" in capsys.readouterr().err


def test_a_bender_is_taken_with_its_own_size_or_none(capsys: pytest.CaptureFixture[str]) -> None:
    alone = printed(capsys, "offset --rise 6 --at 30 --bender emt-1")
    assert alone == printed(capsys, "offset --rise 6 --at 30 --bender emt-1 --raceway emt --size 1")
    assert "bender emt-1," in alone


#: A shoe that opens by 3 degrees of a 90 and 1 of a 30: 1/30 of the angle.
SPRINGY = {
    "raceway": "EMT",
    "size": "1/2",
    "take_up": "5",
    "gain": "2 5/8",
    "springback_b0_deg": 0,
    "springback_b1": 1 / 30,
}


@pytest.mark.parametrize(
    ("shape", "bend_to"),
    [
        ({"name": "stub", "height": "13"}, ["93°"]),
        ({"name": "offset", "rise": "6", "angle": "30", "at": "30"}, ["31°", "31°"]),
    ],
)
def test_a_calibrated_tool_says_what_to_bend_to_as_its_card_does(shape: dict[str, str], bend_to: list[str]) -> None:
    told = answer("shape", {"shape": shape, "bender": SPRINGY})
    assert isinstance(told, ShapeAnswer)
    assert [bend.bend_to for bend in told.bends] == bend_to
    text = as_text(told)
    assert told.pull in " ".join(text.split())
    assert re.search(rf"1 .*{bend_to[0]}", text)
    taught = answer("shape", {"shape": shape, "bender": {**SPRINGY, "springback_b0_deg": None, "springback_b1": None}})
    assert isinstance(taught, ShapeAnswer)
    assert [bend.bend_to for bend in taught.bends] == [""] * len(bend_to)
    assert "bend to" not in as_text(taught).lower()


def test_a_rack_says_what_to_bend_to_for_each_calibrated_size() -> None:
    shape = {"name": "parallel-offset", "rise": "6", "angle": "30", "spacing": "2", "sizes": "1/2,3/4"}
    told = answer("shape", {"shape": shape, "bender": SPRINGY})
    assert isinstance(told, ShapeAnswer)
    assert [(f.label, f.text) for f in told.facts if "bend to" in f.label] == [
        ("EMT 1/2: bend to", "31° while bending; leaves 30°")
    ]


@pytest.mark.parametrize(("angle", "wrong"), [("30", False), ("10", True)])
def test_a_pointer_that_no_springback_explains_is_told_at_the_bends_of_the_shape(angle: str, wrong: bool) -> None:
    """4 degrees for every angle, from a 90 alone: a 30 may spring back so, a 10 does not."""
    shape = {"name": "offset", "rise": "4", "angle": angle, "at": "30"}
    told = answer("shape", {"shape": shape, "bender": {**SPRINGY, "springback_b0_deg": 4.0, "springback_b1": 0.0}})
    assert isinstance(told, ShapeAnswer)
    found = [f for f in told.findings if f.rule == "bender.springback"]
    assert [f.severity for f in found] == ["problem"] * wrong
    assert all("for a bend of 10°" in f.message for f in found)
