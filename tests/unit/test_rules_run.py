"""Raceway rules and the whole check of a run."""

from __future__ import annotations

from math import pi

import pytest

from racewright.catalogue.raceways import find_raceway
from racewright.codebook.edition import DEFAULT_EDITION, load_edition
from racewright.errors import Finding
from racewright.geometry.chain import Turn
from racewright.inspection.check_run import check_run
from racewright.inspection.expansion import expansion_of
from racewright.inspection.raceway_rules import check_raceway, degrees_between_pull_points
from racewright.route.run_line import Coupling, RunShape
from racewright.survey.model import Climate
from racewright.units.tape import TapeStyle
from racewright.wires.conductors import parse_groups
from racewright.wires.pull_path import parse_path
from racewright.wires.pulling import PullSettings, PullWire, pull_wires

FT = 304.8
EDITION = load_edition(DEFAULT_EDITION)
EMT = find_raceway("EMT", "1/2")


def _wires(text: str) -> tuple[PullWire, ...]:
    return pull_wires(parse_groups([text], EDITION), EDITION)


def _bends(count: int, radius: float = 110.0, angle: float = pi / 2) -> RunShape:
    turns = tuple(Turn(500.0 + i * 600.0, angle, 0.0, radius) for i in range(count))
    return RunShape(raceway=EMT, length_mm=1000.0 + 600.0 * count, turns=turns)


def _rules(findings: tuple[Finding, ...], severity: str = "problem") -> list[str]:
    return [f.rule for f in findings if f.severity == severity]


def test_four_nineties_are_allowed_and_five_are_not() -> None:
    assert "run.degrees" not in _rules(check_raceway(_bends(4), edition=EDITION))
    found = next(f for f in check_raceway(_bends(5), edition=EDITION) if f.rule == "run.degrees")
    assert (found.measured, found.allowed, found.unit) == (pytest.approx(450.0), 360.0, "deg")
    assert found.citation == "NFPA 70-2023 358.24(B)"


def test_a_pull_point_splits_the_degrees() -> None:
    shape = _bends(5)
    split = RunShape(raceway=EMT, length_mm=shape.length_mm, turns=shape.turns, pull_points_mm=(1600.0,))
    assert degrees_between_pull_points(split) == pytest.approx((180.0, 270.0))
    assert "run.degrees" not in _rules(check_raceway(split, edition=EDITION))


def test_least_radius() -> None:
    # Chapter 9 Table 2, 1/2: 4 in either way; 1 in: 5 3/4 one-shot, 6 others.
    assert "run.radius" not in _rules(check_raceway(_bends(1, radius=101.6), edition=EDITION))
    assert "run.radius" in _rules(check_raceway(_bends(1, radius=101.0), edition=EDITION))
    rigid = RunShape(raceway=find_raceway("RMC", "1"), length_mm=3000.0, turns=(Turn(1000.0, 1.0, 0.0, 148.0),))
    assert "run.radius" not in _rules(check_raceway(rigid, edition=EDITION))
    plastic = RunShape(raceway=find_raceway("PVC-40", "1"), length_mm=3000.0, turns=rigid.turns)
    assert "run.radius" in _rules(check_raceway(plastic, edition=EDITION))


def test_coupling_in_and_near_a_bend() -> None:
    bend = Turn(1000.0, pi / 2, 0.0, 110.0)
    inside = RunShape(raceway=EMT, length_mm=3000.0, turns=(bend,), couplings=(Coupling(1050.0),))
    near = RunShape(raceway=EMT, length_mm=3000.0, turns=(bend,), couplings=(Coupling(980.0),))
    close = RunShape(raceway=EMT, length_mm=3000.0, turns=(bend,), couplings=(Coupling(900.0, 20.0),))
    clear = RunShape(raceway=EMT, length_mm=3000.0, turns=(bend,), couplings=(Coupling(880.0, 20.0),))
    assert "run.coupling" in _rules(check_raceway(inside, edition=EDITION))
    assert "run.coupling" in _rules(check_raceway(near, edition=EDITION), "caution")
    (found,) = [f for f in check_raceway(close, edition=EDITION) if f.rule == "run.coupling"]
    assert (found.severity, found.measured, found.allowed) == ("info", pytest.approx(80.0), 100.0)
    assert not [f for f in check_raceway(clear, edition=EDITION) if f.rule == "run.coupling"]


def test_a_short_piece_between_joints_is_said_and_a_short_run_is_not() -> None:
    def short(length: float, *couplings: Coupling) -> list[float | None]:
        shape = RunShape(raceway=EMT, length_mm=length, couplings=couplings)
        return [f.measured for f in check_raceway(shape, edition=EDITION) if f.rule == "run.short_piece"]

    assert short(250.0) == []
    assert short(2000.0, Coupling(1700.0)) == []
    assert short(2000.0, Coupling(1750.0)) == [pytest.approx(250.0)]
    # as it is cut: by half of what the joint leaves between the ends shorter
    assert short(2000.0, Coupling(1690.0, 60.0, gap_mm=22.0)) == [pytest.approx(299.0)]
    assert short(2000.0, Coupling(1688.0, 60.0, gap_mm=22.0)) == []


