"""In which order pieces go up: by the order search alone, and in whole plans."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from racewright.assembly.going_up import going_up
from racewright.assembly.joints import Between, WayOut, joints_of
from racewright.assembly.moves import Ends, moves_of
from racewright.assembly.order import COUPLING, NOT_POSSIBLE, Body, Seat, find_order
from racewright.assembly.part import Part
from racewright.assembly.put_up import put_up
from racewright.bends.model import Bend, BentPiece
from racewright.budget import Budget
from racewright.catalogue.raceways import find_raceway
from racewright.fit.way_in import Solid
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import Frame, along
from racewright.job.materials import _fittings
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

FREE, FIXED = Seat("free"), Seat("seat", NOT_POSSIBLE)
STRAIGHT = Body(3000.0, straight=True)
#: Cannot turn about either end.
BENT = Body(2000.0, straight=False, by_a=False, by_b=False)


def test_from_a_free_end_nothing_gives_way() -> None:
    order = find_order([STRAIGHT] * 3, [COUPLING] * 2, (FIXED, FREE))
    assert [g.order for g in order.groups] == [(0, 1, 2)]
    assert order.gives == (False, False)
    back = find_order([STRAIGHT] * 3, [COUPLING] * 2, (FREE, FIXED))
    assert [g.order for g in back.groups] == [(2, 1, 0)]


def test_between_two_fixed_ends_one_coupling_gives_way_beside_the_longest_piece() -> None:
    bodies = [Body(1000.0, straight=True), Body(900.0, straight=True), Body(2500.0, straight=True), STRAIGHT]
    order = find_order(bodies, [COUPLING] * 3, (FIXED, FIXED))
    assert [g.order for g in order.groups] == [(0, 1, 2), (3,)]
    assert order.cost == COUPLING
    # the longer one beside that joint goes in last, for it swings farther
    turned = find_order(bodies[::-1], [COUPLING] * 3, (FIXED, FIXED))
    assert [g.order for g in turned.groups] == [(3, 2, 1), (0,)]


def test_a_fitting_that_may_give_way_is_cheaper_than_a_coupling_bought() -> None:
    order = find_order([STRAIGHT] * 2, [COUPLING], (FIXED, Seat("seat", 0.5)))
    assert order.gives == (False, True)
    assert [g.order for g in order.groups] == [(0, 1)]


def test_a_bent_piece_that_cannot_turn_stands_first_and_the_straight_ones_are_turned_onto_it() -> None:
    order = find_order([STRAIGHT, BENT, STRAIGHT], [COUPLING] * 2, (FREE, FREE))
    assert [g.order for g in order.groups] == [(1, 2, 0)]


def test_two_of_them_need_a_union_between_them_and_a_fixed_end_one_more() -> None:
    order = find_order([BENT, STRAIGHT, BENT], [COUPLING] * 2, (FREE, FREE))
    assert len(order.groups) == 2
    fixed = find_order([STRAIGHT, BENT, STRAIGHT, BENT, STRAIGHT], [COUPLING] * 4, (FIXED, FIXED))
    assert fixed.cost == 3 * COUPLING
    assert [g.order[0] for g in fixed.groups if len(g.order) > 1 or g.order[0] in (1, 3)] == [1, 3]


def test_a_straight_piece_goes_through_its_hole_and_back_and_a_bent_one_does_not() -> None:
    hole = Seat("hole", 1.5)
    assert find_order([STRAIGHT], [], (hole, hole)).cost == 0.0
    assert find_order([STRAIGHT, STRAIGHT], [COUPLING], (hole, hole)).cost == 0.0
    # the bent one goes through its hole first, and the straight one is turned onto it
    assert find_order([BENT, STRAIGHT], [COUPLING], (hole, hole)).groups[0].order == (0, 1)
    assert find_order([BENT], [], (hole, hole)).cost == 1.5


def test_one_push_serves_both_ends_of_a_u() -> None:
    u = Body(2000.0, straight=False, one_way=True)
    assert find_order([u], [], (FIXED, FIXED)).cost == 0.0
    assert find_order([u._replace(one_way=False)], [], (FIXED, FIXED)).cost >= NOT_POSSIBLE


# --- whole plans

OFFSET = "    - leg: 96\n      features:\n        - offset: {rise: 5, starts_at: 30}\n"


def planned(walk: str, raceway: str, start: str, end: str, **run: Any) -> Plan:
    head = {"name": "orchard feed", "raceway": raceway, "start": start, "end": end} | run
    fields = "".join(f"  {key}: {value}\n" for key, value in head.items())
    return plan_run(survey_from_text(f"run:\n{fields}  walk:\n{walk}").survey)


def acts(plan: Plan) -> list[tuple[str, int]]:
    assert plan.assembly is not None
    return [(m.act, m.piece) for m in plan.assembly.moves]


def findings(plan: Plan, rule: str) -> list[Any]:
    return [f for f in plan.findings if f.rule == rule]


def test_only_the_last_piece_is_trapped_and_the_fitting_at_its_end_slides_back() -> None:
    plan = planned("    - leg: 430\n", "EMT 3/4", "{fitting: set-screw}", "{fitting: set-screw}")
    assert plan.assembly is not None
    assert plan.assembly.trapped == (len(plan.pieces),)
    (told,) = findings(plan, "assembly.trapped")
    assert (told.severity, told.where) == ("info", f"piece {len(plan.pieces)}")
    # straight: it is held back by one insertion while the other end goes in, and both are 13/16 in
    assert told.measured == pytest.approx(2 * 0.8125 * 25.4)
    assert [j.last for j in plan.joints] == [False] * (len(plan.joints) - 1) + [True]


def test_a_stub_needs_no_more_than_its_own_depth() -> None:
    walk = "    - {leg: 40, to: back}\n    - turn: away\n    - {leg: 30, from: back}\n"
    plan = planned(walk, "EMT 3/4", "{fitting: set-screw}", "{fitting: set-screw}", stand_off="4")
    (told,) = findings(plan, "assembly.trapped")
    assert told.measured == pytest.approx(0.8125 * 25.4)


def test_one_piece_between_two_fittings_that_stay_is_a_problem_and_a_slip_coupling_is_not() -> None:
    fixed = "{fitting: set-screw, fixed: true}"
    stuck = planned(OFFSET, "EMT 3/4", fixed, fixed)
    assert stuck.assembly is not None
    assert not stuck.assembly.possible
    assert [f.severity for f in findings(stuck, "assembly.trapped")] == ["problem"]
    plan = planned("    - leg: 200\n", "EMT 3/4", fixed, fixed)
    assert plan.assembly is not None
    assert plan.assembly.possible
    (slip,) = [j for j in plan.joints if j.kind == "slip coupling"]
    assert slip.last
    assert plan.pieces[0].end_b.fitting == plan.pieces[1].end_a.fitting == "slip coupling"
    # a coupling of 1.685 in with 0.06 in between the ends: half of both, until it is clear of the end that it leaves
    slid = next(m for m in plan.assembly.moves if m.act == "slide back")
    assert slid.by_mm == pytest.approx((1.685 + 0.06) / 2 * 25.4)
    # the full stick goes in last: it swings aside farther while its other end passes beside piece 2
    assert acts(plan) == [("push", 2), ("slide back", 1), ("push", 1), ("close", 1)]
    assert next(m for m in plan.assembly.moves if m.act == "push" and m.piece == 1).past_mm > 15.0
    assert findings(plan, "assembly.beside") == []


def test_a_bent_piece_between_a_knockout_and_a_fixed_hub_is_trapped() -> None:
    """It can be pushed into the one, and then not be turned into the other."""
    walk = "    - leg: 57\n      features:\n        - offset: {rise: 4, starts_at: 19, angle: 30}\n"
    held = planned(walk, "RMC 1", "{fitting: threaded}", "{fitting: hub, fixed: true}")
    assert [f.severity for f in findings(held, "assembly.trapped")] == ["problem"]
    assert held.assembly.moves == held.assembly.order == ()
    assert held.assembly.ways_out[0] == WayOut(what="slide back", joints=(2,))
    assert ". The fitting at end B would have to slide back" in findings(held, "assembly.trapped")[0].message
    between = planned(walk, "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    assert [f.severity for f in findings(between, "assembly.trapped")] == ["info"]


def test_a_u_is_pushed_into_two_knockouts_at_once_and_not_into_a_knockout_and_a_hub() -> None:
    walk = "    - leg: 23\n    - turn: left\n    - leg: 38\n    - turn: left\n    - leg: 23\n"
    holes = planned(walk, "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    assert [(move.act, move.joints) for move in holes.assembly.moves] == [("push", (1, 2))]
    for ends in (
        ("{fitting: hub, fixed: true}", "{fitting: threaded}"),
        ("{fitting: threaded}", "{fitting: hub, fixed: true}"),
    ):
        held = planned(walk, "RMC 1", *ends)
        assert [f.severity for f in findings(held, "assembly.trapped")] == ["problem"]
        assert (1, 2) not in [move.joints for move in held.assembly.moves]


def test_a_straight_piece_goes_through_the_hole_first_at_whichever_end_it_is() -> None:
    hole, hub = "{fitting: threaded}", "{fitting: hub, fixed: true}"
    for ends, first, then in (((hole, hub), 1, 2), ((hub, hole), 2, 1)):
        moves = planned("    - leg: 71\n", "RMC 1", *ends).assembly.moves
        assert [(move.act, move.joints[0]) for move in moves] == [("through", first), ("turn", then)]


def test_hubs_at_both_ends_want_a_union_and_knockouts_do_not() -> None:
    hubs = planned("    - leg: 230\n", "RMC 1", "{fitting: hub}", "{fitting: hub}")
    (union,) = [j for j in hubs.joints if j.how == "union"]
    assert union.last
    assert acts(hubs)[-1][0] == "close"
    assert all(act == "turn" for act, _ in acts(hubs)[:-1])
    # the union's own length is asked for before the piece behind it is cut, and its halves are on before they go up
    taken = [s for s in hubs.steps if s.kind in ("stock", "cut")]
    assert ["Measure the union first" in step.detail for step in taken] == [True, False]
    assert taken[0].title.startswith("Take a whole length")
    assert all("cut" in step.care for step in taken)
    up = [s.detail for s in hubs.steps if s.kind == "insert"]
    assert [text.count("turn a half of a union onto end") for text in up] == [1, 1, 0]
    for step in (s for s in hubs.steps if "turn a half" in s.detail):
        assert f"onto end {'B' if union.before == step.piece else 'A'}. " in step.detail
    holes = planned("    - leg: 230\n", "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    assert [j.how for j in holes.joints] == ["slides", "threads", "slides"]
    assert acts(holes) == [("push", 1), ("through", 2), ("turn", 2)]
    insertion = holes.pieces[1].end_a.insertion_mm
    assert holes.assembly is not None
    assert holes.assembly.moves[1].by_mm == pytest.approx(2 * insertion)


def test_a_bent_threaded_piece_on_its_wall_cannot_be_turned_and_says_why() -> None:
    plan = planned(OFFSET, "RMC 1", "{fitting: hub, fixed: true}", "{fitting: none}")
    assert plan.assembly is not None
    assert not plan.assembly.possible
    (told,) = findings(plan, "assembly.turn")
    assert "the surface behind leg 1" in told.message
    clear = planned(OFFSET, "RMC 1", "{fitting: hub, fixed: true}", "{fitting: none}", stand_off="9")
    assert clear.assembly is not None
    assert clear.assembly.possible
    assert acts(clear) == [("turn", 1)]


def test_a_cut_end_gets_a_thread_and_a_full_stick_has_its_own() -> None:
    plan = planned("    - leg: 350\n", "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    for piece in plan.pieces:
        whole = abs(piece.cut_length_mm - piece.stock_mm) < 0.5
        cut = [end.thread for end in (piece.end_a, piece.end_b)].count("cut")
        assert cut == (0 if whole else 1)
        assert sum(s.kind == "thread" for s in plan.steps if s.piece == int(piece.label.split()[1])) == cut
    assert planned("    - leg: 90\n", "EMT 1", "{fitting: none}", "{fitting: none}").pieces[0].end_a.thread == ""


def test_a_piece_too_short_to_hold_is_a_nipple() -> None:
    plan = planned("    - leg: 5\n", "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    (told,) = findings(plan, "assembly.thread")
    assert "factory nipple" in told.message


def test_cement_needs_a_quarter_turn_and_never_slides() -> None:
    plan = planned("    - leg: 300\n", "PVC-40 1", "{fitting: socket}", "{fitting: none}")
    assert {act for act, _ in acts(plan)} == {"cement"}
    text = " ".join(s.detail for s in plan.steps if s.kind == "insert")
    assert "quarter turn" in text
    assert "slide" not in text


def test_straps_are_named_where_they_stand_and_a_piece_without_one_says_so() -> None:
    plan = planned("    - leg: 430\n", "EMT 3/4", "{fitting: set-screw}", "{fitting: none}")
    straps = [s for s in plan.steps if s.kind == "strap"]
    assert len(straps) == len(plan.pieces)
    assert all(" at " in s.detail or "No strap" in s.detail for s in straps)
    told = sum(s.detail.split(" at ")[1].split(" along")[0].count('"') for s in straps if " at " in s.detail)
    assert plan.checks is not None
    assert told == len(plan.checks.straps_mm)


def test_an_expansion_fitting_is_closed_last_by_its_piston() -> None:
    """Three pieces in line between two sockets that stay, the second joint an expansion fitting."""
    joints = joints_of(
        9100.0, ("socket", "socket"), [Between(3050.0, "socket coupling"), Between(6100.0, "expansion fitting")]
    )
    seats = Seat("seat", NOT_POSSIBLE), Seat("seat", NOT_POSSIBLE)
    order = find_order([STRAIGHT] * 3, [COUPLING, 0.1], seats)
    ends = [Ends(joints=(k, k + 1), inserts_mm=(22.0, 22.0), in_line=1.0, one_way=False) for k in range(3)]
    moved = moves_of(order, ends, joints, gap_mm=2.0, slip_mm=24.0)
    assert [(m.act, m.piece) for m in moved.moves] == [
        ("cement", 1), ("cement", 2), ("slide back", 3), ("cement", 3), ("close", 3),
    ]  # fmt: skip
    back, last = moved.moves[2], moved.moves[3]
    # the piece is held back by the depth of its socket, and stands clear of the piston's own socket
    assert (back.joints, back.by_mm) == ((3,), 44.0)
    assert last.past_mm == 0.0
    assert (moved.last, moved.trapped) == (2, (2,))


@pytest.mark.parametrize(
    ("raceway", "kind", "becomes"),
    [("RMC 1", "threaded coupling", "union"), ("PVC-40 1", "socket coupling", "slip coupling")],
)
def test_a_coupling_toward_another_run_gives_way_as_one_between_pieces_does(
    raceway: str, kind: str, becomes: str
) -> None:
    plan = planned("    - leg: 70\n", raceway, f"{{name: yard run, fitting: {kind}}}", f"{{fitting: {kind}}}")
    assert [j.kind for j in plan.joints] == [kind, becomes]
    assert plan.pieces[0].end_b.fitting == f"{becomes} fitting"
    told = " ".join(f.message for f in plan.findings)
    assert f"{becomes} in place of the {kind}" in told
    stays = f"{{fitting: {kind}, fixed: true}}"
    stuck = planned("    - leg: 70\n", raceway, stays, stays)
    assert [j.kind for j in stuck.joints] == [kind, kind]
    assert [f.severity for f in findings(stuck, "assembly.trapped")] == ["problem"]


#: So near to its box that the saddle's flank passes the pipe while it is pushed in.
SNUG = "    - leg: 79\n      features:\n        - saddle: {name: drain, center: 15, over: round, height: 2 3/4}\n"
BOTH_BACK = [("slide back", 1), ("slide back", 1), ("place", 1), ("close", 1), ("close", 1)]


def test_a_piece_that_hits_what_it_goes_over_has_both_its_fittings_brought_over_it() -> None:
    for fixed in ("", ", fixed: false"):
        plan = planned(SNUG, "EMT 1/2", f"{{fitting: set-screw{fixed}}}", f"{{fitting: compression{fixed}}}")
        assert acts(plan) == BOTH_BACK
        (told,) = findings(plan, "assembly.path")
        assert told.severity == "info"
        assert told.message.startswith("piece 1 cannot be pushed straight in by either end: it would hit drain.")
        assert "it would hit drain. So the fittings at both ends go onto it first" in told.message
        # the least that is told does, and a sixteenth less does not
        assert 'With a clearance of 1/8" over drain (0" now) it goes straight in past it.' in told.message
    for more, hits in (("1/16", 1), ("1/8", 0)):
        again = planned(SNUG, "EMT 1/2", "{fitting: set-screw}", "{fitting: compression}", clearance=more)
        assert len(findings(again, "assembly.path")) == hits
    # more clearance, and it is pushed in as any other
    far = planned(SNUG, "EMT 1/2", "{fitting: set-screw}", "{fitting: compression}", clearance="3/4")
    assert findings(far, "assembly.path") == []
    assert acts(far) == [("slide back", 1), ("push", 1), ("close", 1)]


def test_a_snug_piece_and_a_fitting_that_stays_are_a_problem_with_what_would_work() -> None:
    plan = planned(SNUG, "EMT 1/2", "{fitting: set-screw, fixed: true}", "{fitting: set-screw, fixed: true}")
    assert plan.assembly is not None
    assert not plan.assembly.possible
    told = findings(plan, "assembly.path")
    assert [f.severity for f in told] == ["problem"]
    assert plan.assembly.ways_out == (WayOut(what="slide back", joints=(1, 2)),)
    assert 'With a clearance of 1/8"' in plan.steps[0].detail
    assert "let the fittings at ends A and B give way (fixed at neither)" in told[0].message


def test_a_piece_that_stands_against_the_wall_ahead_cannot_be_pushed_away_from_it() -> None:
    walk = "    - {leg: 57, to: wall}\n    - turn: away\n    - {leg: 44, from: wall}\n"
    ends = ("{fitting: set-screw}", "{fitting: set-screw}")
    plan = planned(walk, "EMT 3/4", *ends, surface="ceiling", stand_off="1/4")
    assert acts(plan) == BOTH_BACK
    off = planned(walk, "EMT 3/4", *ends, surface="ceiling", stand_off="7/8")
    assert findings(off, "assembly.path") == []
    stays = planned(walk, "EMT 3/4", "{fitting: set-screw, fixed: true}", ends[1], surface="ceiling", stand_off="1/4")
    (told,) = findings(stays, "assembly.path")
    assert told.severity == "problem"
    assert "the surface behind leg 2. The fitting at end A is fixed" in told.message
    free = planned(walk, "EMT 3/4", ends[0], "{fitting: none}", surface="ceiling", stand_off="1/4")
    assert acts(free) == [("slide back", 1), ("place", 1), ("close", 1)]
    hole = planned(walk, "RMC 3/4", "{fitting: threaded}", "{fitting: none}", surface="ceiling", stand_off="1/4")
    assert acts(hole) == [("slide back", 1), ("place", 1), ("close", 1)]


def test_what_the_run_hits_in_its_place_is_not_said_again_of_its_way_in() -> None:
    walk = "    - {leg: 47, to: edge}\n    - turn: toward\n    - {leg: 39, from: edge}\n"
    plan = planned(walk, "EMT 3/4", "{fitting: set-screw}", "{fitting: set-screw}")
    assert [f.severity for f in plan.findings if f.rule == "run.corner"] == ["problem"]
    assert findings(plan, "assembly.path") == []
    assert acts(plan) == [("slide back", 1), ("push", 1), ("close", 1)]


def parts_of(plan: Plan) -> list[Part]:
    return [
        Part(
            piece=p.piece,
            frame=p.frame,
            start_mm=p.run_start_mm,
            first_bend=0,
            ends=(p.end_a.fitting, p.end_b.fitting),
            inserts_mm=(p.end_a.insertion_mm, p.end_b.insertion_mm),
            stock_mm=p.stock_mm,
        )
        for p in plan.pieces
    ]


def test_what_stands_beyond_an_end_makes_the_other_end_give_way() -> None:
    """Held back, the piece would stand past end B: a pipe there, and the fitting at end A gives way in its place."""
    ends = "  start: {fitting: set-screw}\n  end: {fitting: set-screw}\n"
    text = f"run:\n  name: x\n  raceway: EMT 3/4\n{ends}  walk:\n{OFFSET}"
    survey = survey_from_text(text).survey
    plan = plan_run(survey)
    beyond = along(plan.pieces[0].centreline.end_frame.origin, (1.0, 0.0, 0.0), 14.0)
    pipe = Cylinder(
        start=along(beyond, (0.0, 1.0, 0.0), -50.0), end=along(beyond, (0.0, 1.0, 0.0), 50.0), radius_mm=2.0
    )
    raceway = find_raceway("EMT", "3/4")
    joints = [msgspec.structs.replace(j, last=False) for j in plan.joints]
    free = put_up(survey, raceway, parts_of(plan), joints, [])
    past = put_up(survey, raceway, parts_of(plan), joints, [Solid(name="pipe", solid=pipe)])
    assert [j.last for j in free.joints] == [False, True]
    assert [j.last for j in past.joints] == [True, False]


def test_the_end_whose_push_is_stopped_is_named() -> None:
    """Off the wall by 30 degrees: drawn back along its last leg the piece runs into the wall that it lies on."""
    walk = "    - {leg: 33, from: face}\n    - {turn: away, angle: 30}\n    - {leg: 18, to: face}\n"
    plan = planned(walk, "RMC 1/2", "{fitting: threaded coupling}", "{fitting: compression}")
    (told,) = findings(plan, "assembly.path")
    assert told.message.startswith(
        "piece 1 cannot be pushed straight in by end B: it would hit the surface behind leg 1."
    )


def test_what_lies_on_the_axis_of_a_turn_never_stops_it() -> None:
    """A bend close behind a joint, at a large size: nearer to the straight before it than the room of a turn."""
    joints = joints_of(1500.0, ("none", "none"), [Between(500.0, "threaded coupling")])
    bend = Bend(arc_start_mm=40.0, angle_rad=0.5, roll_rad=0.0, radius_mm=400.0)
    made = [
        Part(
            piece=BentPiece(cut_length_mm=length, outside_diameter_mm=88.9, bends=bends),
            frame=Frame((start, 0.0, 0.0)),
            start_mm=start,
            first_bend=0,
            ends=("", ""),
            inserts_mm=(0.0, 30.0),
            stock_mm=3048.0,
        )
        for start, length, bends in ((0.0, 500.0, ()), (500.0, 1000.0, (bend,)))
    ]
    assert [p.stopped_by for p in going_up(made, joints, [], Budget(0))] == [("", ""), ("", "")]


def test_the_bill_has_locknuts_and_unions() -> None:
    holes = planned("    - leg: 330\n", "RMC 1", "{fitting: threaded}", "{fitting: threaded}")
    assert [(p.item, p.count) for p in _fittings(holes)].count(("RMC 1 locknut", 2)) == 2
    assert [p.end_b.thread for p in holes.pieces] == ["own", "own", "cut"]
    hubs = planned("    - leg: 230\n", "RMC 1", "{fitting: hub}", "{fitting: hub}")
    items = [p.item for p in _fittings(hubs)]
    assert items.count("RMC 1 hub") == 2
    assert "RMC 1 union" in items
    assert "RMC 1 threaded coupling" not in items
