"""What is measured of the things met on a leg: heights, rise and shift, where an offset starts and is done."""

from __future__ import annotations

from typing import Any

from figures.kit import HEAD_PT, WIDTH_MM, Run, Sheet, around
from racewright.drawing.scene import Point, Scene
from racewright.geometry.chain import Arc
from racewright.geometry.vector import Vec

HALF = Run.outside_mm / 2.0
_OFF = 12.0
_STRAP = _OFF + HALF


def side(p: Vec) -> Point:
    """Seen from the side: the surface underfoot is below."""
    return (p[0], -p[2])


def above(p: Vec) -> Point:
    """Seen from above the surface, along the run to the right: left is up."""
    return (p[0], -p[1])


def leg_run(feature: dict[str, Any], radius_mm: float = 100.0) -> Run:
    """One leg, measured from the conduit's end, with one thing on it."""
    leg = {"leg": 560, "from": "stop", "to": "stop", "features": [feature]}
    return Run([leg], radius_mm=radius_mm, stand_off=_OFF)


def arc_places(run: Run) -> tuple[float, float]:
    """Where the first arc begins and the last one ends, along the leg."""
    arcs = [s for s in run.line.segments if isinstance(s, Arc)]
    return run.line.point_at(arcs[0].start_s)[0], run.line.point_at(arcs[-1].end_s)[0]


OFFSET: dict[str, Any] = {"rise": 120, "starts_at": 120, "angle": 30}
ROLLING: dict[str, Any] = {"rise": 90, "shift": 110, "side": "left", "starts_at": 120, "angle": 30}


def offset() -> Scene:
    """An offset's rise, and the three readings that can place it."""
    sheet = Sheet(
        "An offset: its rise from middle line to middle line, and where it starts, is half way and is done", 82.0
    )
    run = leg_run({"offset": OFFSET})
    sheet.look(side, 0.165, (7.0, 43.0))
    _floor(sheet, 2.0, 106.0)
    sheet.tube(run.points)
    low, high = run.points[0][2], run.points[-1][2]
    a, b = arc_places(run)
    _between(sheet, (0.0, low), (560.0, low))
    _between(sheet, (b - 40.0, high), (590.0, high))
    x = 545.0
    sheet.size(sheet.at((x, 0, low)), sheet.at((x, 0, high)), "rise")
    bottom = sheet.at((0, 0, 0))[1]
    for k, (word, at) in enumerate({"starts_at": a, "middle_at": (a + b) / 2.0, "done_by": b}.items()):
        y = bottom + 9.0 + 8.5 * k
        _drop(sheet, at, {"starts_at": low, "middle_at": (low + high) / 2.0, "done_by": high}[word], y + 2.0)
        sheet.size((sheet.at((0, 0, 0))[0], y), (sheet.at((at, 0, 0))[0], y), word, side="after")
    _drop(sheet, 0.0, low, bottom + 28.0)
    sheet.words("the tape's zero: what the leg is measured from", (5.0, bottom + 34.0), anchor="start")
    return sheet.scene()


def rolling() -> Scene:
    """A rolling offset from the side and from above: rise and shift."""
    sheet = Sheet("A rolling offset: rise is away from the surface, shift is to the side", 96.0)
    run = leg_run({"offset": ROLLING})
    sheet.look(side, 0.165, (7.0, 33.0))
    sheet.words("from the side", (3.0, 6.0), anchor="start")
    _floor(sheet, 2.0, 106.0)
    sheet.tube(run.points)
    low, high = run.points[0], run.points[-1]
    _between(sheet, (0.0, low[2]), (560.0, low[2]))
    _between(sheet, (360.0, high[2]), (560.0, high[2]))
    sheet.size(sheet.at((535.0, 0, low[2])), sheet.at((535.0, 0, high[2])), "rise")
    sheet.words("from above", (3.0, 48.0), anchor="start")
    sheet.area([(2.0, 50.5), (106.0, 50.5), (106.0, 94.0), (2.0, 94.0)], 0.94)
    sheet.look(above, 0.165, (7.0, 82.0))
    sheet.tube(run.points)
    line = [sheet.at((x, 0, 0)) for x in (0.0, 560.0)]
    sheet.middle(line)
    sheet.middle([sheet.at((360.0, high[1], 0)), sheet.at((560.0, high[1], 0))])
    sheet.size(sheet.at((535.0, 0, 0)), sheet.at((535.0, high[1], 0)), "shift")
    sheet.words("side: left", (56.0, 58.0), weight="bold", anchor="end")
    sheet.arrow((59.0, 61.0), (59.0, 54.0))
    return sheet.scene()