def test_bend_hard_against_the_box() -> None:
    shape = RunShape(raceway=EMT, length_mm=3000.0, turns=(Turn(20.0, pi / 2, 0.0, 110.0),))
    found = next(f for f in check_raceway(shape, edition=EDITION) if f.rule == "run.end_straight")
    assert found.measured == pytest.approx(20.0)
    assert "end A" in found.message


def test_reminders_by_type() -> None:
    pvc = check_raceway(
        RunShape(raceway=find_raceway("PVC-40", "1"), length_mm=3000.0, turns=(Turn(1000.0, 1.0, 0.0, 200.0),)),
        edition=EDITION,
    )
    assert {"run.pvc_bends", "run.ream", "run.bushing", "run.complete"} <= {f.rule for f in pvc}
    assert "run.ground_path" not in {f.rule for f in pvc}
    assert "run.ground_path" in {f.rule for f in check_raceway(_bends(1), edition=EDITION)}
    assert {f.severity for f in check_raceway(_bends(1), edition=EDITION)} == {"info"}


def test_every_finding_cites_something_and_promises_nothing() -> None:
    shape = parse_path("straight 4, bend 90 r 3, straight 200, bend 90, straight 30 up", find_raceway("RMC", "1-1/4"))
    climate = Climate(lowest_c=-20.0, highest_c=40.0, install_c=15.0)
    check = check_run(shape, _wires("3 x 1/0 THHN"), climate=climate, edition=EDITION)
    assert {"run.radius", "run.expansion", "run.supports", "pull.direction"} <= {f.rule for f in check.findings}
    for finding in check.findings:
        assert finding.citation
        assert "approv" not in finding.message.lower()
        assert (finding.measured is None) or finding.unit


def test_structured_results() -> None:
    shape = parse_path("straight 40, bend 90, straight 20", find_raceway("PVC-40", "2"))
    climate = Climate(lowest_c=-20.0, highest_c=40.0, install_c=15.0)
    check = check_run(shape, _wires("3 x 4/0 XHHW"), climate=climate, edition=EDITION)
    assert check.supports is not None
    assert check.supports.count >= 10
    assert all(move.fittings > 0 for move in expansion_of(shape, climate, EDITION))
    assert [f.rule for f in check.findings].count("run.expansion") == 2
    assert len(check.pulls) == 1
    # Feeding next to the bend keeps the tension at the bend low.
    assert check.pulls[0].better == "B"


def test_support_shortfall_says_what_would_work() -> None:
    shape = RunShape(raceway=find_raceway("EMT", "2"), length_mm=20 * FT, turns=(Turn(60.0, pi / 2, 0.0, 800.0),))
    found = next(f for f in check_run(shape, edition=EDITION).findings if f.rule == "run.supports")
    assert found.severity == "problem"
    assert "(358.30(A) Exception No. 1)" in found.message
    assert found.allowed == pytest.approx(3 * FT)


def test_a_coupling_on_a_bend_that_no_strap_reaches_is_to_be_moved() -> None:
    def told(*couplings: float) -> str:
        shape = RunShape(
            raceway=find_raceway("EMT", "4"),
            length_mm=9000.0,
            turns=(Turn(2000.0, pi / 2, 0.0, 2500.0),),
            couplings=tuple(Coupling(s) for s in couplings),
        )
        return next(f.message for f in check_run(shape, edition=EDITION).findings if f.rule == "run.supports")

    assert "Move the coupling" in told(1500.0, 4000.0)
    assert "Hold the conduit on the bend (strut" in told(1500.0, 8000.0)


def test_the_end_to_feed_from_is_said_where_one_way_is_hard() -> None:
    """A bend at the far end makes the pull more than twice as hard as the same bend at the reel."""
    seen = set()
    for feet in (30, 90, 150, 300):
        shape = parse_path(f"straight 3, bend 90, straight {feet}", EMT)
        check = check_run(shape, _wires("3 x 12 THHN"), edition=EDITION)
        hard = [pull.greatest_tension_n > 44.5 for pull in (check.pulls[0].fed_at_a, check.pulls[0].fed_at_b)]
        said = [f for f in check.findings if f.rule == "pull.direction"]
        assert len(said) == any(hard)
        assert [f.where for f in said] == [""] * len(said), "there is one pull, and no section to name"
        seen.add(tuple(hard))
    assert seen == {(False, False), (False, True), (True, True)}


