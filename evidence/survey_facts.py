"""Holds a plan's JSON, rebuilt, against what the survey's tape readings say. Every miss is a sentence."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import degrees, hypot, inf, radians, tan

from rebuilt import Part, Thing, Vec, add, cross, dot, least_distance, less, mix, rebuild
from tape_words import Placed, Run, number

TIGHT_MM = 1e-6


@dataclass
class Held:
    """What was counted and missed for one survey; `worst` by kind of check, mm."""

    misses: list[str] = field(default_factory=list)
    words: set[str] = field(default_factory=set)
    counts: dict[str, int] = field(default_factory=dict)
    worst: dict[str, float] = field(default_factory=dict)

    def near(self, what: str, off: float, say: str, limit: float = TIGHT_MM) -> None:
        """A difference that must stay below a limit."""
        kind = what.split(":")[0]
        self.counts[kind] = self.counts.get(kind, 0) + 1
        self.worst[kind] = max(self.worst.get(kind, 0.0), abs(off))
        if not abs(off) <= limit:
            self.misses.append(f"{what}: {say}: off by {off:.6g}")

    def true(self, what: str, yes: bool, say: str) -> None:
        kind = what.split(":")[0]
        self.counts[kind] = self.counts.get(kind, 0) + 1
        if not yes:
            self.misses.append(f"{what}: {say}")


def far(a: Vec, b: Vec) -> float:
    return hypot(*less(a, b))


@dataclass
class Stretch:
    """The parts of the run that belong to one leg, turn arcs left out, and each feature's arcs."""

    parts: list[Part]
    arcs: list[list[Part]]


def hold(run: Run, plan: dict, *, full: bool) -> Held:
    """Everything that one plan must hold."""
    held = Held(words=set(run.words))
    parts = rebuild(plan)
    _pieces(held, run, plan, parts)
    stretches = _stretches(held, run, plan, parts)
    if stretches is None:
        return held
    for n, (leg, stretch) in enumerate(zip(run.legs, stretches, strict=True)):
        for placed, arcs in zip(leg.features, stretch.arcs, strict=True):
            _feature(held, run, plan, leg.along, placed, arcs)
            _cleared(held, run, plan, leg, placed, stretch.parts, parts)
        _line(held, n, leg, stretch)
    last = parts[-1]
    held.near(
        "far end",
        far(last.at(last.length - run.mouth_mm), run.legs[-1].end),
        "the conduit ends elsewhere than the tape says",
    )
    _heights(held, run, plan)
    _marks(held, plan)
    if full:
        _straps(held, run, plan, parts)
    return held


def _stretches(held: Held, run: Run, plan: dict, parts: Sequence[Part]) -> list[Stretch] | None:
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
            asked = {"offset": (2,), "box_offset": (2,), "kick": (1,), "keep_clear": (0,)}.get(placed.kind, (0, 3, 4))
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


def _line(held: Held, n: int, leg, stretch: Stretch) -> None:
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


def _feature(held: Held, run: Run, plan: dict, along: Vec, placed: Placed, arcs: list[Part]) -> None:
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


def saddle_way(placed: Placed, along: Vec, up: Vec) -> Vec:
    left = cross(up, along)
    way = placed.fields.get("toward", "away")
    return {"away": up, "left": left, "right": mix(left, -1.0, left, 0.0), "toward": mix(up, -1.0, up, 0.0)}[way]


def _saddle(held: Held, run: Run, plan: dict, along: Vec, placed: Placed, arcs: list[Part]) -> None:
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
    else:
        held.near(f"saddle rise: {placed.name}", rise - plain, "another rise")


def thing_of(run: Run, leg, placed: Placed, across: float) -> tuple[Thing, float] | None:
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
    width = height - lift if rounded else mm(f["width"])
    depth = mm(f.get("depth", "12 in")) / 2 if placed.kind == "keep_clear" else across
    middle = add(add(foot, leg.up, (height + lift) / 2), leg.left, mm(f.get("side", "0")))
    return Thing(middle, leg.along, leg.up, leg.left, (width / 2, (height - lift) / 2, depth), rounded), wanted


