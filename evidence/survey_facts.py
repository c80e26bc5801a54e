"""Holds a plan's JSON, rebuilt, against what the survey's tape readings say. Every miss is a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import degrees, hypot, inf, tan
from typing import Any

from hand_facts import hold_hands, hold_shoe, hold_stock
from held import TIGHT_MM, Held, far
from itself_facts import hold_itself
from mark_facts import Springback, hold_marks, hold_pieces, printed
from rebuilt import Part, Thing, Vec, add, cross, dot, least_distance, less, mix, rebuild
from said_facts import hold_said
from strap_facts import hold_straps
from tape_words import Leg, Placed, Run, number
from thumb_facts import hold_thumb, hold_thumb_turns

#: No saddle is raised by more than it must be, to this much.
LEAST_MM = 1e-3


@dataclass
class Stretch:
    """The parts of the run that belong to one leg, turn arcs left out, and each feature's arcs."""

    parts: list[Part]
    arcs: list[list[Part]]


def hold(run: Run, plan: dict[str, Any], springback: Springback = None) -> Held:
    """Everything that one plan must hold. `springback`: what the shoe was calibrated to."""
    held = Held(words=set(run.words))
    parts = rebuild(plan)
    hold_pieces(held, run, plan, parts)
    stretches = _stretches(held, run, plan, parts)
    if stretches is None:
        return held
    for n, (leg, stretch) in enumerate(zip(run.legs, stretches, strict=True)):
        for placed, arcs in zip(leg.features, stretch.arcs, strict=True):
            _feature(held, run, plan, leg.along, placed, arcs)
            _drawn(held, run, plan, leg.along, placed)
            _cleared(held, run, plan, leg, placed, stretch.parts, parts)
            hold_thumb(held, run, plan, placed, arcs, parts)
        _line(held, n, leg, stretch)
    last = parts[-1]
    held.near(
        "far end",
        far(last.at(last.length - run.mouth_mm), run.legs[-1].end),
        "the conduit ends elsewhere than the tape says",
    )
    _heights(held, run, plan)
    hold_itself(held, plan, parts, plan["findings"])
    hold_marks(held, plan, springback)
    hold_said(held, plan)
    hold_shoe(held, run, plan)
    hold_stock(held, run, plan)
    hold_hands(held, plan)
    hold_thumb_turns(held, run, plan)
    hold_straps(held, run, plan, parts)
    return held


def _stretches(held: Held, run: Run, plan: dict[str, Any], parts: Sequence[Part]) -> list[Stretch] | None:
    shapes = [b["shape"] for p in plan["pieces"] for b in p["bends"]]
    arcs = [p for p in parts if p.radius]
    out: list[Stretch] = []
    at, cut = 0, 0
    for n, leg in enumerate(run.legs):
        own: list[list[Part]] = []
        for placed in leg.features:
            count = 0
            while placed.kind != "keep_clear" and at + count < len(arcs) and shapes[at + count] == placed.name:
                count += 1
            asked: tuple[int, ...] = {"offset": (2,), "box_offset": (2,), "kick": (1,), "keep_clear": (0,)}.get(
                placed.kind, (0, 3, 4)
            )
            if placed.fields.get("bends", "auto") != "auto":
                asked = (0, int(placed.fields["bends"]))
            held.true(f"bends: {placed.name}", count in asked, f"{count} bends")
            if count not in asked:
                return None
            own.append(arcs[at : at + count])
            at += count
            held.words.add(f"{placed.kind} of {count} bends" if placed.kind == "saddle" else placed.kind)
        final = n == len(run.legs) - 1
        end = len(parts) if final else (parts.index(arcs[at]) if at < len(arcs) else len(parts))
        out.append(Stretch(list(parts[cut:end]), own))
        cut = end + 1
        if not final:
            held.true("bends: turn", at < len(arcs), "a turn has no bend")
            if at >= len(arcs):
                return None
            turn = arcs[at]
            corner = add(turn.point, turn.axis, turn.radius * tan(turn.length / turn.radius / 2))
            held.near(f"corner: of turn {n + 1}", far(corner, leg.end), "the middle lines meet elsewhere")
            at += 1
    held.true("bends: all", at == len(arcs), f"{len(arcs)} bends, {at} asked for")
    return out


