"""A run that crosses itself, or touches: which legs, where, and what would do; the same for a piece bent otherwise."""

from __future__ import annotations

from math import pi, radians
from typing import Any

import pytest

from racewright.bends.model import Bend, BentPiece
from racewright.budget import ITSELF, Budget
from racewright.catalogue.fittings import find_fitting
from racewright.cli.main import main
from racewright.errors import Finding
from racewright.fit.made import MadeBend, as_made
from racewright.fit.whole_run import RunPart, WholeRun
from racewright.geometry.vector import Frame
from racewright.operations.answer import answer
from racewright.operations.planned import CheckAnswer
from racewright.operations.remark import RemarkAnswer
from racewright.operations.tweak import TweakAnswer
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.plan.recheck import recheck
from racewright.store.survey_file import survey_from_text
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.units.tape import format_length

INCH = 25.4
Walk = list[dict[str, Any]]
RIGHT = {"turn": "right"}
#: Round the sorting line of the packing shed, back over the first leg.
ROUND: Walk = [{"leg": 74}, RIGHT, {"leg": 41}, RIGHT, {"leg": 46}, RIGHT, {"leg": 63}]


def survey(walk: Walk, **run: Any) -> dict[str, Any]:
    ends = {"start": {"fitting": "none"}, "end": {"fitting": "none"}}
    run = {"name": "packing shed, sorting line", "raceway": "EMT 1/2", "stock": ["20 ft"], **ends, **run}
    return {"racewright": 1, "units": "in", "run": {**run, "walk": walk}}


def planned(walk: Walk, **run: Any) -> Plan:
    return plan_run(read_survey(survey_from_data(survey(walk, **run))))


def told(findings: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in findings if finding.rule == "run.itself"]


def test_a_crossing_is_a_problem_that_names_legs_and_places() -> None:
    plan = planned(ROUND)
    (found,) = told(plan.findings)
    assert (found.severity, found.where) == ("problem", "legs 1 and 4")
    assert found.allowed == pytest.approx(INCH / 32)  # less is a touch
    # the middle lines cross: all of a diameter is wanting
    assert found.measured == pytest.approx(-plan.conduit.outside_diameter_mm, abs=0.02)
    # measured from back to back: leg 3 leads back by 46 in less a diameter, from half a diameter short of 74 in
    od, (piece,) = plan.conduit.outside_diameter_mm, plan.pieces
    crossing = (74 - 46) * INCH + 0.5 * od
    # leg 4 has half a diameter less than leg 2 to go from its corner: each bend is short by its setbacks
    lines = [74 * INCH - 0.5 * od, 41 * INCH - od, 46 * INCH - od, 41 * INCH - od]
    second = sum(lines) - 3 * (2.0 - pi / 2.0) * piece.bend_radius_mm
    first, other = (format_length(mm, plan.tape) for mm in (crossing, second))
    assert f" {first} and {other} along it from end A" in found.message


def test_what_is_said_to_do_does() -> None:
    (found,) = told(planned(ROUND).findings)
    assert 'pass 3/4" apart: one leg in a saddle over the other, other leg lengths' in found.message
    # a saddle over a round thing as thick as the conduit, where the other leg lies: 41 in up leg 4
    saddle = {"saddle": {"center": 41, "height": "3/4", "clearance": "1/16"}}
    assert told(planned([*ROUND[:-1], {**ROUND[-1], "features": [saddle]}]).findings) == []
    assert told(planned([*ROUND[:-1], {"leg": 38}]).findings) == []
    # lifted over the wall by an offset on leg 3
    lifted: dict[str, Any] = {"leg": 46, "features": [{"offset": {"rise": "1 1/2", "starts_at": 14, "angle": 30}}]}
    assert told(planned([*ROUND[:4], lifted, *ROUND[5:]]).findings) == []


def test_a_leg_that_crosses_aslant_can_be_led_over_in_a_saddle() -> None:
    back = {"turn": "right", "angle": 120}
    (found,) = told(planned([{"leg": 74}, back, {"leg": 60}, back, {"leg": 90}]).findings)
    assert found.where == "legs 1 and 3"
    assert "one leg in a saddle over the other" in found.message


@pytest.mark.parametrize(
    "walk",
    [
        # a narrow U, a Z, a saddle, an offset beside a turn: what shares a bend is near itself by right
        [{"leg": 30}, RIGHT, {"leg": 13}, RIGHT, {"leg": 30}],
        [{"leg": 30}, RIGHT, {"leg": 13}, {"turn": "left"}, {"leg": 30}],
        [{"leg": 50, "features": [{"saddle": {"center": 24, "height": 3}}]}, RIGHT, {"leg": 20}],
        [{"leg": 30}, {"turn": "right", "angle": 120}, {"leg": 30}],
        [{"leg": 30}, {"turn": "away"}, {"leg": 16}, RIGHT, {"leg": 16}, {"turn": "away"}, {"leg": 24}],
    ],
)
def test_what_shares_a_bend_is_not_told(walk: Walk) -> None:
    assert told(planned(walk).findings) == []