PIPE: dict[str, Any] = {
    "centre": 280,
    "over": "round",
    "height": 135,
    "width": 100,
    "clearance": 12,
    "angle": 45,
    "bends": "3",
}


def saddle() -> Scene:
    """A saddle over a pipe: what is measured of the pipe, and the rise that is worked out."""
    sheet = Sheet("A saddle over a pipe: center, height, width and lift of the pipe; clearance and rise", 92.0)
    run = leg_run({"saddle": PIPE}, radius_mm=75.0)
    sheet.look(side, 0.165, (7.0, 57.0))
    _floor(sheet, 2.0, 106.0)
    sheet.tube(run.points)
    top, wide = float(PIPE["height"]), float(PIPE["width"])
    lift, centre = top - wide, float(PIPE["centre"])
    sheet.block(around(sheet.at((centre, 0, top - wide / 2.0)), wide / 2.0 * sheet.scale))
    bottom = sheet.at((0, 0, 0))[1]
    left, right = centre - 190.0, centre + 150.0
    for x, z in ((left, top), (right, lift)):
        sheet.thin(sheet.at((min(x, centre), 0, z)), sheet.at((max(x, centre), 0, z)))
    apex = max(run.points, key=lambda p: p[2])[2]
    sheet.size(sheet.at((left + 10.0, 0, 0)), sheet.at((left + 10.0, 0, top)), "height", side="after")
    sheet.size(sheet.at((right - 25.0, 0, 0)), sheet.at((right - 25.0, 0, lift)), "lift", side="after")
    _drop(sheet, centre, top, bottom + 20.0)
    sheet.size((sheet.at((0, 0, 0))[0], bottom + 18.0), (sheet.at((centre, 0, 0))[0], bottom + 18.0), "center")
    for x in (centre - wide / 2.0, centre + wide / 2.0):
        _drop(sheet, x, top - wide / 2.0, bottom + 11.0)
    a, b = (sheet.at((x, 0, 0))[0] for x in (centre - wide / 2.0, centre + wide / 2.0))
    sheet.size((a, bottom + 9.0), (b, bottom + 9.0), "width", side="after")
    low = run.points[0][2]
    _between(sheet, (20.0, low), (545.0, low))
    sheet.thin(sheet.at((centre, 0, apex)), sheet.at((545.0, 0, apex)))
    sheet.size(sheet.at((525.0, 0, low)), sheet.at((525.0, 0, apex)), "rise")
    x, y = sheet.at((centre, 0, top))
    sheet.words("clearance", (19.0, 9.0), anchor="start", weight="bold")
    sheet.thin((42.0, 8.0), (x, y - 0.5 * float(PIPE["clearance"]) * sheet.scale))
    _drop(sheet, 0.0, low, bottom + 20.0)
    sheet.words(
        "The rise is worked out; write it only without the pipe.", (3.0, bottom + 30.0), anchor="start", size_pt=10.0
    )
    return sheet.scene()


BOX: dict[str, Any] = {"starts_at": 70, "angle": 22.5}
KNOCKOUT_MM = 100.0


def box_run(placed: dict[str, Any]) -> Run:
    """The leg out of the box, its box offset placed as told."""
    walk = [{"leg": 470, "from": "face", "to": "stop", "features": [{"box_offset": placed}]}]
    start = {"fitting": "set-screw", "height": KNOCKOUT_MM}
    return Run(walk, radius_mm=80.0, insert_mm=30.0, start=start, stand_off=_OFF)


