"""The four ways of a turn: on each surface, and what left and right are on a wall that one faces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot

from figures.kit import HEAD_PT, WIDTH_MM, Run, Sheet
from racewright.drawing.project import corner_view
from racewright.drawing.scene import Circle, Point, Polyline, Scene
from racewright.geometry.vector import Vec, along, cross

#: How a run's own axes stand in the room (x to the right along a wall that one faces, y into it, z up):
#: the heading of its first leg, and the normal of the surface that carries it.
WALL_RIGHT = ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
FLOOR = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
CEILING = ((1.0, 0.0, 0.0), (0.0, 0.0, -1.0))

_RADIUS = 70.0
_LEG = 300.0
_OFF = 8.0


def turn_run(way: str) -> Run:
    """A leg, a turn this way, a second leg."""
    first, second = {"leg": _LEG, "from": "stop", "to": "center"}, {"leg": 190, "from": "center", "to": "stop"}
    return Run([first, {"turn": way}, second], radius_mm=_RADIUS, stand_off=_OFF)


def placed(axes: tuple[Vec, Vec]) -> Callable[[Vec], Vec]:
    """From the run's own coordinates to the room's."""
    heading, normal = axes
    left = cross(normal, heading)

    def to_room(p: Vec) -> Vec:
        return along(along(along((0.0, 0.0, 0.0), heading, p[0]), left, p[1]), normal, p[2])

    return to_room


def on_a_wall() -> Scene:
    """The four turns of a run that goes to the right along a wall."""
    sheet = Sheet("The four turns of a run that goes to the right along a wall: left, right, away, toward", 128.0)
    told = {
        "left": "up the wall",
        "right": "down the wall",
        "away": "off the wall, along\nthe wall ahead",
        "toward": "around the\noutside corner",
    }
    for k, (way, where) in enumerate(told.items()):
        x, y = WIDTH_MM / 2.0 * (k % 2), 64.0 * (k // 2)
        _panel(sheet, way, (x, y))
        sheet.words(way, (x + 27.0, y + 50.0), size_pt=HEAD_PT, weight="bold")
        sheet.words(where, (x + 27.0, y + 54.5), size_pt=10.5)
    return sheet.scene()


def _panel(sheet: Sheet, way: str, origin: Point) -> None:
    """One turn on its wall, in half the sheet's width."""
    view = corner_view(32.0 if way == "toward" else -32.0, 24.0)
    room = placed(WALL_RIGHT)
    run = turn_run(way)
    sheet.look(
        lambda p: view.flat(room(p)),
        0.09,
        (origin[0] + (12.5 if way != "toward" else 14.5), origin[1] + (24.0 if way == "toward" else 28.0)),
    )
    end = _LEG + Run.outside_mm / 2.0 + _OFF
    if way == "toward":
        edge = _LEG - Run.outside_mm / 2.0 - _OFF
        sheet.face([(-60, -200, 0), (edge, -200, 0), (edge, 200, 0), (-60, 200, 0)], 0.93)
        sheet.face([(edge, -200, 0), (edge, 200, 0), (edge, 200, -240), (edge, -200, -240)], 0.8)
    else:
        long = end if way == "away" else _LEG + 110.0
        sheet.face([(-60, -200, 0), (long, -200, 0), (long, 200, 0), (-60, 200, 0)], 0.93)
        if way == "away":
            sheet.face([(end, -200, 0), (end, 200, 0), (end, 200, 260), (end, -200, 260)], 0.8)
    sheet.tube(run.points)
    _goes(sheet, run)


def _goes(sheet: Sheet, run: Run) -> None:
    """Arrows inside the conduit: the way the run goes, before the turn and behind it."""
    for start, end in ((run.points[0], run.route.corners[0].point), (run.points[-1], run.route.corners[0].point)):
        a, b = (sheet.at(start), sheet.at(end)) if start is run.points[0] else (sheet.at(end), sheet.at(start))
        p, q = (0.12, 0.55) if start is run.points[0] else (0.5, 0.92)
        sheet.arrow((a[0] + (b[0] - a[0]) * p, a[1] + (b[1] - a[1]) * p),
                    (a[0] + (b[0] - a[0]) * q, a[1] + (b[1] - a[1]) * q), 0.5)  # fmt: skip


def on_each_surface() -> Scene:
    """Somebody who walks along the run with the surface underfoot: on a wall, a floor, a ceiling."""
    sheet = Sheet(
        "Stand on the surface that carries the conduit and look along the run: on a wall, a floor, a ceiling", 216.0
    )
    _walker(sheet, "on a wall", WALL_RIGHT, 0.0)
    _walker(sheet, "on a floor", FLOOR, 72.0)
    _walker(sheet, "on a ceiling", CEILING, 144.0)
    return sheet.scene()


