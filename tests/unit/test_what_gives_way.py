"""Which joint of a run gives way, which is made last, and what a piece meets while it is brought in: pieces by hand,
the answer in trade words."""

from __future__ import annotations

from math import cos, pi, radians

import pytest
from msgspec.structs import replace

from racewright.assembly.going_up import bars_of, going_up
from racewright.assembly.joints import Between, Joint, joints_of
from racewright.assembly.moves import Ends, Moved, moves_of
from racewright.assembly.order import COUPLING, NOT_POSSIBLE, Body, Seat, find_order
from racewright.assembly.part import Part
from racewright.assembly.put_up import PutUp, put_up
from racewright.bends.model import Bend, BentPiece
from racewright.budget import Budget
from racewright.catalogue.raceways import find_raceway
from racewright.fit.way_in import Solid, line_of
from racewright.geometry.solids import Cylinder
from racewright.geometry.vector import Frame, Vec, distance
from racewright.inspection.expansion import PistonSetting
from racewright.store.survey_file import survey_from_text
from racewright.survey.model import Survey

OD = 26.7
DOWN: Vec = (0.0, 0.0, -1.0)


def survey(raceway: str, fitting: str, *, fixed: bool = True) -> Survey:
    end = f"{{fitting: {fitting}{', fixed: true' if fixed else ''}}}"
    text = f"run:\n  name: press line\n  raceway: {raceway}\n  start: {end}\n  end: {end}\n  walk:\n    - leg: 90\n"
    return survey_from_text(text).survey


def bent(length: float, *bends: tuple[float, float, float], radius: float = 100.0) -> BentPiece:
    """Bends as start, angle and roll (degrees)."""
    return BentPiece(
        cut_length_mm=length,
        outside_diameter_mm=OD,
        bends=tuple(
            Bend(arc_start_mm=s, angle_rad=radians(a), roll_rad=radians(r), radius_mm=radius) for s, a, r in bends
        ),
    )


def part(piece: BentPiece, frame: Frame, start_mm: float = 0.0, inserts_mm: tuple[float, float] = (20.0, 20.0)) -> Part:
    return Part(
        piece=piece, frame=frame, start_mm=start_mm, first_bend=0, ends=("", ""), inserts_mm=inserts_mm, stock_mm=3048.0
    )


def in_a_row(*pieces: BentPiece) -> list[Part]:
    out: list[Part] = []
    frame, start = Frame(), 0.0
    for piece in pieces:
        out.append(part(piece, frame, start))
        frame, start = line_of(piece, frame).end_frame, start + piece.cut_length_mm
    return out


def bar(name: str, start: Vec, end: Vec) -> Solid:
    return Solid(name=name, solid=Cylinder(start=start, end=end, radius_mm=15.0))


# --- turned in


def turned(*others: Part) -> str:
    """What stops a 90 whose end B is turned into the coupling of the piece above it; its free leg is 500 mm long."""
    elbow = part(bent(400.0 + 50.0 * pi + 300.0, (400.0, 90.0, 180.0)), Frame(normal=DOWN))
    up = line_of(elbow.piece, elbow.frame).end_frame
    parts = [elbow, part(bent(900.0), up), *others]
    couplings = [Between(1000.0 * k, "threaded coupling") for k in range(1, len(parts))]
    return going_up(parts, joints_of(9000.0, ("none", "none"), couplings), [], Budget(0))[0].stopped_by[1]


@pytest.mark.parametrize(("away", "stops"), [(300.0, "piece 3"), (560.0, "")])
def test_a_piece_that_stands_in_the_circle_of_a_leg_stops_the_turn(away: float, stops: str) -> None:
    """A riser of the same run stands beside the axis: in the circle of the leg, or beyond it."""
    riser = part(bent(400.0), Frame((500.0 + away, 0.0, -200.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)))
    assert turned(riser) == stops


def middle_turned(*pieces: Part) -> str:
    couplings = [Between(1000.0, "threaded coupling"), Between(2000.0, "threaded coupling")]
    return going_up(pieces, joints_of(3000.0, ("none", "none"), couplings), [], Budget(0))[1].stopped_by[1]


def test_end_to_end_with_the_piece_that_it_faces_a_leg_still_turns() -> None:
    """The free end passes the end that it will face in the gap of the joint: 2 mm are no hindrance."""
    elbow = part(bent(400.0 + 50.0 * pi + 300.0, (400.0, 90.0, 180.0)), Frame(normal=DOWN))
    facing = part(bent(800.0), Frame((-802.0, 0.0, 0.0)))
    assert middle_turned(facing, elbow, part(bent(900.0), line_of(elbow.piece, elbow.frame).end_frame)) == ""