def box() -> Scene:
    """A knockout's height, the strap's stand-off, and the box offset between the two."""
    sheet = Sheet(
        "At a box: the knockout's height above the surface, the stand-off of the straps, the box offset", 76.0
    )
    run = box_run(BOX)
    sheet.look(side, 0.165, (27.0, 50.0))
    _floor(sheet, 2.0, 106.0)
    sheet.area(
        [sheet.at((-120, 0, 2)), sheet.at((-30, 0, 2)), sheet.at((-30, 0, 195)), sheet.at((-120, 0, 195))], 0.88, 0.6
    )
    sheet.words("box", sheet.at((-75, 0, 150)))
    sheet.tube(run.points)
    half = HALF + 9.0
    sheet.area(
        [sheet.at((x, 0, KNOCKOUT_MM + z)) for x, z in ((-30, half), (0, half), (0, -half), (-30, -half))], 0.75, 0.45
    )
    sheet.middle([sheet.at((-105, 0, KNOCKOUT_MM)), sheet.at((150, 0, KNOCKOUT_MM))])
    sheet.size(sheet.at((-75, 0, 0)), sheet.at((-75, 0, KNOCKOUT_MM)), "height")
    strap = 350.0
    sheet.block([sheet.at((strap + x, 0, z)) for x, z in ((-14, 0), (14, 0), (14, _OFF), (-14, _OFF))])
    sheet.thin(sheet.at((strap - 20, 0, _OFF)), sheet.at((460, 0, _OFF)))
    sheet.size(sheet.at((445, 0, 0)), sheet.at((445, 0, _OFF)), "")
    sheet.words("stand_off", (104.0, sheet.at((0, 0, 0))[1] + 9.5), weight="bold", anchor="end")
    sheet.words("strap", sheet.at((strap, 0, _OFF + 2.0 * HALF + 14.0)))
    a, b = arc_places(run)
    bottom = sheet.at((0, 0, 0))[1]
    zero = sheet.at((0, 0, 0))[0]
    _drop(sheet, 0.0, KNOCKOUT_MM - half, bottom + 20.0)
    _drop(sheet, a, KNOCKOUT_MM, bottom + 11.0)
    _drop(sheet, b, _STRAP, bottom + 20.0)
    sheet.size((zero, bottom + 9.0), (sheet.at((a, 0, 0))[0], bottom + 9.0), "starts_at", side="after")
    sheet.size((zero, bottom + 18.0), (sheet.at((b, 0, 0))[0], bottom + 18.0), "or done_by", side="after")
    return sheet.scene()


KICK: dict[str, Any] = {"rise": 110, "toward": "left", "starts_at": 150}


def kick_run() -> Run:
    """A kick on the first leg, then a 90 off the surface."""
    leg = {"leg": 520, "from": "stop", "to": "center", "features": [{"kick": KICK}]}
    return Run([leg, {"turn": "away"}, {"leg": 200, "from": "center", "to": "stop"}], stand_off=_OFF)


def kick() -> Scene:
    """A kick, seen from above: aside by its rise at the next turn."""
    sheet = Sheet("A kick, seen from above: one bend, aside by the rise where the next turn is", 62.0)
    run = kick_run()
    sheet.area([(2.0, 2.0), (106.0, 2.0), (106.0, 60.0), (2.0, 60.0)], 0.94)
    sheet.look(above, 0.165, (7.0, 38.0))
    sheet.tube(run.points)
    end = run.points[-1]
    sheet.area(around(sheet.at(end), HALF * sheet.scale), 0.75, 0.5)
    sheet.middle([sheet.at((0, 0, 0)), sheet.at((575, 0, 0))])
    sheet.thin(sheet.at(end), sheet.at((580, end[1], 0)))
    sheet.size(sheet.at((560, 0, 0)), sheet.at((560, end[1], 0)), "rise")
    sheet.words("the turn,\nup out of the picture", (104.0, 8.0), anchor="end")
    a, _ = arc_places(run)
    sheet.line(sheet.at((a, 20, 0)), (sheet.at((a, 0, 0))[0], 53.0), 0.3, (1.4, 0.9))
    sheet.line(sheet.at((0, -HALF, 0)), (sheet.at((0, 0, 0))[0], 53.0), 0.3, (1.4, 0.9))
    sheet.size((sheet.at((0, 0, 0))[0], 51.0), (sheet.at((a, 0, 0))[0], 51.0), "starts_at", side="after")
    sheet.words("toward: left", (32.0, 13.0), weight="bold", anchor="end")
    sheet.arrow((36.0, 17.0), (36.0, 7.0))
    return sheet.scene()