def _walker(sheet: Sheet, name: str, axes: tuple[Vec, Vec], top: float) -> None:
    view = corner_view(-38.0, 30.0 if axes is not CEILING else -30.0)
    room = placed(axes)
    sheet.look(lambda p: view.flat(room(p)), 0.12, (0.0, 0.0))
    far, wide = 430.0, 190.0
    corners: Sequence[Vec] = [(-190, -wide, 0), (far, -wide, 0), (far, wide, 0), (-190, wide, 0)]
    flat = [sheet.at(p) for p in corners]
    middle = (sum(p[0] for p in flat) / 4.0, sum(p[1] for p in flat) / 4.0)
    sheet.look(lambda p: view.flat(room(p)), 0.12, (WIDTH_MM / 2.0 - middle[0], top + 38.0 - middle[1]))
    sheet.face(corners, 0.92)
    tip = 250.0
    height = _OFF + Run.outside_mm / 2.0
    sheet.tube([(-190.0, 0.0, height), (tip, 0.0, height)])
    _figure(sheet)
    a = (tip, 0.0, height)
    ways: dict[str, Vec] = {"left": (0, 1, 0), "right": (0, -1, 0), "away": (0, 0, 1), "toward": (0, 0, -1)}
    for word, way in ways.items():
        p, q = sheet.at(along(a, way, 40.0)), sheet.at(along(a, way, 150.0))
        sheet.arrow(p, q)
        long = hypot(q[0] - p[0], q[1] - p[1])
        ux, uy = (q[0] - p[0]) / long, (q[1] - p[1]) / long
        anchor = "middle" if abs(ux) < 0.45 else ("start" if ux > 0.0 else "end")
        sheet.words(word, (q[0] + ux * 1.5, q[1] + uy * 1.5 + (4.0 if uy > 0.45 else 0.0 if uy < -0.45 else 1.4)),
                    size_pt=HEAD_PT, weight="bold", anchor=anchor)  # type: ignore[arg-type]  # fmt: skip
    sheet.words(name, (2.0, top + 6.0), size_pt=HEAD_PT, anchor="start")


def _figure(sheet: Sheet) -> None:
    """A walker of strokes, upright on the surface beside the conduit, arms out to both sides, facing along the run."""
    x, y = -95.0, 0.0
    foot = _OFF + Run.outside_mm
    joints: Sequence[Sequence[Vec]] = [
        [(x - 25, y, foot), (x, y, foot + 75), (x + 25, y, foot)],
        [(x, y, foot + 75), (x, y, foot + 150)],
        [(x, y + 75, foot + 135), (x, y, foot + 140), (x, y - 75, foot + 135)],
    ]
    for stroke in joints:
        sheet.items.append(Polyline(points=tuple(sheet.at(p) for p in stroke), width_mm=1.0, cap="round"))
    head = sheet.at((x, y, foot + 177.0))
    sheet.items.append(Circle(centre=head, radius_mm=3.0, fill=1.0, width_mm=1.0))
    sheet.arrow(sheet.at((x + 35, y, foot + 177.0)), sheet.at((x + 85, y, foot + 177.0)), 0.5)


#: What left and right are on a wall that one faces, by the way that the run goes.
FACING = {
    "right": ("up", "down"),
    "left": ("down", "up"),
    "up": ("left", "right"),
    "down": ("right", "left"),
}


def up_and_down() -> Scene:
    """A wall as one faces it, with a run each way: which turn goes up."""
    sheet = Sheet("On a wall that you face: which of left and right goes up, by the way that the run goes", 118.0)
    steps: dict[str, Point] = {"right": (1, 0), "left": (-1, 0), "up": (0, -1), "down": (0, 1)}
    for k, (going, (left, right)) in enumerate(FACING.items()):
        x, y = 27.0 + 54.0 * (k % 2), 31.0 + 59.0 * (k // 2)
        sheet.area([(x - 25.5, y - 20.0), (x + 25.5, y - 20.0), (x + 25.5, y + 26.0), (x - 25.5, y + 26.0)], 0.94)
        sheet.words(f"run goes {going}", (x, y - 22.5), weight="bold")
        ux, uy = steps[going]
        tip = (x + ux * 4.0, y + uy * 4.0 + 2.0)
        tail = (x - ux * 17.0, y - uy * 15.0 + 2.0)
        sheet.look(lambda p: (p[0], p[1]), 1.0, (0.0, 0.0))
        sheet.tube([(*tail, 0.0), (*tip, 0.0)], 5.0)
        sheet.arrow((tail[0] + ux * 3, tail[1] + uy * 3), (tip[0] - ux * 2, tip[1] - uy * 2), 0.5)
        for word, way in (("left", left), ("right", right)):
            vx, vy = steps[way]
            p = (tip[0] + vx * 4.0, tip[1] + vy * 4.0)
            q = (tip[0] + vx * 9.0, tip[1] + vy * 9.0)
            sheet.arrow(p, q)
            at = (q[0] + vx * 1.5, q[1] + 1.4) if vx else (q[0], q[1] + (5.0 if vy > 0 else -1.5))
            sheet.words(word, at, weight="bold", anchor="middle" if not vx else ("start" if vx > 0 else "end"))
    return sheet.scene()