def _line(held: Held, n: int, leg: Leg, stretch: Stretch) -> None:
    """Each straight of a leg lies on the line that the readings give it, up to a kick."""
    lines = [leg.begin]
    arcs: list[Part] = []
    for placed, own in zip(leg.features, stretch.arcs, strict=True):
        if own:
            lines += [None] * (len(own) - 1) + [None if placed.kind == "kick" else add(placed.zero, placed.move)]
            arcs += own
    passed = 0
    for part in stretch.parts:
        if part.radius:
            passed += 1
            continue
        line = lines[passed]
        if line is None:
            continue
        for s in (0.0, part.length):
            d = less(part.at(s), line)
            off = hypot(*add(d, leg.along, -dot(d, leg.along)))
            held.near(f"line: leg {n + 1}", off, f"straight {passed} is off its line")
        held.near(f"line: leg {n + 1}", far(part.axis, leg.along), "a straight points another way", 1e-9)


def _feature(held: Held, run: Run, plan: dict[str, Any], along: Vec, placed: Placed, arcs: list[Part]) -> None:
    """The readings of a feature hold where it lies."""
    if not arcs:
        if placed.kind == "saddle":
            said = any(f["rule"] == "saddle.not-needed" and placed.name in f["message"] for f in plan["findings"])
            held.true(f"saddle: {placed.name}", said, "no bends, and nothing is said")
        return

    def reading(point: Vec) -> float:
        return dot(less(point, placed.zero), along)

    fields, first, last = placed.fields, arcs[0], arcs[-1]
    what = f"{placed.kind} reading: {placed.name}"
    if "starts_at" in fields:
        held.near(what, reading(first.point) - run.mm(fields["starts_at"]), "starts_at")
    if "done_by" in fields:
        held.near(what, reading(last.at(last.length)) - run.mm(fields["done_by"]), "done_by")
    if "middle_at" in fields:
        middle = (reading(first.at(first.length)) + reading(last.point)) / 2
        held.near(what, middle - run.mm(fields["middle_at"]), "middle_at")
    if fields.get("angle", "auto") != "auto":
        for arc in (first, last):
            turned = degrees(arc.length / arc.radius)
            held.near(f"angle: {placed.name}", turned - float(number(fields["angle"])), "another angle", 1e-9)
    elif len(arcs) > 1:
        # the angle that was left open leaves the hook its straight between two arcs
        hook = max(0.0, plan["bender"]["arrow_lead_mm"] + plan["bender"]["hook_reach_mm"])
        for a, b in pairwise(arcs):
            between = far(a.at(a.length), b.point)
            held.true(f"hook: {placed.name}", between >= hook - TIGHT_MM, f"{between:.1f} mm, {hook:.1f} needed")
    if placed.kind == "saddle":
        _saddle(held, run, plan, along, placed, arcs)


def _drawn(held: Held, run: Run, plan: dict[str, Any], along: Vec, placed: Placed) -> None:
    """A reading is drawn from the tape's zero to where it was taken, with its length as the tape says it."""
    names = [n for n in ("starts_at", "middle_at", "done_by", "centre", "center") if n in placed.fields]
    lines = [d for d in plan["dimensions"] if d["field"] and d["text"].endswith(f" of {placed.name}")]
    held.true(f"drawn: {placed.name}", len(lines) == 1, f"{len(lines)} readings drawn")
    for name, line in zip(names, lines, strict=False):
        what, wanted = f"drawn reading: {placed.name}", run.mm(placed.fields[name])
        begin, end = (dot(less(line[at], placed.zero), along) for at in ("start", "end"))
        held.near(what, begin, f"{name} is not drawn from the tape's zero")
        held.near(what, end - wanted, f"{name} is not drawn to where it was taken")
        said = printed(line["text"].partition(" to ")[0], run.units)
        step = (1.0 if run.units == "mm" else 25.4) / plan["tape"]["denominator"]
        what = f"said reading: {placed.name}"
        held.near(what, said - wanted, f"{line['text']} is said of {name}", step / 2 + TIGHT_MM)


