"""Where the far end was measured one way across the conduit alone: whether it is said that it may leave its fitting the
other way, held against bent pieces. Pieces are drawn with the errors of a usual hand (docs/fit.md), those that show the
reading are corrected as the answer says, and those of which end B then misses its fitting are counted. The kinematics
share no code with the program."""

from math import dist, radians
from pathlib import Path
from random import Random
from typing import Any

import pytest

from bent_facts import with_bends
from racewright.operations.answer import answer
from racewright.store.survey_file import read_planned_file
from rebuilt import Vec, cross, dot, less, rebuild_piece

EXAMPLES = Path(__file__).parents[2] / "examples"
MM = 25.4
#: Spreads of a usual hand, what a tape reads to, and what a fitting takes sideways (docs/fit.md).
ANGLE_DEG, PLANE_DEG, MARK_MM, READ_MM, TAKES_MM = 1.0, 1.5, MM / 16, MM / 16, 0.75 * MM
DRAWN = 9000


def planned(name: str) -> dict[str, Any]:
    file = read_planned_file(str(EXAMPLES / name))
    told = answer("plan", {"survey": _plain(file.survey)})
    return dict(_plain(told)["plan"])


def _plain(value: Any) -> Any:
    import msgspec

    return msgspec.json.decode(msgspec.json.encode(value))


def end_of(piece: dict[str, Any]) -> Vec:
    last = rebuild_piece(piece, 0, 1)[-1]
    return last.at(last.length)


def bent(piece: dict[str, Any], rng: Random) -> dict[str, Any]:
    """One piece as a usual hand bends it; planes are sighted on the bend that is made first."""
    first = min(piece["bends"], key=lambda b: b["order"])["number"]
    bends = {}
    for b in piece["bends"]:
        more = rng.gauss(0.0, ANGLE_DEG)
        back = radians(more) * piece["bend_radius_mm"] if b["hook"] == "B" else 0.0
        off = 0.0 if b["number"] == first else rng.gauss(0.0, PLANE_DEG)
        start = b["arc_start_mm"] + rng.gauss(0.0, MARK_MM) - back
        bends[b["number"]] = (start, b["angle_deg"] + more, b["roll_deg"] + off)
    return with_bends(piece, bends, piece["cut_length_mm"])


def corrected(piece: dict[str, Any], moves: list[dict[str, Any]]) -> dict[str, Any]:
    bends = {}
    for b in piece["bends"]:
        by = sum(m["by_deg"] for m in moves if m["what"] == "angle" and m["number"] == b["number"])
        roll = sum(m["by_deg"] for m in moves if m["what"] == "roll" and m["number"] <= b["number"])
        back = radians(by) * piece["bend_radius_mm"] if b["hook"] == "B" else 0.0
        bends[b["number"]] = (b["arc_start_mm"] - back, b["angle_deg"] + by, b["roll_deg"] + roll)
    return with_bends(piece, bends, piece["cut_length_mm"])


def asked(plan: dict[str, Any], way: str, off_mm: float) -> tuple[dict[str, Any], bool]:
    """The answer, and whether it says that the far end may be off where it was not measured."""
    told = _plain(answer("tweak", {"plan": plan, "measured": [{"what": "off", "way": way, "off": f"{off_mm} mm"}]}))
    found = [f for f in told["findings"] if f["rule"] == "tweak.unmeasured"]
    assert all(f["severity"] == "problem" for f in found)
    assert not found or told["findings"][0] == found[0]
    return told, bool(found)


def share_out(plan: dict[str, Any], way: str, off_mm: float, moves: list[dict[str, Any]]) -> float:
    """Of the pieces that show the reading, the part of which end B misses its fitting sideways once corrected."""
    piece = plan["pieces"][0]
    first, last = (rebuild_piece(piece, 0, 1)[k] for k in (0, -1))
    wanted, axis, up = end_of(piece), last.along(last.length), (0.0, 0.0, 1.0)
    ways: dict[str, Vec] = {"up": up, "left": cross(up, first.axis)}
    rng, shown, out = Random(7), 0, 0
    for _ in range(DRAWN):
        real = bent(piece, rng)
        if abs(dot(less(end_of(real), wanted), ways[way]) - off_mm) > READ_MM:
            continue
        shown += 1
        gap = less(end_of(corrected(real, moves)), wanted)
        along = dot(gap, axis)
        out += dist(gap, tuple(along * part for part in axis)) > TAKES_MM
    assert shown > 200
    return out / shown


@pytest.mark.parametrize(
    ("name", "way", "off_mm", "said"),
    [
        ("pump-house-saddle.yaml", "up", MM / 4, False),
        ("pump-house-saddle.yaml", "up", 0.0, False),
        ("pump-house-saddle.yaml", "left", MM / 4, True),
        ("pump-house-saddle.yaml", "left", 0.0, True),
        ("packing-shed-column.yaml", "up", 5.0, False),
        ("packing-shed-column.yaml", "left", -5.0, False),
        ("packing-shed-duct.yaml", "up", 6.0, True),
        ("packing-shed-duct.yaml", "left", 6.0, True),
    ],
)
def test_it_is_said_where_a_third_of_such_pieces_would_miss_the_fitting(
    name: str, way: str, off_mm: float, said: bool
) -> None:
    """A spread is what a hand keeps to two times in three: a piece of which more than about a third would miss is told,
    and one that lies within it is not."""
    plan = planned(name)
    told, found = asked(plan, way, off_mm)
    share = share_out(plan, way, off_mm, told["moves"])
    assert found == said
    assert (share > 1 / 3) == said, share


def test_a_correction_that_takes_a_right_end_out_of_its_fitting_is_a_problem() -> None:
    """Too long by a quarter of an inch on a saddle: only much more of a bend makes up for that, and drops the end."""
    plan = planned("pump-house-saddle.yaml")
    told, found = asked(plan, "long", MM / 4)
    piece = plan["pieces"][0]
    gap = less(end_of(corrected(piece, told["moves"])), end_of(piece))
    assert abs(gap[2]) > TAKES_MM
    assert found
    assert "was not measured up or down: the correction moves it by" in told["findings"][0]["message"]


def test_another_answer_where_the_end_is_right_the_other_way_is_a_problem() -> None:
    """A stub of one bend whose top is 1/8 in high: the one bend that there is moves it along the floor six times as
    far, and where it stands right there no bending helps (its cut does)."""
    plan = planned("workshop-panel-stub.yaml")
    told, found = asked(plan, "up", MM / 8)
    gap = less(end_of(corrected(plan["pieces"][0], told["moves"])), end_of(plan["pieces"][0]))
    assert abs(gap[0]) + abs(gap[1]) > 5 * MM / 8
    assert found
    assert "no correction was found" in told["findings"][0]["message"]
    assert not asked(plan, "up", 0.0)[1]
    request = {"plan": plan, "measured": [{"what": "off", "way": "long", "off": "1/4"}]}
    whole = _plain(answer("tweak", request))
    assert "tweak.unmeasured" not in [f["rule"] for f in whole["findings"]]
    assert whole["moves"][0]["by_deg"] == pytest.approx(0.5)


def test_measured_both_ways_nothing_of_that_is_said() -> None:
    plan = planned("packing-shed-duct.yaml")
    measured = [{"what": "off", "way": "up", "off": "6 mm"}, {"what": "off", "way": "left", "off": "0"}]
    told = _plain(answer("tweak", {"plan": plan, "measured": measured}))
    assert "tweak.unmeasured" not in [f["rule"] for f in told["findings"]]
    assert not any("was not measured" in line for line in told["not_included"])
