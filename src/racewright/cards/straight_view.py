"""The straight conduit with its marks, to scale, labels side by side without touching. Knows a piece, not the plan.

Notation: lengths on the page mm, `at_mm` on the conduit mm from end A.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from racewright.cards.layout import LEAST_MARK_PT, MARK_PT, SMALL_PT, badge, cap_mm
from racewright.cards.words import shoe_words
from racewright.drawing.metrics import text_width_mm
from racewright.drawing.scene import Line, Polygon, Polyline, Primitive, Text
from racewright.plan.model import PlannedPiece
from racewright.units.tape import TapeStyle
from racewright.units.tape import reading as with_unit

_BADGE = 6.4
_GAP = 4.0
_TUBE = 5.0
_END = 10.0
_MOST_ON_A_LANE = 10


class StraightMark(NamedTuple):
    """One pencil line on the straight conduit: badge text, tape reading, a line below it, where the hook points ('' no
    hook). The line of an end that is cut after bending has the end's letter, A or B, for a name."""

    at_mm: float
    name: str
    reading: str
    below: str
    hook: str


def straight_marks(piece: PlannedPiece, style: TapeStyle, zero_mm: float = 0.0) -> list[StraightMark]:
    """The piece's pencil lines as a straight conduit shows them, from `zero_mm` on: 'star  B ▸' or 'cut line' stands
    below the reading."""
    bends = {str(bend.number): bend for bend in piece.bends}
    return [
        StraightMark(
            zero_mm + line.at_mm,
            line.name,
            with_unit(line.tape, style.unit),
            "cut line" if line.is_cut else "  ".join(shoe_words(bends[line.name])).strip(),
            bends[line.name].hook if not line.is_cut and bends[line.name].on_shoe else "",
        )
        for line in piece.pencil_lines
    ]


class _Lane(msgspec.Struct, frozen=True):
    start_mm: float
    end_mm: float
    marks: tuple[StraightMark, ...]


def spread(wanted: Sequence[float], widths: Sequence[float], low: float, high: float, gap: float) -> list[float]:
    """Centres for labels of these widths, in order and not touching, as near `wanted` as least squares allows.

    They stay between `low` and `high` when they fit there at all.
    """
    blocks: list[list[float]] = []  # members, sum of (wanted - offset), offset of the last member
    offsets: list[float] = []
    run = 0.0
    for k, width in enumerate(widths):
        if k:
            run += (widths[k - 1] + width) / 2.0 + gap
        offsets.append(run)
    least = low + widths[0] / 2.0 if widths else low
    most = high - run - widths[-1] / 2.0 if widths else high
    for place, offset in zip(wanted, offsets, strict=True):
        blocks.append([1.0, place - offset])
        while len(blocks) > 1 and blocks[-2][1] / blocks[-2][0] >= blocks[-1][1] / blocks[-1][0]:
            last = blocks.pop()
            blocks[-1][0] += last[0]
            blocks[-1][1] += last[1]
    bases = [total / count for count, total in blocks for _ in range(int(count))]
    return [max(least, min(most, base)) + offset for base, offset in zip(bases, offsets, strict=True)]


def straight_view(
    marks: Sequence[StraightMark],
    length_mm: float,
    left: float,
    top: float,
    width: float,
    *,
    tape_step_mm: float,
    zero_mm: float = 0.0,
    leader_mm: float = 9.0,
) -> tuple[list[Primitive], float]:
    """The drawing and its height. `tape_step_mm` is the tape's small tick (25.4 or 10 mm),
    `zero_mm` where the tape is hooked, `leader_mm` the room between the conduit and its labels."""
    lanes = _lanes(marks, length_mm, width - 2.0 * _GAP)
    cut_later = {mark.name for mark in marks if mark.name.isalpha()}
    ends = tuple("" if end in cut_later else end for end in "AB")
    items: list[Primitive] = []
    y = top
    for k, lane in enumerate(lanes):
        drawn, height = _draw_lane(lane, length_mm, left, y, width, tape_step_mm, zero_mm, ends, leader_mm)
        items += drawn
        y += height + (5.0 if k < len(lanes) - 1 else 0.0)
    return items, y - top