def test_what_a_leg_faces_stops_the_turn_where_it_reaches_across_the_circle() -> None:
    """A piece that comes back over the axis: what its free end faces goes on across the whole circle."""
    quarter = 50.0 * pi
    over = bent(200.0 + 3 * quarter + 200.0 + 300.0 + 400.0, (200.0, 90.0, 0.0), (400.0 + quarter, 90.0, 0.0),
                (700.0 + 2 * quarter, 90.0, 180.0))  # fmt: skip
    middle = part(over, Frame((200.0, 0.0, 400.0), normal=DOWN))
    below = line_of(middle.piece, middle.frame).end_frame
    assert below.axis == pytest.approx(DOWN)
    assert below.origin[0] == pytest.approx(0.0, abs=1e-6)
    for reach, stops in ((530.0, "piece 1"), (240.0, "")):
        facing = part(bent(reach), Frame((199.0 - reach, 0.0, 400.0)))
        assert middle_turned(facing, middle, part(bent(900.0), below)) == stops


def test_the_bars_of_a_bend_keep_to_its_arc() -> None:
    sweep = part(bent(200.0 + 200.0 * pi, (100.0, 90.0, 0.0), radius=400.0), Frame())
    line = line_of(sweep.piece, sweep.frame)
    ends = [b.solid for b in bars_of(sweep, 1) if isinstance(b.solid, Cylinder)]
    middles = [tuple(0.5 * (a + b) for a, b in zip(c.start, c.end, strict=True)) for c in ends]
    arc = [line.point_at(100.0 + 200.0 * pi * k / 64) for k in range(65)]
    # four chords of a 90: none is farther off the arc than a chord of 22.5 degrees is
    off = [min(distance(m, p) for p in arc) for m in middles[1:-1]]  # type: ignore[arg-type]
    assert max(off) < 400.0 * (1.0 - cos(radians(11.25))) + 1.0


# --- what gives way


def slips(straight_a: float, straight_b: float) -> PutUp:
    """Two bent pieces of EMT 3/4 between boxes that stay, and the straights at the joint between them."""
    one, other = bent(600.0, (440.0 - straight_a, 30.0, 0.0)), bent(600.0, (straight_b, 30.0, 0.0))
    one = replace(one, cut_length_mm=one.bends[0].arc_end_mm + straight_a)
    joints = joints_of(1200.0, ("set-screw", "set-screw"), [Between(600.0, "set-screw coupling")])
    return put_up(survey("EMT 3/4", "set-screw"), find_raceway("EMT", "3/4"), in_a_row(one, other), joints, [])


@pytest.mark.parametrize(
    ("straights", "goes_up"), [((30.0, 300.0), True), ((300.0, 30.0), True), ((30.0, 30.0), False)]
)
def test_a_slip_coupling_wants_one_straight_as_long_as_it_is(straights: tuple[float, float], goes_up: bool) -> None:
    """It is 1 5/8 in (41 mm) long and waits whole on one of the two ends."""
    up = slips(*straights)
    assert up.assembly.possible == goes_up
    if goes_up:
        assert [j.kind for j in up.joints if j.last] == ["slip coupling"]


def piston(open_mm: float) -> PistonSetting:
    return PistonSetting(
        travel_mm=100.0,
        takes_mm=50.0,
        open_mm=open_mm,
        least_mm=0.0,
        most_mm=100.0,
        day_c=10.0,
        day_in="C",
        per_kelvin_mm=1.0,
    )


def pistons(*open_mm: float | None) -> PutUp:
    """Straight pieces of PVC between sockets that stay; None: an ordinary coupling between two of them."""
    count = len(open_mm) + 1
    couplings = [
        Between(
            1000.0 * k, "socket coupling" if out is None else "expansion fitting", None if out is None else piston(out)
        )
        for k, out in enumerate(open_mm, start=1)
    ]
    joints = joints_of(1000.0 * count, ("socket", "socket"), couplings)
    raceway = find_raceway("PVC-40", "1")
    return put_up(survey("PVC-40 1", "socket"), raceway, in_a_row(*[bent(1000.0)] * count), joints, [])


def last_of(up: PutUp) -> list[tuple[int | None, str]]:
    assert up.assembly.possible
    return [(j.before, j.kind) for j in up.joints if j.last]


def test_a_piston_gives_way_where_it_stands_out_by_both_depths_of_the_piece_that_comes_last() -> None:
    """20 mm in its own socket, and held back by the 20 mm of its other end: 40 mm of room, whichever comes last."""
    assert last_of(pistons(None, 41.0)) == [(2, "expansion fitting")]
    # 39 mm is not room enough, though it is more than one depth: an ordinary coupling is made a slip coupling
    assert last_of(pistons(None, 39.0)) == [(1, "slip coupling")]
    # and with nothing else that could give, it cannot go up
    assert not pistons(39.0).assembly.possible


