"""What a leg is measured to: the words of `from` and `to`, at an end, at a turn up a wall, around an outside corner."""

from __future__ import annotations

from figures.kit import WIDTH_MM, Run, Sheet
from racewright.drawing.scene import Scene

HALF = Run.outside_mm / 2.0

#: The corner of the axes at the turn, from the face that the tape starts at; the room between conduit and surfaces.
CORNER_MM = 330.0
GAP_MM = 34.0

#: What a tape that starts at the face reads at each word, at a turn up the wall ahead.
AT_TURN_MM = {
    "inside": CORNER_MM - HALF,
    "center": CORNER_MM,
    "back": CORNER_MM + HALF,
    "wall": CORNER_MM + HALF + GAP_MM,
}
#: The same around an outside corner.
AT_EDGE_MM = {
    "edge": CORNER_MM - HALF - GAP_MM,
    "inside": CORNER_MM - HALF,
    "center": CORNER_MM,
    "back": CORNER_MM + HALF,
}


def turn_run(to: str) -> Run:
    """The run up the wall, its first leg measured from the face to this word."""
    up = {"leg": 175, "from": "center", "to": "stop"}
    walk = [{"leg": AT_TURN_MM[to], "from": "face", "to": to}, {"turn": "away", "gap": GAP_MM}, up]
    return Run(walk, insert_mm=40.0, stand_off=GAP_MM)


def edge_run(to: str) -> Run:
    """The run around the corner, its first leg measured from the face to this word."""
    down = {"leg": 215, "from": "center", "to": "stop"}
    walk = [{"leg": AT_EDGE_MM[to], "from": "face", "to": to}, {"turn": "toward", "gap": GAP_MM}, down]
    return Run(walk, insert_mm=40.0, stand_off=GAP_MM)


def at_an_end() -> Scene:
    """The face and the stop of an end's fitting, cut open."""
    sheet = Sheet("A leg at an end: measured to the face of the fitting, or to the stop where the conduit ends", 62.0)
    top, low, y = 14.0, 44.0, 29.0
    sheet.area([(3.0, top), (24.0, top), (24.0, low), (3.0, low)], 0.9, 0.6)
    sheet.words("box", (13.5, 20.0))
    stop, face, wide = 30.0, 46.0, 5.0
    for sign in (-1.0, 1.0):  # the fitting's body, cut open: thick up to the stop, thin where the conduit goes in
        sheet.block([(20.0, y + sign * 3.6), (stop, y + sign * 3.6), (stop, y + sign * wide), (face, y + sign * wide),
                     (face, y + sign * 7.6), (27.0, y + sign * 7.6), (27.0, y + sign * 10.0), (24.0, y + sign * 10.0),
                     (24.0, y + sign * 6.4), (20.0, y + sign * 6.4)])  # fmt: skip
    sheet.area([(stop, y - wide + 0.4), (104.0, y - wide + 0.4), (104.0, y + wide - 0.4), (stop, y + wide - 0.4)], 1.0)
    sheet.middle([(stop - 4.0, y), (107.0, y)])
    sheet.words("conduit", (76.0, y - 7.0))
    sheet.words("fitting", (37.0, 9.0))
    sheet.thin((37.0, 10.2), (37.0, y - 7.6))
    for x, word in ((stop, "stop"), (face, "face")):
        sheet.line((x, y - 3.0), (x, 57.0), 0.3, (1.4, 0.9))
        sheet.words(word, (x, 61.0), weight="bold")
    sheet.size((face, 51.0), (104.0, 51.0), "from face", weight="regular")
    sheet.size((stop, 56.0), (104.0, 56.0), "from stop", weight="regular")
    sheet.size((stop, 46.0), (face, 46.0), "insertion", weight="regular", side="after")
    return sheet.scene()


def at_a_turn() -> Scene:
    """Inside, center, back and wall at a turn up the wall ahead."""
    sheet = Sheet("A leg to a turn up the wall ahead: measured to inside, center, back or wall", 104.0)
    run = turn_run("back")
    _side(sheet, scale=0.205, left=10.0, low=53.0)
    surface = sheet.at((0.0, 0.0, 0.0))[1]
    wall = sheet.at((AT_TURN_MM["wall"], 0.0, 0.0))[0]
    sheet.ground((wall, 5.0), (wall, surface + 3.4), thick_mm=-3.4)
    sheet.ground((2.0, surface), (wall, surface))
    _conduit(sheet, run)
    sheet.words("wall\nahead", (wall + 5.0, 12.0), anchor="start")
    sheet.words("the surface it lies on", (12.0, surface + 8.0), anchor="start")
    _ladder(sheet, AT_TURN_MM, surface + 8.0)
    return sheet.scene()


def at_an_edge() -> Scene:
    """Edge, inside, center and back around an outside corner."""
    sheet = Sheet("A leg to a turn around an outside corner: measured to edge, inside, center or back", 99.0)
    run = edge_run("back")
    _side(sheet, scale=0.205, left=10.0, low=26.0)
    surface = sheet.at((0.0, 0.0, 0.0))[1]
    edge = sheet.at((AT_EDGE_MM["edge"], 0.0, 0.0))[0]
    sheet.ground((2.0, surface), (edge, surface))
    sheet.ground((edge, surface), (edge, 56.0))
    _conduit(sheet, run)
    sheet.words("outside corner", (edge - 6.0, surface + 12.0), anchor="end")
    _ladder(sheet, AT_EDGE_MM, 57.0)
    return sheet.scene()


def _side(sheet: Sheet, *, scale: float, left: float, low: float) -> None:
    sheet.look(lambda p: (p[0], -p[2]), scale, (left, low))


def _conduit(sheet: Sheet, run: Run) -> None:
    """The conduit, its fitting at the start, the middle lines of both straights up to their corner."""
    sheet.tube(run.points)
    corner = run.route.corners[0].point
    first, last = sheet.at(run.points[0]), sheet.at(run.points[-1])
    x, y = sheet.at(corner)
    sheet.middle([(first[0] + 10.0, y), (x, y), (x, last[1] + (6.0 if last[1] < y else -6.0))])
    face = sheet.at((0.0, 0.0, 0.0))[0]
    half = HALF * sheet.scale + 1.6
    sheet.area([(face - 7.0, y - half), (face, y - half), (face, y + half), (face - 7.0, y + half)], 0.75, 0.45)


def _ladder(sheet: Sheet, words: dict[str, float], top: float) -> None:
    """One size below the other, each from the face to the line that its word means."""
    start = sheet.at((0.0, 0.0, 0.0))[0]
    lift = sheet.at((0.0, 0.0, 0.0))[1]
    low = top + 8.0 + 8.0 * (len(words) - 1)
    sheet.line((start, min(lift, top)), (start, low + 2.0), 0.3, (1.4, 0.9))
    for k, (word, mm) in enumerate(words.items()):
        x = sheet.at((mm, 0.0, 0.0))[0]
        y = top + 8.0 + 8.0 * k
        sheet.line((x, 5.0), (x, y + 2.0), 0.3, (1.4, 0.9))
        sheet.size((start, y), (x, y), word)
    sheet.words("from face", (start, low + 6.5), anchor="start")
    assert low + 6.5 < sheet.height_mm
    assert x < WIDTH_MM