def _cleared(held: Held, run: Run, plan: dict, leg, placed: Placed, own: Sequence[Part], parts: Sequence[Part]) -> None:
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
    if placed.kind == "keep_clear" and room > 0:
        held.true(what, len(told) == 1, f"{len(told)} obstacles of the JSON bear its name")
        held.near("clearance told: by the JSON", told[0] - room, placed.name)
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


def _heights(held: Held, run: Run, plan: dict) -> None:
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


def _pieces(held: Held, run: Run, plan: dict, parts: Sequence[Part]) -> None:
    """Pieces follow each other, straights are not negative, and the lengths add up."""
    pieces = plan["pieces"]
    if len(pieces) > 1:
        held.words.add("several pieces")
    gaps = 0.0
    for k, (a, b) in enumerate(pairwise(pieces)):
        end = next(p for p in reversed(parts) if p.piece == k)
        start = next(p for p in parts if p.piece == k + 1)
        gap = b["run_start_mm"] - a["run_start_mm"] - a["cut_length_mm"]
        gaps += gap
        what = f"coupling: after piece {k + 1}"
        held.near(what, far(add(end.at(end.length), end.axis, gap), start.point), "the next piece starts elsewhere")
        held.near(what, far(end.axis, start.axis), "the next piece points another way", 1e-9)
        held.true(what, -TIGHT_MM <= gap < 26.0, f"{gap} mm between the two ends")
        held.near(what, plan["couplings_mm"][k] - (a["run_start_mm"] + a["cut_length_mm"] + gap / 2), "its place", 6.0)
    total = sum(p["cut_length_mm"] for p in pieces) + gaps
    held.near("lengths: of all pieces", total - plan["developed_length_mm"], "pieces and gaps are not the run")
    held.near(
        "lengths: degrees",
        plan["total_bend_deg"] - sum(b["angle_deg"] for p in pieces for b in p["bends"]),
        "degrees do not add up",
        1e-8,
    )
    for part in parts:
        held.true("lengths: straight", part.length >= -TIGHT_MM, f"a straight of {part.length} mm")


def printed(text: str, unit: str) -> float:
    """A printed tape reading in mm."""
    if unit == "mm":
        return float(text.removesuffix("mm").strip())
    sign, text = (-1, text[1:]) if text.startswith("-") else (1, text)
    feet, inches = text.split("'") if "'" in text else ("0", text)
    inches = inches.strip().removesuffix('"').strip()
    return sign * float(number(feet) * 12 + (number(inches) if inches else 0)) * 25.4


