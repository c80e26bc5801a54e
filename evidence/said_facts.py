"""What a plan says at each bend, tried on the piece as it is then: only the bends made so far are bent.

A check must hold on the half-bent piece, its figure with it, must not hold before its bend is made, and stands nowhere
else. Marks that a sentence names exist; no bend is named by a bare number.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations
from math import hypot
from typing import Any

from held import HALF_MM, TIGHT_MM, Held
from mark_facts import printed
from rebuilt import Part, Vec, cross, dot, less, rebuild_piece

#: Legs are parallel, or square to each other, when they are so to this much (sine).
STRAIGHT = 1e-6
LENGTH = r"((?:\d+' ?)?[\d /]+(?:\"| mm))"
APART = rf"Check that both legs are parallel, {LENGTH} apart center to center\."
BACKS = rf"Check {LENGTH} back to back, and that both stubs are parallel\."
SQUARE = r"Check that both legs are square to each other\."
LINE = r"Check that both legs lie on one line\."
RISE = rf"Check the rise, {LENGTH}, and that both legs lie on one line\."
TOP = rf"Check the rise, {LENGTH}, and that the top is parallel to the leg\."
STUB_A = rf"Check {LENGTH} from (?:end|cut line) A to the back\."
STUB_B = rf"Check {LENGTH} from (?:end|cut line) B to the back\."
NINETY = r"Check that the 90 is square\."
ANGLE = r"Check the angle with a level after letting go\."
HOOK = (
    rf"Hook on a short (end|straight), {LENGTH}: hold the conduit on ([AB])'s side"
    rf"(?:, or leave {LENGTH} more on beyond end ([AB]) and cut it off after bending"
    r"(, marks counted from cut line A)?)?\."
)
PLANE = (
    r"Keep the mark square to the shoe\.|Sight along it for a dog-leg first\."
    r"|Set the rotation with an angle finder\."
)


class HalfBent:
    """A piece with some of its bends made."""

    def __init__(self, piece: dict[str, Any], made: Sequence[int]) -> None:
        self.made = sorted(made)
        self.diameter: float = piece["outside_diameter_mm"]
        bends = [b for b in piece["bends"] if b["number"] in self.made]
        self.parts = rebuild_piece({**piece, "bends": bends}, 0, 0)

    def around(self, first: int, last: int) -> tuple[Part, Part]:
        """The straights before bend `first` and after bend `last`."""
        return self.parts[2 * self.made.index(first)], self.parts[2 * self.made.index(last) + 2]

    def arc(self, number: int) -> Part:
        return self.parts[2 * self.made.index(number) + 1]


def off_line(leg: Part, point: Vec) -> float:
    """How far a point lies off a leg's line."""
    across = cross(leg.axis, less(point, leg.point))
    return hypot(*across)


def parallel(a: Part, b: Part) -> bool:
    across = cross(a.axis, b.axis)
    return hypot(*across) < STRAIGHT


def figure(half: HalfBent, pattern: str, bends: tuple[int, ...]) -> float | None:
    """What a check's figure is on the half-bent piece (0 where it has none); None where it does not hold there."""
    if not set(bends) <= set(half.made):
        return None
    leg, far = half.around(bends[0], bends[-1])
    if pattern in (SQUARE, NINETY):
        return 0.0 if abs(dot(leg.axis, far.axis)) < STRAIGHT else None
    if pattern in (STUB_A, STUB_B):
        end, other, tip = (leg, far, leg.point) if pattern == STUB_A else (far, leg, far.at(far.length))
        square = abs(dot(leg.axis, far.axis)) < STRAIGHT
        return abs(dot(less(other.point, tip), end.axis)) + half.diameter / 2 if square else None
    if not parallel(leg, far):
        return None
    apart = off_line(leg, far.point)
    if pattern in (APART, TOP):
        return apart if dot(leg.axis, far.axis) > 0 else None
    if pattern == BACKS:
        return apart + half.diameter if dot(leg.axis, far.axis) < 0 else None
    if apart > 1e-5:
        return None
    middle = half.arc(bends[1]) if len(bends) == 3 else None
    return off_line(leg, middle.at(middle.length / 2)) if middle else 0.0


