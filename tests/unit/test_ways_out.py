"""What would let a run go up that cannot as it is: each way that is told is taken, and the run then goes up."""

from __future__ import annotations

import pytest
from test_assembly import parts_of

from racewright.assembly import put_up as putting_up
from racewright.assembly.joints import WayOut
from racewright.assembly.put_up import put_up
from racewright.assembly.ways_out import cut_in_two
from racewright.catalogue.fittings import find_fitting
from racewright.catalogue.raceways import find_raceway
from racewright.fit.way_in import Solid, line_of
from racewright.geometry.vector import distance
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

OFFSET = "    - leg: 91\n      features:\n        - offset: {rise: 5, starts_at: 29}\n"
Z = "    - leg: 31\n    - turn: left\n    - leg: 38\n    - turn: right\n    - leg: 34\n"


def text(walk: str, raceway: str, ends: tuple[str, str], fixed: tuple[bool, bool]) -> str:
    names = ("start", "end")
    told = [
        f"  {name}: {{fitting: {kind}, fixed: {str(stays).lower()}}}\n"
        for name, kind, stays in zip(names, ends, fixed, strict=True)
    ]
    return f"run:\n  name: brine line\n  raceway: {raceway}\n{''.join(told)}  walk:\n{walk}"


def planned(walk: str, raceway: str, ends: tuple[str, str], fixed: tuple[bool, bool]) -> Plan:
    return plan_run(survey_from_text(text(walk, raceway, ends, fixed)).survey)


CASES = [
    (OFFSET, "EMT 3/4", ("set-screw", "compression")),
    (OFFSET, "RMC 1", ("hub", "threaded")),
    (OFFSET, "RMC 3/4", ("hub", "hub")),
    (Z, "EMT 3/4", ("set-screw", "set-screw")),
    ("    - leg: 46\n", "EMT 1/2", ("compression", "compression")),
]


@pytest.mark.parametrize(("walk", "raceway", "ends"), CASES)
def test_an_end_that_is_told_to_give_way_lets_the_run_go_up(walk: str, raceway: str, ends: tuple[str, str]) -> None:
    plan = planned(walk, raceway, ends, (True, True))
    assert plan.assembly is not None
    assert not plan.assembly.possible
    told = [way for way in plan.assembly.ways_out if way.what == "slide back"]
    assert told
    for way in told:
        fixed = (1 not in way.joints, len(plan.joints) not in way.joints)
        freed = planned(walk, raceway, ends, fixed).assembly
        assert freed is not None
        assert freed.possible


@pytest.mark.parametrize(("walk", "raceway", "ends"), CASES)
def test_a_cut_that_is_told_lets_the_run_go_up(walk: str, raceway: str, ends: tuple[str, str]) -> None:
    survey = survey_from_text(text(walk, raceway, ends, (True, True))).survey
    plan, conduit = plan_run(survey), find_raceway(survey.raceway_type, survey.trade_size)
    assert plan.assembly is not None
    kind = "threaded coupling" if conduit.type == "RMC" else "set-screw coupling"
    coupling = find_fitting(kind if ends[0] != "compression" else "compression coupling", conduit)
    cuts = [way for way in plan.assembly.ways_out if way.what == "cut in two"]
    for way in cuts:
        assert way.kind == ("union" if conduit.type == "RMC" else "slip coupling")
        parts, joints = cut_in_two(parts_of(plan), list(plan.joints), 0, way.at_mm, coupling)
        # the two pieces and what the coupling leaves between them are the run
        gap = max(0.0, coupling.length_mm - 2 * coupling.insertion_mm)
        assert sum(p.piece.cut_length_mm for p in parts) + gap == pytest.approx(plan.developed_length_mm)
        far = line_of(parts[1].piece, parts[1].frame).end_frame.origin
        assert distance(far, plan.pieces[0].centreline.end_frame.origin) < 1e-6
        solids = [Solid(name=s.name, solid=s.solid, surface=True) for s in plan.surfaces]
        up = put_up(survey, conduit, parts, joints, solids)
        assert up.assembly.possible
        assert up.joints[1].kind == way.kind
        assert up.joints[1].last
    assert bool(cuts) == any(f"join it with a {w.kind}" in plan.steps[0].detail for w in cuts)


def test_a_piece_too_short_for_a_coupling_is_not_told_to_be_cut() -> None:
    plan = planned("    - leg: 6\n", "EMT 1/2", ("set-screw", "set-screw"), (True, True))
    assert plan.assembly is not None
    assert plan.assembly.ways_out == (WayOut(what="slide back", joints=(1,)), WayOut(what="slide back", joints=(2,)))


def test_ways_out_end_with_the_budget_and_say_so(monkeypatch: pytest.MonkeyPatch) -> None:
    walk, raceway, ends = CASES[1]
    whole = planned(walk, raceway, ends, (True, True))
    assert whole.assembly is not None
    assert len(whole.assembly.ways_out) > 1
    assert not [f for f in whole.findings if f.rule == "assembly.search"]
    monkeypatch.setattr(putting_up, "PUTTING_UP", 1)
    short = planned(walk, raceway, ends, (True, True))
    assert short.assembly is not None
    assert not short.assembly.possible
    assert len(short.assembly.ways_out) < len(whole.assembly.ways_out)
    assert [f.severity for f in short.findings if f.rule == "assembly.search"] == ["info"]
    monkeypatch.setattr(putting_up, "PUTTING_UP", 0)
    none = planned(walk, raceway, ends, (True, True))
    assert none.assembly is not None
    assert none.assembly.ways_out == ()
    assert "were not all tried" in none.assembly.why
    assert "were tried, and none does" not in none.assembly.why