def saddle_way(placed: Placed, along: Vec, up: Vec) -> Vec:
    left = cross(up, along)
    way = placed.fields.get("toward", "away")
    return {"away": up, "left": left, "right": mix(left, -1.0, left, 0.0), "toward": mix(up, -1.0, up, 0.0)}[way]


def _saddle(held: Held, run: Run, plan: dict[str, Any], along: Vec, placed: Placed, arcs: list[Part]) -> None:
    fields = placed.fields
    if len(arcs) == 3:
        top = arcs[1].at(arcs[1].length / 2)
    else:
        a, b = arcs[1].at(arcs[1].length), arcs[2].point
        top = mix(a, 0.5, b, 0.5)
        held.near(f"saddle: {placed.name}", dot(arcs[1].along(arcs[1].length), along) - 1, "the top is not flat", 1e-9)
    from_line = less(top, placed.zero)
    what = f"saddle reading: {placed.name}"
    held.near(what, dot(from_line, along) - run.mm(fields["centre"]), "centre")
    up = next(leg.up for leg in run.legs if placed in leg.features)
    way = saddle_way(placed, along, up)
    rise = dot(from_line, way)
    across = cross(along, way)
    held.near(what, dot(from_line, across), "the top is aside of its line")
    clearance = run.mm(fields["clearance"]) if "clearance" in fields else run.clearance
    if "reach" in fields:
        plain = run.mm(fields["reach"]) + clearance + run.od / 2
    elif "height" in fields:
        plain = run.mm(fields["height"]) + clearance + run.od / 2 - placed.over_mm
    else:
        plain = run.mm(fields["rise"])
    if rise > plain + TIGHT_MM and "rise" not in fields:
        said = any(f["rule"] == "saddle.whole-width" and placed.name in f["message"] for f in plan["findings"])
        held.true(f"saddle: {placed.name}", said, f"raised from {plain:.3f} to {rise:.3f} mm, and nothing is said")
        held.words.add("saddle raised")
        _raised_least(held, run, plan, placed, arcs, clearance)
    else:
        held.near(f"saddle rise: {placed.name}", rise - plain, "another rise")


def _raised_least(
    held: Held, run: Run, plan: dict[str, Any], placed: Placed, arcs: list[Part], clearance: float
) -> None:
    """A saddle that is raised over its plain rise is raised no more than it must be: it keeps just the clearance, or
    its angle makes no lower one, the hook's straight between two arcs being the least."""
    leg = next(leg for leg in run.legs if placed in leg.features)
    made = thing_of(run, leg, placed, inf)
    if made is None:
        return
    hook = max(0.0, plan["bender"]["arrow_lead_mm"] + plan["bender"]["hook_reach_mm"])
    between = min(far(a.at(a.length), b.point) for a, b in (arcs[:2], arcs[-2:]))
    slopes: list[Part] = []
    for a, b in pairwise(arcs):
        end = a.at(a.length)
        slopes += [a, Part(0.0, far(end, b.point), end, a.along(a.length), a.side, 0.0, -1, a.piece)]
    room = least_distance([*slopes, arcs[-1]], made[0]) - run.od / 2
    least = between <= hook + LEAST_MM
    held.true(
        f"saddle least: {placed.name}",
        least or (len(arcs) == 3 and room <= clearance + LEAST_MM),
        f"{room:.4f} mm left of {clearance:.3f} wanted, {between:.3f} mm between the arcs of {hook:.3f} needed",
    )