def test_over_tension_and_over_sidewall() -> None:
    shape = parse_path("straight 300, bend 90, straight 100, bend 90, straight 300", EMT)
    wires = _wires("3 x 12 THHN")
    check = check_run(shape, wires, pulling=PullSettings(friction=0.9), edition=EDITION)
    assert "pull.sidewall" in _rules(check.findings, "caution")
    hard = check_run(shape, wires, pulling=PullSettings(friction=0.9, sidewall_limit_n_per_mm=4.0), edition=EDITION)
    assert {"pull.sidewall", "pull.tension"} <= set(_rules(hard.findings))


def test_wires_that_do_not_go_in_are_a_finding() -> None:
    check = check_run(_bends(1), _wires("3 x 4/0 XHHW"), edition=EDITION)
    assert "pull.fit" in _rules(check.findings)
    assert check.pulls == ()


def test_pvc_without_temperatures_is_reminded() -> None:
    check = check_run(RunShape(raceway=find_raceway("PVC-80", "1"), length_mm=3000.0), edition=EDITION)
    found = next(f for f in check.findings if f.rule == "run.expansion")
    assert found.severity == "info"


def test_riser_and_continued_run_are_noted() -> None:
    riser = check_run(parse_path("straight 18 up", find_raceway("RMC", "1")), edition=EDITION)
    assert any("riser" in f.message for f in riser.findings)
    on = check_run(RunShape(raceway=EMT, length_mm=6000.0, end="coupling"), edition=EDITION)
    assert any("goes on" in f.message for f in on.findings)


def test_size_beyond_the_article() -> None:
    raceway = find_raceway("EMT", "4")
    fields = {f: getattr(raceway, f) for f in raceway.__struct_fields__}
    big = type(raceway)(**(fields | {"metric_designator": 205, "trade_size": "8"}))
    other = type(raceway)(**(fields | {"type": "FMC"}))
    assert "run.size" in _rules(check_raceway(RunShape(raceway=big, length_mm=3000.0), edition=EDITION))
    found = check_run(RunShape(raceway=other, length_mm=3000.0), edition=EDITION).findings
    assert {"run.type", "run.supports"} <= {f.rule for f in found}


def test_lengths_are_written_in_the_users_tape() -> None:
    shape = _bends(1, radius=90.0)
    inches = next(f for f in check_run(shape, edition=EDITION).findings if f.rule == "run.radius")
    metric = check_run(shape, tape=TapeStyle("mm", 1), edition=EDITION).findings
    assert '4" at least' in inches.message
    assert "102 mm at least" in next(f for f in metric if f.rule == "run.radius").message


def test_first_support_and_spacing_cite_their_own_parts() -> None:
    pvc = find_raceway("PVC-40", "1")
    near_end = RunShape(raceway=pvc, length_mm=10 * FT, turns=(Turn(60.0, pi / 2, 0.0, 800.0),))
    between = RunShape(raceway=pvc, length_mm=20 * FT, turns=(Turn(8 * FT, pi / 2, 0.0, 800.0),))
    first = next(f for f in check_run(near_end, edition=EDITION).findings if f.rule == "run.supports")
    gap = next(f for f in check_run(between, edition=EDITION).findings if f.rule == "run.supports")
    assert first.citation == "NFPA 70-2023 352.30(A)"
    assert gap.citation == "NFPA 70-2023 352.30(B)"


def test_a_bend_radius_from_memory_says_so() -> None:
    """PVC goes by the other column of the radius table, of which only 2 in was read in print."""
    for size, marked in (("1", True), ("2", False)):
        shape = RunShape(raceway=find_raceway("PVC-40", size), length_mm=3000.0, turns=(Turn(1500.0, 1.0, 0.0, 60.0),))
        found = next(f for f in check_run(shape, edition=EDITION).findings if f.rule == "run.radius")
        assert found.citation.endswith("Chapter 9 Table 2 (from memory)") == marked


def test_emt_bushing_is_asked_for_thick_wires_only() -> None:
    """300.4(G) speaks of 4 AWG and thicker; the bushing at any box belongs to the threaded and plastic conduits."""
    for kind, article in (("EMT", "300.4(G)"), ("RMC", "344.46"), ("PVC-40", "352.46")):
        shape = RunShape(raceway=find_raceway(kind, "1"), length_mm=3000.0)
        found = next(f for f in check_run(shape, edition=EDITION).findings if f.rule == "run.bushing")
        assert found.citation == f"NFPA 70-2023 {article}"
        assert found.message.startswith("Wires of 4 AWG and thicker") == (kind == "EMT")


def test_the_long_riser_is_for_machinery_and_fixed_equipment() -> None:
    shape = parse_path("straight 16 up", find_raceway("RMC", "1"))
    messages = [f.message for f in check_run(shape, edition=EDITION).findings if f.rule == "run.supports"]
    assert any("machinery or fixed equipment" in text and "20 ft" in text for text in messages)
