"""A piece between two others that stand comes in sideways, or cannot."""

from __future__ import annotations

from math import pi

import pytest

from racewright.assembly import put_up as putting_up
from racewright.assembly.going_up import GoingUp, going_up
from racewright.assembly.joints import Between, Move, joints_of
from racewright.assembly.part import Part
from racewright.assembly.sideways import Sideways, held_sideways
from racewright.bends.model import Bend, BentPiece
from racewright.budget import PUTTING_UP, Budget
from racewright.errors import Finding
from racewright.fit.way_in import Solid, line_of
from racewright.geometry.solids import Box, HalfSpace
from racewright.geometry.vector import Frame
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

OD = 23.0
WALL = Solid(name="wall", solid=HalfSpace(point=(0.0, 0.0, -0.5 * OD), normal=(0.0, 0.0, 1.0)), surface=True)
#: A corner into the wall's own plane: 90 degrees to the left.
ELBOW = Bend(arc_start_mm=400.0, angle_rad=pi / 2.0, roll_rad=-pi / 2.0, radius_mm=120.0)


def slab(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> Solid:
    dx, dy, dz = (b - a for a, b in zip(low, high, strict=True))
    return Solid(name=name, solid=Box(corner=low, edge_x=(dx, 0, 0), edge_y=(0, dy, 0), edge_z=(0, 0, dz)))


OVER = slab("shelf", (1500.0, -300.0, 14.0), (1600.0, 300.0, 90.0))
LEFT = slab("left post", (1500.0, 20.0, -11.0), (1600.0, 60.0, 13.0))
RIGHT = slab("right post", (1500.0, -60.0, -11.0), (1600.0, -20.0, 13.0))


def parts(*pieces: BentPiece) -> list[Part]:
    out, frame, start = [], Frame(), 0.0
    for piece in pieces:
        out.append(
            Part(
                piece=piece, frame=frame, start_mm=start, first_bend=0, ends=("", ""), inserts_mm=(20.0, 20.0),
                stock_mm=3048.0,
            )
        )  # fmt: skip
        frame, start = line_of(piece, frame).end_frame, start + piece.cut_length_mm
    return out


def straight(length: float, *bends: Bend) -> BentPiece:
    return BentPiece(cut_length_mm=length, outside_diameter_mm=OD, bends=bends)


def middle_last(solids: list[Solid], middle: BentPiece, act: str = "place") -> tuple[Sideways, ...]:
    """The middle of three pieces, both of whose joints give way, goes up last."""
    couplings = [Between(1000.0, "slip coupling"), Between(1000.0 + middle.cut_length_mm, "slip coupling")]
    joints = joints_of(2000.0 + middle.cut_length_mm, ("none", "none"), couplings)
    pieces: list[GoingUp] = going_up(parts(straight(1000.0), middle, straight(1000.0)), joints, solids, Budget(0))
    moves = [Move(piece=1, act="place"), Move(piece=3, act="place")]
    moves.append(Move(piece=2, act="place") if act == "place" else Move(piece=2, act="push", joints=(1,), by_mm=20.0))
    return tuple(held_sideways(pieces, joints, moves, solids, Budget(PUTTING_UP)))


@pytest.mark.parametrize(
    ("around", "hits"),
    [
        ([], ""),
        ([OVER], ""),
        ([LEFT, RIGHT], ""),
        ([OVER, LEFT], ""),
        ([OVER, RIGHT], ""),
        ([OVER, LEFT, RIGHT], "shelf"),
    ],
)
def test_off_the_wall_or_along_it_and_not_where_both_are_shut(around: list[Solid], hits: str) -> None:
    for act in ("place", "push"):
        told = middle_last([WALL, *around], straight(1500.0), act)
        assert told == ((Sideways(2, hits, surface=False),) if hits else ())


def test_a_bent_piece_between_two_that_stand_has_only_what_neither_end_shuts() -> None:
    """Ends toward -x and +y: along the wall only away from both, to +x and -y, and off the wall."""
    elbow = straight(900.0, ELBOW)
    lid = slab("lid", (900.0, -400.0, 14.0), (1700.0, 700.0, 60.0))
    assert middle_last([WALL, lid], elbow) == ()
    curb = slab("curb", (1640.0, -20.0, -11.0), (1700.0, 300.0, 13.0))
    sill = slab("sill", (1100.0, -60.0, -11.0), (1400.0, -20.0, 13.0))
    for shut in ([lid, curb], [lid, sill], [curb, sill]):
        assert middle_last([WALL, *shut], elbow) == ()
    assert middle_last([WALL, lid, curb, sill], elbow) == (Sideways(2, "lid", surface=False),)


def test_with_a_free_end_it_comes_along_its_own_line() -> None:
    joints = joints_of(2500.0, ("none", "none"), [Between(1000.0, "set-screw coupling")])
    solids = [WALL, OVER, LEFT, RIGHT]
    pieces = going_up(parts(straight(1000.0), straight(1500.0)), joints, solids, Budget(0))
    moves = [Move(piece=1, act="place"), Move(piece=2, act="push", joints=(1,), by_mm=20.0)]
    assert tuple(held_sideways(pieces, joints, moves, solids, Budget(PUTTING_UP))) == ()


def findings(*around: str, rule: str = "assembly.sideways") -> list[Finding]:
    ends = "".join(f"  {end}: {{fitting: compression, fixed: true}}\n" for end in ("start", "end"))
    things = "".join(f"        - keep_clear: {{{thing}}}\n" for thing in around)
    text = f"run:\n  name: cold store\n  raceway: EMT 3/4\n{ends}  walk:\n    - leg: 181\n      features:\n{things}"
    return [f for f in plan_run(survey_from_text(text).survey).findings if f.rule == rule]


def test_a_plan_says_what_the_last_piece_would_hit() -> None:
    beam = "name: beam, over: square, center: 52, width: 3, height: 9, lift: 1 1/2, depth: 28"
    sills = [
        f"name: {side} sill, over: square, center: 52, width: 3, height: 1, side: {at}, depth: 2"
        for side, at in (("left", "2"), ("right", "-2"))
    ]
    assert findings(beam, sills[0]) == findings(*sills) == []
    (told,) = findings(beam, *sills)
    assert told.severity == "caution"
    assert told.values == {"hits": "beam"}
    assert "it would hit beam" in told.message
    assert "or put beam up after it" in told.message


def test_what_is_not_looked_at_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    beam = "name: beam, over: square, center: 52, width: 3, height: 9, lift: 1 1/2, depth: 28"
    assert findings(beam, rule="assembly.search") == []
    monkeypatch.setattr(putting_up, "PUTTING_UP", 1)
    (told,) = findings(beam, rule="assembly.search")
    assert told.severity == "info"
    assert "not all of the pieces that come in sideways were looked at" in told.message


@pytest.mark.parametrize("most", [0, 1, 3])
def test_no_more_is_looked_at_than_the_budget_has(most: int) -> None:
    joints = joints_of(3500.0, ("none", "none"), [Between(at, "set-screw coupling") for at in (1000.0, 2500.0)])
    solids = [WALL, OVER, LEFT, RIGHT]
    pieces = going_up(parts(straight(1000.0), straight(1500.0), straight(1000.0)), joints, solids, Budget(0))
    moves = [Move(piece=1, act="place"), Move(piece=3, act="place"), Move(piece=2, act="place", joints=(1, 2)[:1])]
    budget = Budget(most)
    assert tuple(held_sideways(pieces, joints, moves, solids, budget)) == ()
    assert budget.spent
    # one way past each thing, once it is begun
    assert budget.done <= most + 40