def wanted(piece: dict[str, Any], order: list[int]) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Every check that a piece's shape has, and the bends that it needs; of a four-bend saddle the side that is made
    first in this order does for its rise."""
    bends = piece["bends"]
    for shape in dict.fromkeys(b["shape"] for b in bends):
        group = [b for b in bends if b["shape"] == shape]
        numbers, kinds = tuple(b["number"] for b in group), [b["role"].rpartition(" ")[2] for b in group]
        yield from ((ANGLE, (b["number"],)) for b in group if b["role"] in ("kick", "saddle center"))
        if kinds == ["first", "second"]:
            yield APART, numbers
        elif kinds == ["outer", "center", "outer"]:
            yield RISE, numbers
        elif kinds == ["four"] * 4:
            yield TOP, min(numbers[:2], numbers[2:], key=lambda side: max(order.index(n) for n in side))
            yield LINE, numbers
    square = [b["number"] for b in bends if abs(b["angle_deg"] - 90) < 1e-4]
    yield from ((NINETY, (n,)) for n in square)
    yield from ((STUB_A, (n,)) for n in square if n == 1)
    yield from ((STUB_B, (n,)) for n in square if n == len(bends))
    for a, b in combinations(square, 2):
        if b == a + 1:
            turn = abs((bends[b - 1]["roll_deg"] - bends[a - 1]["roll_deg"] + 180) % 360 - 180)
            kind = BACKS if turn < 0.05 else APART if turn > 179.95 else SQUARE if abs(turn - 90) < 0.05 else ""
            if kind:
                yield kind, (a, b)


def hold_said(held: Held, plan: dict[str, Any]) -> None:
    """Checks, names and cut lines of a plan."""
    tape = plan["tape"]
    half_step = (25.4 if tape["unit"] == "in" else 1.0) / tape["denominator"] / 2
    for piece in plan["pieces"]:
        _checks(held, piece, tape["unit"], half_step)
        _hooks(held, plan, piece, half_step)
        _cut_lines(held, plan, piece, half_step)
    _names(held, plan)


def _checks(held: Held, piece: dict[str, Any], unit: str, half_step: float) -> None:
    order = [b["number"] for b in sorted(piece["bends"], key=lambda b: b["order"])]
    asked = [(kind, needs) for kind, needs in wanted(piece, order) if kind]
    for k, number in enumerate(order):
        said = next(b["look_at"] for b in piece["bends"] if b["number"] == number)
        rest = said
        now, before = HalfBent(piece, order[: k + 1]), HalfBent(piece, order[:k])
        for kind, needs in asked:
            due = max(order.index(n) for n in needs) == k
            if not due:
                continue
            found, own = list(re.finditer(kind, said)), 0
            held.words.add("checks told")
            if kind == ANGLE:
                held.true("checks: told", bool(found), f"bend {number} has no '{kind}'")
            else:
                true = figure(now, kind, needs)
                figures = [printed(m[1], unit) if m.groups() else 0.0 for m in found]
                right = [true is not None and abs(f - true) <= half_step + HALF_MM for f in figures]
                close, own = any(right), right.index(True) if any(right) else 0
                held.true("checks: told", close, f"bend {number}, {needs} {true}: '{said}'")
                held.true("checks: not before", figure(before, kind, needs) is None, f"{needs} before bend {number}")
            if found:
                rest = rest.replace(found[own][0], "", 1)
        rest = re.sub(PLANE, "", re.sub(HOOK, "", rest, count=1), count=1).strip()
        held.true("checks: nothing else", not rest, f"bend {number} also says '{rest}'")


def _hooks(held: Held, plan: dict[str, Any], piece: dict[str, Any], half_step: float) -> None:
    """Where an order is known: the straight conduit that the hook has when a bend is made, told where a hand cannot
    hold it: as far as the nearest bend that is made, or the end of the stick."""
    grip = plan["bender"]["grip_mm"] if plan["bender"] else 0.0
    made: list[dict[str, Any]] = []
    for bend in sorted(piece["bends"], key=lambda b: b["order"]) if piece["ways"] else ():
        toward_a = bend["hook"] == "A"
        if toward_a:
            near = [bend["arc_start_mm"] - b["arc_end_mm"] for b in made if b["number"] < bend["number"]]
            end = bend["arc_start_mm"] + piece["extra_a_mm"]
        else:
            near = [b["arc_start_mm"] - bend["arc_end_mm"] for b in made if b["number"] > bend["number"]]
            end = piece["cut_length_mm"] + piece["extra_b_mm"] - bend["arc_end_mm"]
        made.append(bend)
        room, on = min([*near, end]), "straight" if near else "end"
        found = re.search(HOOK, bend["look_at"])
        if abs(room - grip) > TIGHT_MM:
            held.true("hook: short", bool(found) == (room < grip), f"{bend['number']}: {room} mm, {bend['look_at']}")
        if found:
            held.true("hook: short", found[3] != bend["hook"], f"{bend['number']}: held at the hook, '{found[0]}'")
            close = abs(printed(found[2], plan["tape"]["unit"]) - room) <= half_step + HALF_MM
            held.true("hook: short", close and found[1] == on, f"{bend['number']}: {room} mm of {on}, '{found[0]}'")
            held.words.add("hook on a short " + on)
            if found[4]:
                more, stick = printed(found[4], plan["tape"]["unit"]), piece["least_stock_mm"]
                held.true(
                    "hook: more left on", on == "end" and found[5] == bend["hook"], f"{bend['number']}: '{found[0]}'"
                )
                held.true("hook: more left on", bool(found[6]) == toward_a, f"{bend['number']}: '{found[0]}'")
                held.true("hook: more left on", room + more >= grip - TIGHT_MM, f"{room} mm and {more} mm of {grip} mm")
                held.true(
                    "hook: more left on", stick + more <= piece["stock_mm"] + half_step, f"{stick} mm and {more} mm"
                )
                held.words.add("more left on for the hook")


def _cut_lines(held: Held, plan: dict[str, Any], piece: dict[str, Any], half_step: float) -> None:
    """A line to cut on after bending lies on the straight conduit where the finished piece ends."""
    mine = [s for s in plan["steps"] if plan["pieces"][s["piece"] - 1]["label"] == piece["label"]]
    kinds = [s["kind"] for s in mine]
    if "stop" in kinds:
        held.true("cut line: waits", {"cut", "stock", "lay-out", "bend", "trim"}.isdisjoint(kinds), f"{kinds}")
        return
    drawn = " ".join(s["detail"] for s in mine if s["kind"] == "lay-out")
    told = re.findall(rf"cut line ([AB]) at {LENGTH}", drawn)
    if not piece["trim_after"]:
        held.true("cut line: none", not told and "trim" not in kinds, f"'{drawn}' of a piece cut first")
        return
    held.words.add("cut on a line")
    developed = sum(part.length for part in rebuild_piece(piece, 0, 0))
    at = {end: printed(text, plan["tape"]["unit"]) for end, text in told}
    held.near("cut line: B", at.get("B", -1e3) - developed, "not at the developed length", half_step + HALF_MM)
    held.true("cut line: A", ("A" in at) == (piece["extra_a_mm"] > 0), f"'{drawn}'")
    cut = [s["title"] for s in mine if s["kind"] == "trim"]
    named = "lines A and B" if piece["extra_a_mm"] > 0 else "line B"
    held.true("cut line: cut on it", len(cut) == 1 and cut[0].endswith(named), f"{cut}")
    last = max((k for k, kind in enumerate(kinds) if kind == "bend"), default=-1)
    held.true("cut line: after the bends", kinds.index("lay-out") <= last < kinds.index("trim") or last < 0, f"{kinds}")


def _names(held: Held, plan: dict[str, Any]) -> None:
    """Each bend's step names its order and mark, and a piece has no such step where no order is known; what names a
    mark names one that there is."""
    pieces = plan["pieces"]
    problems = {(f["rule"], f.get("where", "")) for f in plan["findings"] if f["severity"] == "problem"}
    without = {where for rule, where in problems if rule == "bend.order"}
    labels = {piece["label"] for piece in pieces}
    if any(
        rule == "run.sticks" and where not in labels for rule, where in problems
    ):  # over a stick and not to be split: no order is looked for
        without |= {piece["label"] for piece in pieces}
    for step in plan["steps"]:
        if step["kind"] == "bend":
            piece = pieces[step["piece"] - 1]
            bend = piece["bends"][step["bend"] - 1]
            name = re.match(r"(\d+)(?:st|nd|rd|th) bend, mark (\d+) at (.*?): bend to ", step["title"])
            known = piece["label"] not in without
            right = known and name is not None and (int(name[1]), int(name[2])) == (bend["order"], bend["number"])
            held.true(
                "names: step", right and name is not None and name[3].startswith(bend["mark_tape"]), step["title"]
            )
    most = max(len(p["bends"]) for p in pieces)
    for where, text in texts(plan, ""):
        held.true("names: bare", re.search(r"\b[Bb]ends? \d", text) is None, f"{where}: {text}")
        for found in re.finditer(r"\bmarks? ((?:\d+(?:, (?:then )?| and )?)+)", text):
            numbers = [int(n) for n in re.findall(r"\d+", found[1])]
            own = re.match(r"piece (\d+)\b", text)
            count = len(pieces[int(own[1]) - 1]["bends"]) if own else most
            held.true("names: marks", all(1 <= n <= count for n in numbers), f"{where}: {text}")


def texts(here: Any, where: str) -> Iterator[tuple[str, str]]:
    """Every text of the JSON that is a sentence, with its field."""
    if isinstance(here, str):
        if " " in here:
            yield where, here
    elif isinstance(here, dict):
        for key, value in here.items():
            yield from texts(value, f"{where}.{key}")
    elif isinstance(here, list):
        for k, value in enumerate(here):
            yield from texts(value, f"{where}[{k}]")