def _marks(held: Held, plan: dict) -> None:
    """Arrow, center mark and star from either hook describe one arc; what is printed is the nearest tape reading."""
    bender, tape = plan["bender"], plan["tape"]
    place = {"arrow": -bender["arrow_lead_mm"], "centre": bender["centre_mm"], "star": bender["star_mm"]}
    half = (25.4 if tape["unit"] == "in" else 1.0) / tape["denominator"] / 2
    for piece in plan["pieces"]:
        cut = printed(piece["cut_length_tape"], tape["unit"])
        held.near("printed length: cut", cut - piece["cut_length_mm"], "cut length", half + TIGHT_MM)
        _trim(held, plan, piece, tape["unit"], half)
        orders = sorted(b["order"] for b in piece["bends"])
        held.true("marks: order", orders == list(range(1, len(orders) + 1)), f"orders {orders}")
        before: dict | None = None
        for bend in sorted(piece["bends"], key=lambda b: b["order"]):
            arc = radians(bend["angle_deg"]) * bender["radius_mm"]
            held.near("marks: arc", bend["arc_end_mm"] - bend["arc_start_mm"] - arc, "arc end")
            for key, mark in bend["all_marks_mm"].items():
                hook, reference = key.split()
                start = mark - place[reference] if hook == "A" else mark + place[reference] - arc
                held.near("marks: exact", start - bend["arc_start_mm"], f"{key} of bend {bend['number']}")
            own = bend["all_marks_mm"][f"{bend['hook']} {bend['reference']}"]
            held.near("marks: exact", own - bend["mark_mm"], f"the mark of bend {bend['number']}")
            text = printed(bend["mark_tape"], tape["unit"])
            held.near("printed mark: off", text - bend["mark_mm"], f"bend {bend['number']}", half + TIGHT_MM)
            held.near("marks: rounding", text - bend["mark_mm"] - bend["mark_rounding_mm"], "rounding told")
            if before is not None:
                turn = (before["roll_deg"] - bend["roll_deg"] - bend["spin_deg"]) % 360
                held.near("marks: spin", min(turn, 360 - turn), f"before bend {bend['number']}", 1e-6)
                held.true("spin words: said", spin_said(bend), f"{bend['spin_deg']}° is told as: {bend['spin_words']}")
            before = bend


def spin_said(bend: dict) -> bool:
    """Whether the words tell the turn about the axis: how far, and which way seen from A toward B."""
    words, size = bend["spin_words"].lower(), abs(bend["spin_deg"])
    if size < 0.05:
        return re.search(r"no spin|do not rotate", words) is not None
    if size > 179.95:
        return re.search(r"half a turn|180", words) is not None
    way = "counterclockwise" in words or "anticlockwise" in words
    told = re.search(r"(\d+(?:\.\d+)?)°", words)
    amount = float(told.group(1)) if told else 90.0 if "quarter turn" in words else 0.0
    return abs(amount - size) < 0.051 and way == (bend["spin_deg"] < 0) and "clockwise" in words


def _trim(held: Held, plan: dict, piece: dict, unit: str, half: float) -> None:
    """A piece cut after bending: where to cut, from the stock's end, which lies `extra_a_mm` before end A."""
    cuts = [printed(mark["text"], unit) for mark in piece["trim_marks"]]
    wanted: list[float] = []
    if piece["trim_after"]:
        wanted = [piece["extra_a_mm"]] if piece["extra_a_mm"] else []
        wanted.append(piece["extra_a_mm"] + piece["cut_length_mm"])
    held.true("trim: cuts", len(cuts) == len(wanted), f"{len(cuts)} cuts, {len(wanted)} needed")
    steps = [f"{s['title']} {s['detail']}" for s in plan["steps"] if s["kind"] == "trim"]
    for mark in piece["trim_marks"]:
        said = any(mark["text"] in step and piece["cut_length_tape"] in step for step in steps)
        held.true("trim: told as a step", said, f"no step to cut at {mark['text']}")
    for cut, want in zip(cuts, wanted, strict=False):
        held.near("printed trim: off", cut - want, "a cut elsewhere", half + TIGHT_MM)
    if not piece["trim_after"]:
        held.true("trim: none", piece["extra_a_mm"] == piece["extra_b_mm"] == 0.0, "too long, and never cut")


#: First support and spacing, ft: 358.30, 342.30, 344.30, 352.30 of NFPA 70-2023 and their tables (figures).
SPACING_FT = {"EMT": (3, 10), "RMC": (3, 10), "IMC": (3, 10), "PVC-40": (3, 3), "PVC-80": (3, 3)}
WIDE_FT = {"1/2": 10, "3/4": 10, "1": 12}
FOOT = 304.8
#: A strap takes up this much (common practice, no source).
STRAP_GIVE_MM = 0.5