CLEAR: dict[str, Any] = {
    "centre": 300,
    "over": "square",
    "height": 150,
    "width": 120,
    "lift": 80,
    "side": -110,
    "depth": 90,
}


def keep_clear() -> Scene:
    """A thing beside the run, from the side and from above."""
    sheet = Sheet(
        "Something to keep clear of: center, height, lift and width from the side; side and depth from above", 128.0
    )
    run = leg_run({"keep_clear": CLEAR})
    centre, top, wide, lift = (float(CLEAR[word]) for word in ("centre", "height", "width", "lift"))
    sheet.words("from the side", (3.0, 6.0), anchor="start")
    sheet.look(side, 0.165, (7.0, 38.0))
    _floor(sheet, 2.0, 106.0)
    sheet.tube(run.points)
    a, b = centre - wide / 2.0, centre + wide / 2.0
    sheet.block([sheet.at((x, 0, z)) for x, z in ((a, lift), (b, lift), (b, top), (a, top))])
    sheet.thin(sheet.at((a, 0, top)), sheet.at((a - 110, 0, top)))
    sheet.thin(sheet.at((b, 0, lift)), sheet.at((b + 110, 0, lift)))
    sheet.size(sheet.at((a - 90, 0, 0)), sheet.at((a - 90, 0, top)), "height", side="after")
    sheet.size(sheet.at((b + 80, 0, 0)), sheet.at((b + 80, 0, lift)), "lift")
    bottom = sheet.at((0, 0, 0))[1]
    _drop(sheet, 0.0, _STRAP, bottom + 18.0)
    _drop(sheet, centre, lift, bottom + 18.0)
    sheet.size((sheet.at((0, 0, 0))[0], bottom + 16.0), (sheet.at((centre, 0, 0))[0], bottom + 16.0), "center")
    for x in (a, b):
        _drop(sheet, x, lift, bottom + 10.0)
    sheet.size((sheet.at((a, 0, 0))[0], bottom + 8.0), (sheet.at((b, 0, 0))[0], bottom + 8.0), "width", side="after")
    sheet.words("from above", (3.0, 67.0), anchor="start")
    sheet.area([(2.0, 70.0), (106.0, 70.0), (106.0, 126.0), (2.0, 126.0)], 0.94)
    sheet.look(above, 0.165, (7.0, 85.0))
    sheet.tube(run.points)
    sheet.middle([sheet.at((0, 0, 0)), sheet.at((560, 0, 0))])
    away, deep = float(CLEAR["side"]), float(CLEAR["depth"])
    sheet.block([sheet.at((x, away + y, 0)) for x, y in ((a, -deep / 2), (b, -deep / 2), (b, deep / 2), (a, deep / 2))])
    sheet.middle([sheet.at((a - 15, away, 0)), sheet.at((b + 90, away, 0))])
    sheet.size(sheet.at((b + 70, 0, 0)), sheet.at((b + 70, away, 0)), "side")
    for y in (-deep / 2.0, deep / 2.0):
        sheet.thin(sheet.at((a, away + y, 0)), sheet.at((a - 70, away + y, 0)))
    sheet.size(sheet.at((a - 50, away - deep / 2, 0)), sheet.at((a - 50, away + deep / 2, 0)), "depth")
    sheet.words("here side is written -: right of the run", (54.0, 122.0), size_pt=HEAD_PT - 2.5)
    return sheet.scene()


def _floor(sheet: Sheet, left: float, right: float) -> None:
    y = sheet.at((0, 0, 0))[1]
    sheet.ground((left, y), (right, y))
    assert right < WIDTH_MM


def _between(sheet: Sheet, a: Point, b: Point) -> None:
    """The middle line of a straight, from (along, height) to (along, height)."""
    sheet.middle([sheet.at((a[0], 0, a[1])), sheet.at((b[0], 0, b[1]))])


def _drop(sheet: Sheet, x: float, z: float, to: float) -> None:
    """A dashed line down from a place of the leg."""
    px, py = sheet.at((x, 0, z))
    sheet.line((px, py), (px, to), 0.3, (1.4, 0.9))
