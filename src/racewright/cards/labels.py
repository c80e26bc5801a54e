"""Find room for labels on a drawing: no label on another, as few as may be on lines. Page mm. Knows no plan."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from math import atan2, cos, dist, hypot, pi, sin

from racewright.budget import LABEL_PLACES, Budget
from racewright.cards.layout import cap_mm, line_mm
from racewright.drawing.metrics import text_width_mm, wrap
from racewright.drawing.scene import WHITE, Box, Line, Point, Polygon, Primitive, Text, around
from racewright.drawing.solids import clip_line

_STEP_MM = 2.0
_DIRECTIONS = 16
_CELL_MM = 6.0
_AROUND_MM = 0.6  # a label keeps this much of its surroundings to itself
_LEADER_MM = 4.0  # a label farther from its anchor has a line to it


class Board:
    """The labels placed so far, what no label may hide, and the lines that labels had better stay off: small boxes with
    a weight. All are found by the squares of `_CELL_MM` that they touch. `places`: what may be tried."""

    def __init__(self, area: Box, places: Budget | None = None) -> None:
        self.area = area
        self._places = places or Budget(LABEL_PLACES)
        self._blocked: dict[tuple[int, int], list[Box]] = {}
        self._taken: dict[tuple[int, int], list[Box]] = {}
        self._lines: list[tuple[Box, int]] = []
        self._cells: dict[tuple[int, int], list[int]] = {}

    def take(self, box: Box) -> None:
        """A label lies there."""
        for cell in _cells(box):
            self._taken.setdefault(cell, []).append(box)

    def is_free(self, box: Box) -> bool:
        """Whether a label may lie there."""
        if not box.inside(self.area):
            return False
        taken, blocked = self._taken, self._blocked
        for cell in _cells(box):
            for other in taken.get(cell, ()):
                if box.overlaps(other):
                    return False
            for other in blocked.get(cell, ()):
                if box.overlaps(other):
                    return False
        return True

    def block(self, points: Sequence[Point], half_mm: float) -> None:
        """No label hides this line, `half_mm` to each side."""
        for box in _along(points, half_mm):
            for cell in _cells(box):
                self._blocked.setdefault(cell, []).append(box)

    def avoid(self, points: Sequence[Point], half_mm: float, *, weight: int = 1) -> None:
        """Keep labels off this line, `half_mm` to each side, where there is other room; `weight`: how much rather."""
        for box in _along(points, half_mm):
            for cell in _cells(box):
                self._cells.setdefault(cell, []).append(len(self._lines))
            self._lines.append((box, weight))

    def crossings(self, box: Box) -> int:
        """How much of the lines a label there would hide."""
        near = {index for cell in _cells(box) for index in self._cells.get(cell, ())}
        return sum(self._lines[index][1] for index in near if box.overlaps(self._lines[index][0]))

    def _is_on_line(self, x: float, y: float) -> bool:
        for index in self._cells.get((int(x // _CELL_MM), int(y // _CELL_MM)), ()):
            line = self._lines[index][0]
            if line.left < x < line.right and line.top < y < line.bottom:
                return True
        return False

    def hides(self, start: Point, end: Point) -> int:
        """How much of the lines that labels stay off a stroke would run along or through."""
        parts = max(1, int(hypot(end[0] - start[0], end[1] - start[1]) / 1.5))
        return sum(self._is_on_line(*_between(start, end, k / parts)) for k in range(parts + 1))

    def _hidden_by_leader(self, anchor: Point, centre: Point, box: Box) -> int:
        count = 0
        for k in range(2, 9):
            x, y = _between(anchor, centre, k / 10.0)
            if not (box.left < x < box.right and box.top < y < box.bottom):
                count += self._is_on_line(x, y)
        return count

    def strikes(self, start: Point, end: Point, but: Sequence[Box] = ()) -> bool:
        """Whether a stroke would run through a label, other than those in the boxes `but`."""
        near = {box for cell in _cells(around((start, end)).grown(0.4)) for box in self._taken.get(cell, ())}
        near -= {box.grown(_AROUND_MM) for box in but}
        return any(clip_line(start, end, box.grown(0.4)) is not None for box in near)

    def _strikes_from(self, anchor: Point, box: Box) -> bool:
        """Whether the line from an anchor to a label there would run through another label."""
        end = nearest_of(box, anchor)
        return hypot(end[0] - anchor[0], end[1] - anchor[1]) > _LEADER_MM and self.strikes(anchor, end)

    def find(self, width: float, height: float, anchor: Point, toward: Point, *, near: float, far: float) -> Box | None:
        """The best free box of this size about the anchor, preferably on the side `toward`; it is then taken. None
        where there is none, and once the drawing's budget of places is spent."""
        heading = atan2(toward[1], toward[0]) if toward != (0.0, 0.0) else -pi / 2.0
        best: tuple[float, Box] | None = None
        for ring in range(int((far - near) / _STEP_MM) + 1):
            if self._places.spent:
                return None
            out = near + ring * _STEP_MM
            if best is not None and best[0] <= out:
                break
            for k in range(_DIRECTIONS):
                turn = (k + 1) // 2 * (1 if k % 2 else -1) * 2.0 * pi / _DIRECTIONS
                cost = out + 3.0 * abs(turn)
                if best is not None and cost >= best[0]:
                    break  # the directions that follow turn no less
                self._places.take(1)
                c, s = cos(heading + turn), sin(heading + turn)
                x = anchor[0] + c * (out + width / 2.0 * abs(c))
                y = anchor[1] + s * (out + height / 2.0 * abs(s))
                box = Box(x - width / 2.0, y - height / 2.0, x + width / 2.0, y + height / 2.0)
                if not self.is_free(box):
                    continue
                cost += 6.0 * self.crossings(box)
                if out > near + 1.0 and (best is None or cost < best[0]):
                    cost += 1.5 * self._hidden_by_leader(anchor, (x, y), box)
                if (best is None or cost < best[0]) and not self._strikes_from(anchor, box):
                    best = (cost, box)
        if best is None:
            return None
        self.take(best[1].grown(_AROUND_MM))
        return best[1]