def thing_of(run: Run, leg: Leg, placed: Placed, across: float) -> tuple[Thing, float] | None:
    """The thing as the survey describes it, and the clearance wanted; `across`: half its length where none is told."""
    f = placed.fields
    mm = run.mm
    if "height" not in f and "reach" not in f:
        return None
    foot = add(add(placed.zero, leg.along, mm(f["centre"])), leg.up, -placed.over_mm)
    wanted = mm(f["clearance"]) if "clearance" in f else run.clearance
    rounded = f.get("over", "round" if placed.kind == "saddle" else "square") == "round"
    if "reach" in f:
        way = saddle_way(placed, leg.along, leg.up)
        reach, half = mm(f["reach"]), mm(f["width"]) / 2
        deep = half if rounded else 500.0
        middle = add(add(foot, leg.up, placed.over_mm), way, reach - deep)
        return Thing(middle, leg.along, way, leg.up, (half, deep, across), rounded), wanted
    height, lift = mm(f["height"]), mm(f.get("lift", "0"))
    if rounded and "width" in f:
        # a round thing is as tall as it is wide; where lift and width differ by a tape's step the larger is meant
        lift = min(lift, height - mm(f["width"])) if "lift" in f else height - mm(f["width"])
    width = height - lift if rounded else mm(f["width"])
    depth = mm(f.get("depth", "12 in")) / 2 if placed.kind == "keep_clear" else across
    middle = add(add(foot, leg.up, (height + lift) / 2), leg.left, mm(f.get("side", "0")))
    return Thing(middle, leg.along, leg.up, leg.left, (width / 2, (height - lift) / 2, depth), rounded), wanted


def _cleared(
    held: Held, run: Run, plan: dict[str, Any], leg: Leg, placed: Placed, own: Sequence[Part], parts: Sequence[Part]
) -> None:
    """Cleared over its whole width, or a problem names it; and no problem where all is clear."""
    made = thing_of(run, leg, placed, inf)
    if made is None:
        return
    thing, wanted = made
    here = parts if placed.kind == "keep_clear" else own
    room = least_distance(here, thing) - run.od / 2
    said = [f for f in plan["findings"] if f["rule"] == "run.clearance" and f.get("where") == placed.name]
    what = f"clearance: {placed.name}"
    told = [o["clearance_mm"] for o in plan["obstacles"] if o["name"] == placed.name]
    held.true(what, len(told) == 1, f"{len(told)} obstacles of the JSON bear its name")
    if "height" in placed.fields:
        # where no length across the run is told, the program takes 12 in to each side
        short = thing_of(run, leg, placed, 12 * 25.4)
        assert short is not None
        whole = least_distance(parts, short[0]) - run.od / 2
        if whole > -run.od / 2 + TIGHT_MM:
            held.near("clearance told: by the JSON", told[0] - whole, placed.name)
    if room < wanted - TIGHT_MM:
        held.words.add(f"{placed.kind} hit and said")
        good = any(f["severity"] == "problem" for f in said)
        held.true(what, good, f"{room:.6f} mm left, {wanted:.3f} wanted, and no problem is said")
    else:
        held.words.add(f"{placed.kind} cleared")
        held.true(what, True, "")
        if said:
            short = thing_of(run, leg, placed, 12 * 25.4)
            assert short is not None
            room = least_distance(parts, short[0]) - run.od / 2
            held.true(what, room < wanted + TIGHT_MM, f"a problem is said, and {room:.6f} mm are left")


def _heights(held: Held, run: Run, plan: dict[str, Any]) -> None:
    """Where the conduit comes in at another height than the knockout's, it is said."""
    for end, height, over in (
        ("start", run.heights[0], run.legs[0].over_mm),
        ("end", run.heights[1], run.legs[-1].end_over_mm),
    ):
        if (
            height is not None
            and abs(height - over) > 1e-3
            and not any(f.kind == "kick" for f in run.legs[-1].features)
        ):
            said = any(f["rule"] == "run.end-height" for f in plan["findings"])
            held.words.add("height not met and said")
            held.true(
                f"height: {end}", said, f"knockout at {height:.3f} mm, conduit at {over:.3f}, and nothing is said"
            )