def test_of_two_pistons_one_gives_way_and_the_run_is_not_split_at_both() -> None:
    up = pistons(60.0, None, 60.0)
    closes = [move.joints for move in up.assembly.moves if move.act == "close"]
    assert len(closes) == 1


@pytest.mark.parametrize(("behind", "goes_up"), [(40.0, False), (75.0, True)])
def test_one_push_into_two_depths_has_to_clear_what_stands_behind_by_the_deeper(behind: float, goes_up: bool) -> None:
    """A U into two boxes that stay, 20 mm into the one and 55 mm into the other: held back by 55 mm before the push."""
    u = bent(900.0 + 100.0 * pi, (300.0, 90.0, 0.0), (600.0 + 50.0 * pi, 90.0, 0.0))
    back = 300.0 + 100.0 + 0.5 * OD
    pipe = bar("pipe", (back + behind + 15.0, -400.0, 200.0), (back + behind + 15.0, 400.0, 200.0))
    joints = joints_of(u.cut_length_mm, ("set-screw", "set-screw"), [])
    place = part(u, Frame(), inserts_mm=(20.0, 55.0))
    up = put_up(survey("EMT 3/4", "set-screw"), find_raceway("EMT", "3/4"), [place], joints, [pipe])
    assert up.assembly.possible == goes_up
    if goes_up:
        assert [(m.act, m.joints, m.by_mm) for m in up.assembly.moves] == [("push", (1, 2), 55.0)]


# --- the moves


def moved(joints: tuple[Joint, ...], count: int, seats: tuple[Seat, Seat], costs: list[float], gap_mm: float) -> Moved:
    order = find_order([Body(1000.0, straight=True)] * count, costs, seats)
    ends = [Ends(joints=(k, k + 1), inserts_mm=(20.0, 20.0), in_line=1.0, one_way=False) for k in range(count)]
    return moves_of(order, ends, joints, gap_mm=gap_mm, slip_mm=24.0)


@pytest.mark.parametrize(("gap_mm", "past_mm"), [(6.0, 14.0), (19.8, 0.0), (31.0, 0.0)])
def test_an_end_passes_the_one_that_it_will_face_by_its_depth_less_the_gap(gap_mm: float, past_mm: float) -> None:
    """With more gap than depth nothing has to pass; a fifth of a millimeter is no passing."""
    fixed = Seat("seat", NOT_POSSIBLE)
    joints = joints_of(2000.0, ("set-screw", "set-screw"), [Between(1000.0, "slip coupling")])
    told = moved(joints, 2, (fixed, fixed), [COUPLING], gap_mm)
    assert [m.past_mm for m in told.moves if m.act == "push"] == [0.0, pytest.approx(past_mm)]


def test_the_joint_beside_the_piece_that_came_last_is_made_last() -> None:
    """A hub that gives way at end A, and a union toward the second piece: its nut is tightened after the hub's box."""
    joints = joints_of(2000.0, ("hub", "hub"), [Between(1000.0, "union")])
    order = find_order([Body(1000.0, straight=False, by_a=False, by_b=False), Body(1500.0, straight=True)], [COUPLING],
                       (Seat("seat", 1.5), Seat("seat", NOT_POSSIBLE)))  # fmt: skip
    assert order.gives == (True, False)
    ends = [Ends(joints=(k, k + 1), inserts_mm=(20.0, 20.0), in_line=1.0, one_way=False) for k in range(2)]
    told = moves_of(order, ends, joints, gap_mm=0.0, slip_mm=24.0)
    came = [m.piece for m in told.moves if m.act in ("place", "turn")]
    near = [j + 1 for j in ends[came[-1] - 1].joints if j is not None]
    closes = [m.joints[0] for m in told.moves if m.act == "close"]
    assert len(closes) == 2
    assert closes[-1] in near
    assert closes[0] not in near
    assert told.last == closes[-1] - 1


def test_a_piece_that_is_only_held_in_place_needs_the_depth_of_each_fitting_by_itself() -> None:
    """Both fittings go onto it: neither end holds the other back."""
    order = find_order(
        [Body(900.0, straight=False, by_a=False, by_b=False)], [], (Seat("seat", 0.5), Seat("seat", 0.5))
    )
    ends = [Ends(joints=(0, 1), inserts_mm=(20.0, 31.0), in_line=1.0, one_way=False)]
    told = moves_of(order, ends, joints_of(900.0, ("set-screw", "set-screw"), []), gap_mm=0.0, slip_mm=24.0)
    assert [(m.act, m.by_mm) for m in told.moves if m.act in ("slide back", "place")] == [
        ("slide back", 20.0), ("slide back", 31.0), ("place", 0.0),
    ]  # fmt: skip