def _along(points: Sequence[Point], half_mm: float) -> Iterator[Box]:
    """A line in small boxes."""
    for a, b in itertools.pairwise(points):
        parts = max(1, int(hypot(b[0] - a[0], b[1] - a[1]) / 1.5))
        for k in range(parts + 1):
            x, y = a[0] + (b[0] - a[0]) * k / parts, a[1] + (b[1] - a[1]) * k / parts
            yield Box(x - half_mm, y - half_mm, x + half_mm, y + half_mm)


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    """The squares that a box touches."""
    for i in range(int(box.left // _CELL_MM), int(box.right // _CELL_MM) + 1):
        for j in range(int(box.top // _CELL_MM), int(box.bottom // _CELL_MM) + 1):
            yield i, j


def nearest_of(box: Box, anchor: Point) -> Point:
    """Where a leader from the anchor meets the box."""
    return (min(max(anchor[0], box.left), box.right), min(max(anchor[1], box.top), box.bottom))


def _between(a: Point, b: Point, t: float) -> Point:
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)


def untangled(board: Board, placed: Sequence[tuple[Point, Box]]) -> tuple[Box, ...]:
    """The boxes found for labels, each for the anchor of the same place: two of one size change places where their
    leaders are shorter so, as those are that cross or stand on the wrong side of each other."""
    anchors, boxes = [anchor for anchor, _ in placed], [box for _, box in placed]
    for i, j in itertools.combinations(range(len(placed)), 2):
        if dist(_size(boxes[i]), _size(boxes[j])) > 1e-6:
            continue
        as_is, other = (
            (nearest_of(boxes[i], anchors[a]), nearest_of(boxes[j], anchors[b])) for a, b in ((i, j), (j, i))
        )
        longer = dist(as_is[0], anchors[i]) + dist(as_is[1], anchors[j])
        if longer < dist(other[0], anchors[j]) + dist(other[1], anchors[i]) + _STEP_MM:
            continue
        if not any(board.strikes(anchors[k], end, (boxes[i], boxes[j])) for k, end in zip((j, i), other, strict=True)):
            boxes[i], boxes[j] = boxes[j], boxes[i]
    return tuple(boxes)


def _size(box: Box) -> Point:
    return (box.right - box.left, box.bottom - box.top)


def on_white(box: Box) -> Polygon:
    """A white patch under a label, so that lines do not run through the letters."""
    left, top, right, bottom = box
    return Polygon(points=((left, top), (right, top), (right, bottom), (left, bottom)), fill=WHITE)


def leader(board: Board, anchor: Point, box: Box, *, start_mm: float = 0.0) -> list[Primitive]:
    """The thin line from an anchor to the label there that is too far off to do without; it begins `start_mm` from the
    anchor, and no later label hides it."""
    end = nearest_of(box, anchor)
    far = hypot(end[0] - anchor[0], end[1] - anchor[1])
    if far <= start_mm + _LEADER_MM:
        return []
    start = _between(anchor, end, start_mm / far)
    board.block((start, end), 0.3)
    return [Line(start=start, end=end, width_mm=0.18)]


def place_text(
    board: Board,
    text: str,
    anchor: Point,
    toward: Point,
    *,
    size_pt: float,
    widest: float = 46.0,
    near: float = 3.0,
    far: float = 34.0,
) -> list[Primitive] | None:
    """A wrapped label near its anchor with a leader to it, or None where there is no room."""
    lines = wrap(text, widest, size_pt)
    if not lines:
        return []
    width = max(text_width_mm(line, size_pt) for line in lines) + 1.0
    height = len(lines) * line_mm(size_pt) + 0.4
    box = board.find(width, height, anchor, toward, near=near, far=far)
    if box is None:
        return None
    items = [*leader(board, anchor, box), on_white(box)]
    middle = (box.left + box.right) / 2.0
    base = box.top + 0.2 + (line_mm(size_pt) + cap_mm(size_pt)) / 2.0
    for k, line in enumerate(lines):
        at = (middle, base + k * line_mm(size_pt))
        items.append(Text(at=at, text=line, size_pt=size_pt, anchor="middle"))
    return items