def lying(run: Run, plan: dict, parts: Sequence[Part]) -> list[tuple[float, float]]:
    """Stretches of the run (stations) where the conduit lies straight at strap height on its surface."""
    out: list[tuple[float, float]] = []
    shapes = [b["shape"] for p in plan["pieces"] for b in p["bends"]]
    features = {f.name for leg in run.legs for f in leg.features}
    leg = 0
    for part in parts:
        if part.radius:
            leg += shapes[part.bend] not in features
            continue
        here = run.legs[leg]
        over = dot(less(part.point, here.begin), here.up) + here.over_mm
        if abs(dot(part.axis, here.up)) > 1e-9 or abs(over - run.lie_mm) > STRAP_GIVE_MM:
            continue
        low, high = 0.0, part.length
        # round an outside corner each of the two surfaces ends at their edge
        if leg and run.turns[leg - 1].way == "toward":
            low = max(low, run.edge_mm(leg - 1)[1] - dot(less(part.point, here.begin), here.along))
        if leg < len(run.turns) and run.turns[leg].way == "toward":
            high = min(high, dot(less(here.end, part.point), here.along) - run.edge_mm(leg)[0])
        if low <= high:
            out.append((part.station + low, part.station + high))
    return out


def _straps(held: Held, run: Run, plan: dict, parts: Sequence[Part]) -> None:
    """Straps stand where the conduit lies on its surface, as close as the article says, or a finding tells."""
    if plan["checks"] is None:
        return
    straps, length = plan["checks"]["straps_mm"], plan["developed_length_mm"]
    places = lying(run, plan, parts)
    for s in straps:
        good = any(a - TIGHT_MM <= s <= b + TIGHT_MM for a, b in places)
        held.true("strap place: off its surface", good, f"{s:.1f} mm along the run is no straight at strap height")
        off = min((abs(s - c) for c in plan["couplings_mm"]), default=inf)
        held.true("strap place: at a coupling", off > 20.0, f"{s:.1f} mm is {off:.1f} mm from a coupling")
    kind, size = run.written["raceway"].split()
    first, apart = (ft * FOOT for ft in SPACING_FT[kind])
    wide = WIDE_FT[size] * FOOT if kind in ("RMC", "IMC") else apart
    said = [f for f in plan["findings"] if f["rule"] == "run.supports" and f["severity"] != "info"]
    # past a coupling the run goes on to another's strap: no box, so no nearness asked
    limits = [apart if "coupling" in run.written.get(end, {}).get("fitting", "") else first for end in ("start", "end")]
    if straps:
        short = straps[0] > limits[0] + TIGHT_MM or length - straps[-1] > limits[1] + TIGHT_MM
        short |= any(b - a > wide + TIGHT_MM for a, b in pairwise(straps))
    else:
        short = True
    if short:
        held.words.add("straps short and said")
        held.true("strap spacing: kept", bool(said), f"straps at {[round(s) for s in straps]} of {length:.0f} mm")
    elif said:
        held.true("strap spacing: said", False, f"a finding though straps at {[round(s) for s in straps]} keep it")
    else:
        held.words.add("straps kept")
    if said and _could(places, plan["couplings_mm"], length, limits, apart):
        held.true("strap spacing: possible", False, f"places exist, and it is said: {said[0]['message']}")


def _could(
    places: list[tuple[float, float]], couplings: list[float], length: float, limits: list[float], apart: float
) -> bool:
    """Whether straps could stand as the article asks with 70 mm of room to every bend, end and coupling."""
    room = 70.0
    free: list[tuple[float, float]] = []
    for a, b in places:
        cuts = [c for c in couplings if a - room < c < b + room]
        edges = [a + room, *(x for c in cuts for x in (c - room, c + room)), b - room]
        free += [(x, y) for x, y in zip(edges[::2], edges[1::2], strict=True) if y >= x]
    at, reach = -inf, limits[0]
    while True:
        stand = max((min(y, reach) for x, y in free if x <= reach), default=-inf)
        if stand <= at:
            return False
        if length - stand <= limits[1]:
            return True
        at, reach = stand, stand + apart