def test_legs_that_touch_are_told_and_lie_along_each_other() -> None:
    # down and back beside the first leg, one diameter and less than a tape shows apart
    od = planned(ROUND).conduit.outside_diameter_mm / 25.4
    for off, said in ((od, "touch"), (0.5 * od, "run through"), (od + 0.05, "")):
        back: Walk = [{"leg": 60}, RIGHT, {"leg": 20}, RIGHT, {"leg": 30}, RIGHT, {"leg": f"{20 - off:.4f}"}, RIGHT]
        found = told(planned([*back, {"leg": 20}]).findings)
        along = [f for f in found if f.where == "legs 1 and 5"]
        assert len(along) == bool(said), (off, [f.message for f in found])
        if said:
            assert along[0].message.startswith(f"legs 1 and 5 {said} each other")
            assert "saddle" not in along[0].message


def test_a_coupling_is_thicker_than_its_conduit() -> None:
    """Leg 4 passes over leg 1, their conduits 0.12 in apart: over a coupling of leg 1 that is too near."""
    plan = planned([{"leg": 200}], stock=["10 ft"])
    od, (joint,) = plan.conduit.outside_diameter_mm, [j for j in plan.joints if j.before and j.after]
    thick = find_fitting(joint.kind, plan.conduit).outside_diameter_mm
    raised = {"offset": {"rise": f"{od / INCH + 0.12:.4f}", "starts_at": 9}}
    for off_in, hit in ((0.0, True), (0.7, True), (1.5, False), (-20.0, False)):
        back = 200 - (joint.at_mm - 0.5 * od) / INCH + off_in
        walk: Walk = [{"leg": 200}, RIGHT, {"leg": 40, "features": [raised]}, RIGHT, {"leg": back}, RIGHT, {"leg": 50}]
        found = told(planned(walk, stock=["10 ft"]).findings)
        assert [f.where for f in found] == (["legs 1 and 4"] if hit else []), off_in
        if off_in == 0.0:
            assert found[0].measured == pytest.approx(od + 0.12 * INCH - 0.5 * (od + thick), abs=0.02)


def test_many_crossings_are_counted_and_not_listed() -> None:
    walk: Walk = [{"leg": 40}]
    for _ in range(11):
        walk += [RIGHT, {"leg": 40}]
    got = answer("check", {"survey": survey(walk, stock=["50 ft"])})
    assert isinstance(got, CheckAnswer)
    found = told(got.findings)
    assert len(found) == 5
    assert "more pairs of legs meet as well" in found[-1].message


def test_the_command_ends_with_one(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "round.yaml"
    walk = "".join(f"    - leg: {p['leg']}\n" if "leg" in p else "    - turn: right\n" for p in ROUND)
    path.write_text(f"units: in\nrun:\n  name: sorting line\n  raceway: EMT 1/2\n  walk:\n{walk}", encoding="utf-8")
    assert told(plan_run(survey_from_text(path.read_text(encoding="utf-8")).survey).findings)
    assert main(["check", str(path), "--worst"]) == 1
    assert "legs 1 and 4 run through each other" in capsys.readouterr().out


#: Leg 4 passes an inch over the end of leg 1's reach: as planned it clears.
PAST: Walk = [{"leg": 74}, RIGHT, {"leg": 41}, RIGHT, {"leg": 46}, RIGHT, {"leg": 38}]


def test_new_marks_that_lead_into_the_run_itself_are_told() -> None:
    asked = {"survey": survey(PAST), "made": [{"number": 1, "angle_deg": 90}, {"number": 2, "angle_deg": 90}]}
    clear = answer("remark", asked)
    assert isinstance(clear, RemarkAnswer), clear
    assert told(clear.findings) == []
    plan = planned(PAST)
    (piece,) = plan.pieces
    made = [MadeBend(number=n, angle_rad=radians(97.0)) for n in (1, 2, 3)]
    (found,) = told(recheck(plan, piece, as_made(piece.piece, made)).findings)
    assert (found.severity, found.where) == ("problem", "legs 1 and 4")
    assert "It clears" not in found.message


def test_a_correction_tells_that_the_plan_meets_itself() -> None:
    asked = {"survey": survey(ROUND), "measured": [{"what": "angle", "number": 2, "angle_deg": 92}]}
    got = answer("tweak", asked)
    assert isinstance(got, TweakAnswer), got
    assert [f.where for f in told(got.findings)] == ["legs 1 and 4"]


def test_a_piece_that_comes_out_shorter_does_not_meet_the_next_where_it_ends() -> None:
    """Its saddle is left out: it ends where the next begins, though by the plan that lay a foot and more farther on."""

    def piece(length: float, *bends: tuple[float, float, float]) -> BentPiece:
        made = [Bend(arc_start_mm=s, angle_rad=a, roll_rad=r, radius_mm=100.0) for s, a, r in bends]
        return BentPiece(cut_length_mm=length, outside_diameter_mm=18.0, bends=tuple(made))

    over = piece(2000.0, (300.0, pi / 3, 0.0), (600.0, pi / 3, pi), (1100.0, pi / 3, pi), (1400.0, pi / 3, 0.0))
    around = piece(2400.0, (900.0, pi / 2, 0.0), (1300.0, pi / 2, pi / 2), (1700.0, pi / 2, 0.0))
    parts = [RunPart(over, Frame(), 0.0), RunPart(around, Frame((1600.0, 0.0, 0.0)), 2000.0)]
    run = WholeRun(parts, [], frozenset())
    straight = piece(1600.0)
    assert run.short_mm(0, straight) == 0.0
    assert run.with_piece(0, straight).meetings(Budget(ITSELF)) == []
