"""The rules of thumb beside the marks: each against the trade's plain formula, from where the bends of the plan lie."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, hypot, pi, sin, tan
from typing import Any

from held import Held
from rebuilt import Part, Vec, dot, less
from tape_words import Placed, Run

#: Multiplier and shrink of the rise, as taught for an offset (15 degrees from memory, the others read in reprints of
#: trade texts); other angles by the cosecant and tan(A/2).
OFFSETS = {10: (6, 1 / 16), 15: (3.9, 1 / 8), 22.5: (2.6, 3 / 16), 30: (2, 1 / 4), 45: (1.4, 3 / 8), 60: (1.2, 1 / 2)}
#: Outer spacing and shrink of the rise, as taught for a three-bend saddle (from memory).
SADDLES = {15: (3.9, 1 / 8), 22.5: (2.5, 3 / 16), 30: (2, 1 / 4)}


def _taught(angle: float) -> tuple[float, float]:
    return next(
        (row for at, row in OFFSETS.items() if abs(at - degrees(angle)) < 1e-6), (1 / sin(angle), tan(angle / 2))
    )


class _Shoe:
    """Where an arc begins, from a mark, the hook and the place on the shoe that lies on it; and the other way round."""

    def __init__(self, bender: dict[str, Any]) -> None:
        self.radius = bender["radius_mm"]
        self.places = {
            "arrow": -bender["arrow_lead_mm"],
            "center": self.radius * pi / 8,
            "star": bender["star_mm"],
        }

    def start(self, mark: float, hook: str, reference: str, angle: float) -> float:
        place = self.places[reference]
        return float(mark - place if hook == "A" else mark + place - self.radius * angle)


def hold_thumb(
    held: Held, run: Run, plan: dict[str, Any], placed: Placed, arcs: list[Part], parts: Sequence[Part]
) -> None:
    """The rule beside an offset, a box offset or a saddle: the arcs that its marks make are where the trade's formula
    has them, counted from the end of the bend before or from end A."""
    rule = next((r for r in plan["rules_of_thumb"] if r["shape"] == placed.name), None)
    if rule is None:
        return
    shoe = _Shoe(plan["bender"])
    marks = rule["marks"]
    cards = [m["label"].rpartition("(")[2].rstrip(")").split(", hook ") for m in marks]
    angles = [a.length / a.radius for a in arcs]
    made = [
        shoe.start(m["rule_mm"], hook, reference, angle)
        for m, (reference, hook), angle in zip(marks, cards, angles, strict=True)
    ]
    own = [p for p in parts if p.piece == arcs[0].piece]
    before = [p for p in own if p.radius and p.station < arcs[0].station]
    base: Vec = before[-1].at(before[-1].length) if before else own[0].point
    from_base = (before[-1].station + before[-1].length if before else own[0].station) - own[0].station

    def reading(point: Vec) -> float:
        return dot(less(point, base), arcs[0].axis) + from_base

    if len(arcs) == 3:
        wanted = _three(run, shoe, angles, reading(arcs[1].at(arcs[1].length / 2)), _rise(placed, arcs))
    elif len(arcs) == 4:
        flat = hypot(*less(arcs[2].point, arcs[1].at(arcs[1].length)))
        near = reading(arcs[1].at(arcs[1].length))
        wanted = _four(shoe, angles, near, flat, _rise(placed, arcs))
    else:
        hook = cards[0][1] if cards[0][1] == cards[1][1] else "A"
        rise = hypot(*placed.move)
        times, shrink = _taught(angles[0])
        second = reading(arcs[1].at(arcs[1].length)) + rise * shrink
        wanted = [shoe.start(m, hook, "arrow", angles[0]) for m in (second - rise * times, second)]
    for n, (got, want) in enumerate(zip(made, wanted, strict=True), 1):
        held.near(f"thumb {placed.kind} of {len(arcs)}: {placed.name}", got - want, f"mark {n} of the rule", 1e-6)
    held.words.add("rule of thumb")


def _rise(placed: Placed, arcs: list[Part]) -> float:
    """How far a saddle's top lies off the line it rises from."""
    top = arcs[len(arcs) // 2 - 1] if len(arcs) == 4 else arcs[1]
    off = less(top.at(top.length if len(arcs) == 4 else top.length / 2), arcs[0].point)
    return hypot(*(c - dot(off, arcs[0].axis) * a for c, a in zip(off, arcs[0].axis, strict=True)))


def _three(run: Run, shoe: _Shoe, angles: list[float], middle_at: float, rise: float) -> list[float]:
    spacing, shrink = next(row for at, row in SADDLES.items() if abs(at - degrees(angles[0])) < 1e-6)
    middle = middle_at + rise * shrink
    outer = ("B", "arrow") if run.written.get("saddle_method") == "centre-outward" else ("A", "star")
    return [
        shoe.start(middle - rise * spacing, *outer, angles[0]),
        shoe.start(middle, "A", "center", angles[1]),
        shoe.start(middle + rise * spacing, "A", "arrow", angles[2]),
    ]


def _four(shoe: _Shoe, angles: list[float], near: float, flat: float, rise: float) -> list[float]:
    times, shrink = _taught(angles[0])
    second = near + rise * shrink
    marks = (second - rise * times, second, second + flat, second + flat + rise * times)
    return [shoe.start(m, hook, "arrow", angles[0]) for m, hook in zip(marks, "BBAA", strict=True)]


def hold_thumb_turns(held: Held, run: Run, plan: dict[str, Any]) -> None:
    """The rule beside a 90: the first by the deduct, in whole quarters of an inch as it is taught; a second one back to
    back by the star, which is exact."""
    if not plan["rules_of_thumb"]:
        return
    shoe, bender = _Shoe(plan["bender"]), plan["bender"]
    for rule in plan["rules_of_thumb"]:
        name = rule["marks"][0]["label"].partition(" (")[0]
        if len(rule["marks"]) > 1 or name not in ("90", "second 90"):
            continue
        mark = rule["marks"][0]
        leg = run.legs[int(rule["shape"].split()[-1]) - 1]
        if leg.features and leg.features[-1].kind == "kick":
            continue  # behind a kick the conduit comes aslant, and the rule knows a square 90 alone
        off = mark["rule_mm"] - mark["exact_mm"]
        wanted = 0.0
        if name == "90":
            full = shoe.radius + run.od / 2 + bender["arrow_lead_mm"]
            wanted = full - round(full / 6.35) * 6.35
        held.near(f"thumb 90: {rule['shape']}", off - wanted, f"the {name} by the rule", 1e-6)
