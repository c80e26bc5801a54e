"""What the tape says of a run: an own reading of the survey file, by docs/survey-file.md and the trade's meaning.

Answers with the legs in room coordinates: where each begins and ends, where its features lie. It knows no angle that
the survey leaves open and needs none: a reading holds whatever angle is bent. Lengths mm, angles rad.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from math import acos, cos, pi, radians, sin, tan
from pathlib import Path
from typing import Any

import yaml

from rebuilt import Vec, add, cross, mix

CATALOGUE = Path(__file__).resolve().parent.parent / "src" / "racewright" / "catalogue" / "data"
NUMBER = re.compile(r"^(-)?(?:(\d+(?:\.\d+)?)(?:[ -](\d+)/(\d+))?|(\d+)/(\d+))$")


def number(text: str) -> Fraction:
    found = NUMBER.match(text.strip())
    if not found:
        raise ValueError(f"no tape reading: {text!r}")
    sign, whole, top, bottom, only, under = found.groups()
    value = Fraction(int(only), int(under)) if only else Fraction(whole) + Fraction(int(top or 0), int(bottom or 1))
    return -value if sign else value


def length(text: str, units: str) -> float:
    """Millimetres of a written length."""
    text = text.strip()
    if text.startswith("-"):
        return -length(text[1:], units)
    if "'" in text:
        feet, inches = text.split("'")
        inches = inches.strip().removesuffix('"').strip()
        return float((number(feet) * 12 + (number(inches) if inches else 0)) * Fraction(254, 10))
    inch = Fraction(254, 10)
    for ending, mm in (("mm", 1), ("cm", 10), ("m", 1000), ("ft", 12 * inch), ("in", inch), ('"', inch)):
        if text.endswith(ending):
            return float(number(text.removesuffix(ending)) * mm)
    return float(number(text) * (Fraction(254, 10) if units == "in" else 1))


@dataclass(frozen=True)
class Placed:
    """One feature: its kind and fields as written, the zero of its leg's tape, and the line it begins on.

    `zero`: the point of that line at tape reading 0. `over_mm`: how high the line lies over its surface.
    `move`: from the line before to the line after. `where` (box offsets): start, mid or end.
    """

    kind: str
    fields: dict[str, str]
    name: str
    zero: Vec
    over_mm: float
    move: Vec
    where: str = ""


@dataclass
class Leg:
    """A leg in the room. `along`, `up`, `left`: forward, off the surface, and across. `begin`: where its first line
    starts (a corner or the conduit's end), `end`: the corner or end of conduit that it comes to."""

    along: Vec
    up: Vec
    left: Vec
    begin: Vec
    over_mm: float
    features: list[Placed] = field(default_factory=list)
    end: Vec = (0.0, 0.0, 0.0)
    end_over_mm: float = 0.0
    gap: bool = False  # it lies off its surface by a written gap


@dataclass(frozen=True)
class Turn:
    way: str
    angle: float


@dataclass
class Run:
    """A survey read: the conduit, the legs and turns, and what the ends say."""

    written: dict[str, Any]
    units: str
    od: float
    stand_off: float
    clearance: float
    legs: list[Leg]
    turns: list[Turn]
    insert: tuple[float, float]
    heights: tuple[float | None, float | None]
    words: set[str]
    mouth_mm: float = 0.0  # of the last conduit, in the fitting past the point where the last leg ends

    def mm(self, text: str) -> float:
        return length(text, self.units)

    @property
    def lie_mm(self) -> float:
        """How high a strap holds the conduit's middle over its surface."""
        return self.stand_off + self.od / 2

    def edge_mm(self, turn: int) -> tuple[float, float]:
        """How far from the corner of a turn `toward` the edge lies, back along its first leg and on along its second:
        the middle lines lie off the two surfaces by the heights of the two legs."""
        angle, h1, h2 = self.turns[turn].angle, self.legs[turn].end_over_mm, self.legs[turn + 1].over_mm
        before = (h2 - h1 * cos(angle)) / sin(angle)
        return before, h1 * sin(angle) - before * cos(angle)


def read(text: str) -> Run:
    """Read a survey's text."""
    whole = yaml.load(text, Loader=yaml.BaseLoader)
    run, units = whole["run"], whole.get("units", "in")
    kind, size = run["raceway"].split()

    def mm(value: str) -> float:
        return length(value, units)

    ends = (run.get("start", {}), run.get("end", {}))
    words = {f"units {units}", f"raceway {kind}", f"cut {run.get('cut', 'before')}"}
    words |= {w for w in ("stock", "offcuts", "stand_off", "clearance", "bend_radius", "surface") if w in run}
    for side, end in zip(("start", "end"), ends, strict=True):
        words |= {f"{side} {w}" for w in ("insertion", "height") if w in end} | {f"fitting {end.get('fitting', '-')}"}
    read_run = Run(
        written=run,
        units=units,
        od=outside_diameter(kind, size),
        stand_off=mm(run.get("stand_off", "0")),
        clearance=mm(run.get("clearance", "0")),
        legs=[],
        turns=[],
        insert=(insertion(ends[0], kind, size, mm), insertion(ends[1], kind, size, mm)),
        heights=(
            mm(ends[0]["height"]) if "height" in ends[0] else None,
            mm(ends[1]["height"]) if "height" in ends[1] else None,
        ),
        words=words,
    )
    _walk(read_run)
    return read_run


def outside_diameter(kind: str, size: str) -> float:
    with (CATALOGUE / "raceways.csv").open(encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if (r["type"], r["trade_size"]) == (kind, size)]
    return float(Fraction(rows[0]["outside_diameter_in"]) * Fraction(254, 10))


def insertion(end: dict[str, Any], kind: str, size: str, mm: Callable[..., Any]) -> float:
    if "insertion" in end:
        return float(mm(end["insertion"]))
    fitting = end.get("fitting", "set-screw")
    if fitting == "none":
        return 0.0
    with (CATALOGUE / "fittings.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if (row["kind"], row["raceway_type"], row["trade_size"]) == (fitting, kind, size):
                return float(Fraction(row["insertion_in"]) * Fraction(254, 10))
    raise ValueError(f"no {fitting} for {kind} {size}")


#: The turn as written and as read, how high the run lay before it, and the angle that is bent there.
Before = tuple[dict[str, Any], Turn, float, float]


def _bent(turn: Turn, features: list[tuple[str, dict[str, str]]]) -> float:
    """The bend of a turn: behind a kick the conduit comes aslant, so it is not the turn's own angle. A kick whose angle
    is left open tells none: nothing is measured from that bend's back then."""
    kind, fields = features[-1] if features else ("", {})
    if kind != "kick" or "angle" not in fields:
        return turn.angle
    aslant, toward = radians(float(number(fields["angle"].removesuffix("°")))), fields.get("toward", "away")
    same = {toward, turn.way} in ({"away", "toward"}, {"left", "right"}) or toward == turn.way
    side = sin(aslant) * sin(turn.angle) * (1 if toward == turn.way else -1) if same else 0.0
    return acos(cos(aslant) * cos(turn.angle) + side)


def _walk(run: Run) -> None:
    parts = run.written["walk"]
    along, up = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    lie, half = run.lie_mm, run.od / 2
    begin: Vec = (0.0, 0.0, lie)
    over, gap_over = lie, False
    before: Before | None = None
    for i in range(0, len(parts), 2):
        part, last = parts[i], i == len(parts) - 1
        left = cross(up, along)
        source = part.get("from", "face" if i == 0 else "back")
        run.words.add(f"from {source}")
        zero = _zero(run, source, before)
        features = [next(iter(f.items())) for f in part.get("features") or []]
        if i == 0:
            # the tape's zero is the room's x = 0: the conduit begins where the fitting holds it
            begin = (-run.insert[0] if source == "face" else 0.0, 0.0, lie)
            zero = run.insert[0] if source == "face" else 0.0
            if run.heights[0] is not None:
                # the knockout is where it is: the conduit comes out of it there
                over = run.heights[0]
                begin = (begin[0], 0.0, over)
        leg = Leg(along=along, up=up, left=left, begin=begin, over_mm=over, gap=gap_over)
        line, at_end = add(begin, along, zero), over
        for n, (kind, fields) in enumerate(features):
            where = "mid"
            if kind == "box_offset":
                if last and n == len(features) - 1 and (i or n or run.heights[1] is not None):
                    where = "end"
                elif i == 0 and n == 0:
                    where = "start"
            move = _move(run, leg, kind, fields, where, at_end)
            leg.features.append(Placed(kind, fields, fields.get("name", ""), line, at_end, move, where))
            line = add(line, move)
            at_end += sum(a * b for a, b in zip(move, up, strict=True))
            _note(run, kind, fields, where, leg, n, before)
        target = part.get("to", "face" if last else "back")
        run.words.add(f"to {target}")
        reading = run.mm(part["leg"])
        turn = None
        if last:
            kicked = bool(features) and features[-1][0] == "kick"
            if kicked and target == "face":
                run.mouth_mm = run.insert[1]  # the fitting's mouth stands at the reading, and tilted
            reach = reading + (run.insert[1] if target == "face" and not kicked else 0.0)
        else:
            written = parts[i + 1]
            turn = Turn(written["turn"], radians(float(number(written.get("angle", "90")))))
            run.turns.append(turn)
            run.words |= {f"turn {turn.way}", "turn square" if turn.angle == pi / 2 else "turn of another angle"}
            if "gap" in written:
                run.words.add("gap")
            reach = reading + _to_corner(run, target, turn, written, lie, half)
        leg.end = add(line, along, reach)
        leg.end_over_mm = at_end
        run.legs.append(leg)
        if turn is None:
            return
        before = (parts[i + 1], turn, at_end, _bent(turn, features))
        begin = leg.end
        c, s = cos(turn.angle), sin(turn.angle)
        if turn.way in ("left", "right"):
            along = mix(along, c, left, s if turn.way == "left" else -s)
            over = at_end
        else:
            sign = 1.0 if turn.way == "away" else -1.0
            along, up = mix(along, c, up, sign * s), mix(up, c, along, -sign * s)
            gap_over = "gap" in parts[i + 1] and target in ("wall", "edge")
            over = run.mm(parts[i + 1]["gap"]) + half if gap_over else lie


def _zero(run: Run, source: str, before: Before | None) -> float:
    """Where a leg's tape begins, counted along it from the corner before it."""
    if before is None:
        return 0.0
    _, turn, over, bent = before
    back = run.od / 2 * tan(bent / 2)
    if source == "wall":
        # the wall behind: after a turn off the surface that is the surface itself, which lies as far away as it lies
        return -over if turn.way == "away" else -run.lie_mm
    if source == "edge":
        return over  # of the leg before, off the surface that ends at the edge
    return {"back": -back, "centre": 0.0, "inside": back}[source]


def _to_corner(run: Run, target: str, turn: Turn, written: dict[str, Any], lie: float, half: float) -> float:
    """From where the leg's reading ends to the corner of the middle lines, along the leg."""
    back = half * tan(turn.angle / 2)
    if target == "wall":
        return -(run.mm(written["gap"]) + half if "gap" in written else lie)
    if target == "edge":
        return run.mm(written["gap"]) + half if "gap" in written else lie
    return {"back": -back, "centre": 0.0, "inside": back}[target]


def _move(run: Run, leg: Leg, kind: str, fields: dict[str, str], where: str, over: float) -> Vec:
    """How far the line after a feature lies from the line before it."""
    rise = run.mm(fields["rise"]) if "rise" in fields else 0.0
    toward = fields.get("toward", "away")
    if kind == "offset":
        shift = run.mm(fields.get("shift", "0")) * (1 if fields.get("side", "left") == "left" else -1)
        return mix(leg.up, -rise if toward == "toward" else rise, leg.left, shift)
    if kind == "box_offset":
        if "rise" not in fields:
            aim = run.lie_mm if where == "start" else run.heights[1]
            if aim is None:
                raise ValueError("a box offset without rise or height")
            return mix(leg.up, aim - over, leg.up, 0.0)
        return mix(leg.up, -rise if toward == "toward" else rise, leg.up, 0.0)
    if kind == "kick":
        way = {"away": leg.up, "left": leg.left, "toward": leg.up, "right": leg.left}[toward]
        return mix(way, rise if toward in ("away", "left") else -rise, way, 0.0)
    return (0.0, 0.0, 0.0)


def _note(run: Run, kind: str, fields: dict[str, str], where: str, leg: Leg, n: int, before: Before | None) -> None:
    """The words of a feature, for the table of what was met."""
    words = run.words
    for name in ("starts_at", "middle_at", "done_by", "lift", "reach", "height", "shift", "depth", "side"):
        if name in fields:
            words.add(f"{kind} {name}")
    defaults = {"toward": "away", "over": "round" if kind == "saddle" else "square", "bends": "auto"}
    met = {"toward": kind != "keep_clear", "over": "height" in fields or "reach" in fields, "bends": kind == "saddle"}
    for name in (n for n in defaults if met[n]):
        words.add(f"{kind} {name} {fields.get(name, defaults[name])}")
    if "rise" in fields:
        words.add(f"{kind} rise")
    if kind != "keep_clear":
        words.add(f"{kind} angle {'auto' if fields.get('angle', 'auto') == 'auto' else 'given'}")
    raised = abs(leg.features[n].over_mm - run.lie_mm) > 1e-6
    if raised and kind != "kick":
        words.add(f"{kind} off the strap line")
    if kind == "offset" and "rise" in fields and "shift" in fields:
        words.add("offset rolling")
    if kind == "offset" and fields.get("side"):
        words.add(f"offset side {fields['side']}")
    if "clearance" in fields:
        words.add(f"{kind} clearance")
    if kind == "box_offset":
        words.add(f"box_offset at {where}" + (" own rise" if "rise" in fields else ""))
        if any(f.kind in ("offset", "box_offset") for f in leg.features[:n]):
            words.add("box_offset after an offset")
        if leg.gap:
            words.add("box_offset after a turn with a gap")