def _lanes(marks: Sequence[StraightMark], length_mm: float, room: float) -> list[_Lane]:
    """The conduit in as many lengths below each other as its marks need for their labels."""
    ordered = sorted(marks, key=lambda mark: mark.at_mm)
    groups: list[tuple[StraightMark, ...]] = [()]
    for count in range(max(1, -(-len(ordered) // _MOST_ON_A_LANE)), len(ordered) + 1):
        size = -(-len(ordered) // count)
        groups = [tuple(ordered[k : k + size]) for k in range(0, len(ordered), size)]
        rows = [row for group in groups for row in _rows(group, LEAST_MARK_PT, room)]
        if all(_row_width(row, LEAST_MARK_PT) <= room for row in rows):
            break
    edges = [0.0]
    for before, after in itertools.pairwise(groups):
        edges.append((before[-1].at_mm + after[0].at_mm) / 2.0)
    edges.append(length_mm)
    return [_Lane(edges[k], edges[k + 1], group) for k, group in enumerate(groups)]


def _draw_lane(
    lane: _Lane,
    length_mm: float,
    left: float,
    top: float,
    width: float,
    step_mm: float,
    zero_mm: float,
    ends: tuple[str, ...],
    leader_mm: float,
) -> tuple[list[Primitive], float]:
    room = width - 2.0 * _GAP
    size = _label_size(lane.marks, room)
    above, below = _rows(lane.marks, size, room)
    label = label_height(size, alone=not any(mark.below for mark in lane.marks))
    tube_top = top + (label + leader_mm if above else 4.0)
    from_x, to_x = left + _END, left + width - _END
    scale = (to_x - from_x) / (lane.end_mm - lane.start_mm)

    def x_of(at_mm: float) -> float:
        return from_x + min(max((at_mm - lane.start_mm) * scale, 0.0), to_x - from_x)

    items = _tube(lane, length_mm, from_x, to_x, tube_top, ends)
    items += _tape(lane, from_x, to_x, tube_top + _TUBE + 1.2, scale, step_mm, zero_mm)
    for k, mark in enumerate(lane.marks):
        ahead = lane.marks[k + 1 : k + 2] if mark.hook == "B" else lane.marks[max(0, k - 1) : k]
        gap = min((abs(other.at_mm - mark.at_mm) * scale for other in ahead), default=99.0)
        items += _tick(mark, x_of(mark.at_mm), tube_top, min(3.6, max(1.4, gap / 2.0 - 0.4)))
    items += _labels(above, size, [x_of(m.at_mm) for m in above], left, width, top, tube_top - 2.0, rising=True)
    bottom = tube_top + _TUBE + 4.4
    if below:
        row = bottom + leader_mm
        items += _labels(below, size, [x_of(m.at_mm) for m in below], left, width, row, tube_top + _TUBE, rising=False)
        bottom = row + label
    return items, bottom - top


def _reading_width(reading: str, size_pt: float) -> float:
    return _BADGE + 1.4 + text_width_mm(reading, size_pt, "bold")


def label_width(mark: StraightMark, size_pt: float) -> float:
    """How wide a mark's label is."""
    return max(_reading_width(mark.reading, size_pt), text_width_mm(mark.below, SMALL_PT))


def label_height(size_pt: float, *, alone: bool = False) -> float:
    """How high it is; `alone`: nothing stands below the reading."""
    return cap_mm(size_pt) + (2.4 if alone else cap_mm(SMALL_PT) + 3.2)


def draw_label(mark: StraightMark, centre: float, top: float, size_pt: float) -> list[Primitive]:
    """A mark's badge, square for a cut line, and reading, and the line below them."""
    start = centre - _reading_width(mark.reading, size_pt) / 2.0
    base = top + cap_mm(size_pt) + 0.8
    low = base + cap_mm(SMALL_PT) + 1.8
    return [
        *badge(mark.name, (start + _BADGE / 2.0, base - cap_mm(size_pt) / 2.0), _BADGE, square=mark.name.isalpha()),
        Text(at=(start + _BADGE + 1.4, base), text=mark.reading, size_pt=size_pt, weight="bold"),
        *((Text(at=(centre, low), text=mark.below, size_pt=SMALL_PT, anchor="middle"),) if mark.below else ()),
    ]


def _label_size(marks: Sequence[StraightMark], room: float) -> float:
    for size in (MARK_PT + 2.0, MARK_PT, LEAST_MARK_PT + 1.0, LEAST_MARK_PT):
        above, below = _rows(marks, size, room)
        if not below and above:
            return size
    return LEAST_MARK_PT + 1.0 if len(marks) <= 7 else LEAST_MARK_PT


def _row_width(marks: Sequence[StraightMark], size_pt: float) -> float:
    return sum(label_width(mark, size_pt) + _GAP for mark in marks) - _GAP


def _rows(
    marks: Sequence[StraightMark], size_pt: float, room: float
) -> tuple[tuple[StraightMark, ...], tuple[StraightMark, ...]]:
    if _row_width(marks, size_pt) <= room:
        return tuple(marks), ()
    return tuple(marks[0::2]), tuple(marks[1::2])


def _labels(
    marks: Sequence[StraightMark],
    size_pt: float,
    xs: Sequence[float],
    left: float,
    width: float,
    top: float,
    tube_y: float,
    *,
    rising: bool,
) -> list[Primitive]:
    widths = [label_width(mark, size_pt) for mark in marks]
    centres = spread(xs, widths, left, left + width, _GAP)
    items: list[Primitive] = []
    high = label_height(size_pt, alone=not any(mark.below for mark in marks))
    near = top + high - 0.4 if rising else top - 1.4
    for mark, x, centre in zip(marks, xs, centres, strict=True):
        knee = near + 2.0 if rising else near - 2.0
        away = tube_y - 1.2 if rising else tube_y + 4.6
        items.append(Polyline(points=((centre, near), (centre, knee), (x, away), (x, tube_y)), width_mm=0.3))
        items += draw_label(mark, centre, top, size_pt)
    return items


def _tick(mark: StraightMark, x: float, tube_top: float, reach: float) -> list[Primitive]:
    if mark.name.isalpha():
        return [Line(start=(x, tube_top - 2.0), end=(x, tube_top + _TUBE + 1.0), width_mm=0.9, dash=(1.2, 0.8))]
    line = Line(start=(x, tube_top - 2.0), end=(x, tube_top + _TUBE), width_mm=0.9)
    if not mark.hook:
        return [line]
    tip = -reach if mark.hook == "A" else reach
    root = 0.45 if tip > 0 else -0.45
    mid = tube_top + _TUBE / 2.0
    return [line, Polygon(points=((x + tip, mid), (x + root, mid - 1.5), (x + root, mid + 1.5)))]


def _tube(
    lane: _Lane, length_mm: float, from_x: float, to_x: float, top: float, ends: tuple[str, ...]
) -> list[Primitive]:
    """The conduit; `ends`: what stands at its ends, '' where the piece is cut off later."""
    bottom, mid = top + _TUBE, top + _TUBE / 2.0
    items: list[Primitive] = [
        Line(start=(from_x, top), end=(to_x, top), width_mm=0.6),
        Line(start=(from_x, bottom), end=(to_x, bottom), width_mm=0.6),
    ]
    for x, at_mm, letter, outward in (
        (from_x, lane.start_mm, ends[0], -1.0),
        (to_x, lane.end_mm, ends[1], 1.0),
    ):
        if at_mm in (0.0, length_mm):
            items.append(Line(start=(x, top - 0.3), end=(x, bottom + 0.3), width_mm=0.6))
            items += badge(letter, (x + outward * 5.5, mid), 7.6, square=True) if letter else []
        else:
            wave = ((x, top - 1.2), (x + outward, top + 1.4), (x - outward, bottom - 1.4), (x, bottom + 1.2))
            items.append(Polyline(points=wave, width_mm=0.35))
    return items


def _tape(
    lane: _Lane, from_x: float, to_x: float, y: float, scale: float, step_mm: float, zero_mm: float
) -> list[Primitive]:
    long_every = 12 if step_mm > 20.0 else 10
    every = 1 if step_mm * scale >= 1.1 else long_every
    begin = from_x + max(0.0, (zero_mm - lane.start_mm) * scale)
    items: list[Primitive] = [Line(start=(begin, y), end=(to_x, y), width_mm=0.18)]
    if lane.start_mm == 0.0:
        items.append(Polyline(points=((begin, y - 1.6), (begin, y), (begin + 2.5, y)), width_mm=0.7))
    first = int(max(0.0, lane.start_mm - zero_mm) / step_mm) + 1
    for k in range(first, int((lane.end_mm - zero_mm) / step_mm) + 1):
        if k % every:
            continue
        x = from_x + (zero_mm + k * step_mm - lane.start_mm) * scale
        items.append(Line(start=(x, y), end=(x, y + (2.0 if k % long_every == 0 else 1.0)), width_mm=0.18))
    return items
