"""Which end of a piece keeps the stick's thread, which is cut, and where none can be cut."""

from __future__ import annotations

from math import radians

import pytest

from racewright.assembly.joints import PieceEnd
from racewright.assembly.threads import DIE_MM, VISE_MM, thread_findings, with_threads
from racewright.bends.model import Bend, BentPiece
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

STICK = 3048.0
THREAD = 17.0
ENDS = (
    PieceEnd(fitting="hub fitting", insertion_mm=THREAD),
    PieceEnd(fitting="threaded coupling", insertion_mm=THREAD),
)


def piece(length: float, *arc_starts: float) -> BentPiece:
    bends = (Bend(arc_start_mm=s, angle_rad=radians(30), roll_rad=0.0, radius_mm=150.0) for s in arc_starts)
    return BentPiece(cut_length_mm=length, outside_diameter_mm=33.4, bends=tuple(bends))


def threads(
    bent: BentPiece,
    need: tuple[bool, bool] = (True, True),
    stick: float = STICK,
    trimmed: tuple[bool, bool] = (False, False),
) -> tuple[str, str]:
    a, b = with_threads(ENDS, bent, need, stick_mm=stick, trimmed=trimmed)
    return a.thread, b.thread


def test_the_end_with_less_straight_keeps_the_sticks_own() -> None:
    assert threads(piece(2000.0)) == ("own", "cut")
    assert threads(piece(2000.0, 200.0)) == ("own", "cut")
    assert threads(piece(2000.0, 1700.0)) == ("cut", "own")


def test_a_whole_stick_keeps_both_an_offcut_none_and_an_end_without_need_has_none() -> None:
    assert threads(piece(STICK)) == ("own", "own")
    assert threads(piece(2000.0), stick=0.0) == ("cut", "cut")
    assert threads(piece(2000.0), need=(False, True)) == ("", "own")
    assert threads(piece(2000.0), need=(False, False)) == ("", "")


def test_what_is_cut_off_after_bending_loses_its_thread() -> None:
    assert threads(piece(2000.0, 1700.0), trimmed=(False, True)) == ("own", "cut")
    assert threads(piece(2000.0), trimmed=(True, True)) == ("cut", "cut")
    # of a stick that is all but whole as well
    assert threads(piece(STICK - 0.3, 1700.0), trimmed=(False, True)) == ("own", "cut")
    assert threads(piece(STICK - 0.3, 1700.0), trimmed=(True, True)) == ("cut", "cut")


def between_hubs(walk: str) -> Plan:
    head = "run:\n  name: cold store\n  raceway: RMC 1\n  start: {fitting: hub}\n  end: {fitting: hub}\n  walk:\n"
    return plan_run(survey_from_text(head + walk).survey)


@pytest.mark.parametrize(("spare", "severities"), [(1.0, []), (-1.0, ["info"]), (-DIE_MM - 1.0, ["problem"])])
def test_a_bend_in_the_dies_way_is_named(spare: float, severities: list[str]) -> None:
    walk = "    - leg: 60\n      features:\n        - offset: {rise: 4, starts_at: 20, angle: 30}\n"
    made, end = between_hubs(walk).pieces[0], PieceEnd(fitting="hub fitting", insertion_mm=THREAD, thread="cut")
    bent = piece(made.cut_length_mm, THREAD + DIE_MM + spare)
    assert [
        f.severity for f in thread_findings("piece 1", bent, (end, PieceEnd()), trimmed=(False, False))
    ] == severities


def test_what_is_cut_after_bending_is_threaded_after_the_cut() -> None:
    walk = "    - leg: 63\n      features:\n        - offset: {rise: 6, starts_at: 21, angle: 30}\n"
    head = "run:\n  name: cold store\n  raceway: RMC 1\n  start: {fitting: hub}\n  end: {fitting: hub}\n"
    before, after = (plan_run(survey_from_text(f"{head}{cut}  walk:\n{walk}").survey) for cut in ("", "  cut: after\n"))
    bench = {"cut", "stock", "thread", "lay-out", "trim", "ream"}
    assert [s.kind for s in before.steps if s.kind in bench] == ["cut", "thread", "lay-out", "ream"]
    assert [s.kind for s in after.steps if s.kind in bench] == ["stock", "lay-out", "trim", "thread", "ream"]
    (thread,) = [s for s in after.steps if s.kind == "thread"]
    assert "end B" in thread.title


def test_a_nipple_is_named_where_the_vise_has_no_hold() -> None:
    thread = 0.6828
    longest = VISE_MM / 25.4 + thread  # and both threads are beyond the leg's faces
    for off, rules in ((-0.05, ["assembly.thread"]), (0.05, [])):
        plan = between_hubs(f"    - leg: {longest - 2 * thread + off:.3f}\n")
        assert [f.rule for f in plan.findings if f.rule == "assembly.thread"] == rules
