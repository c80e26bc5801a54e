"""Holds a half-bent piece's answer to itself: scrap, or marks with which its end comes right. The piece is rebuilt by
docs/fit.md and docs/plan-json.md. Shares no code with the program."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import degrees, hypot, radians
from typing import Any

from bent_facts import TOLERANCE_DEG, TOLERANCE_MM, piece_parts, thing, wall_distance, with_bends
from held import HALF_MM, Held
from rebuilt import Part, cross, dot, least_distance, less

Bends = dict[int, tuple[float, float, float]]
#: Words that a scrapped piece's answer must not hold: a promise, a mark, a way to go on.
PROMISES = re.compile(
    r"far end meets|measure it when|bent as planned|then corrected|turn the whole|off at end|room left", re.I
)
_BEND = re.compile(r"(?:heat mark (\d+) again and )?(open|bend) (?:mark (\d+)|it) (?:by|another) ([\d /.]+)°")
_TWIST = re.compile(r"(?:twist it at mark (\d+)|rotate the whole piece in its fitting) by ([\d /.]+)° (\w+), seen")
#: What a hand springs into a fitting, and what an end that stays open may be off: across, along (mm), lean (degrees).
SPRUNG = (19.05, 9.525, 3.0)
OPEN = (25.4, 25.4, 3.0)
#: A correction is told in words to a quarter of a degree where that does, and leaves so many tolerances at most.
WORDS_LEAVE = 2.0


def end_off(planned: Sequence[Part], parts: Sequence[Part]) -> tuple[float, float, float, float]:
    """How far an end lies off another: two ways across and along (mm), and how far it leans (degrees)."""
    a, b = planned[-1], parts[-1]
    off = less(b.at(b.length), a.at(a.length))
    lean = degrees(hypot(*cross(a.axis, b.axis)))
    return dot(off, a.side), dot(off, cross(a.axis, a.side)), dot(off, a.axis), lean


def walled(
    plan: dict[str, Any], planned: Sequence[Part], parts: Sequence[Part], diameter_mm: float
) -> list[tuple[str, float]]:
    """The walls that the plan stays out of, and how much deeper than planned a piece lies in each, less its own
    diameter (mm): past that it is no piece that serves."""
    out = []
    for wall in plan["surfaces"]:
        if wall["clearance_mm"] < -HALF_MM:
            continue
        was, now = (wall_distance(line, wall["solid"]) - diameter_mm / 2 for line in (planned, parts))
        out.append((wall["name"], min(was, 0.0) - now - diameter_mm))
    return out


def hold_walls(
    held: Held, plan: dict[str, Any], planned: Sequence[Part], parts: Sequence[Part], diameter_mm: float
) -> None:
    """A piece that serves lies in no wall deeper than planned by more than its own diameter: no strap draws it out."""
    for name, past_mm in walled(plan, planned, parts, diameter_mm):
        held.true("serves: out of the wall", past_mm < 0.01 + TOLERANCE_MM, f"{name}: {past_mm:.2f} mm past it")


def hold_serves(held: Held, plan: dict[str, Any], piece: dict[str, Any], bends: Bends, answer: dict[str, Any]) -> None:
    """A piece that serves: its end is met by its marks, or off by what is said and met by the correction told."""
    held.words.add("serves")
    rules = {f["rule"] for f in answer["findings"]}
    held.true("serves: no scrap", "replan.scrap" not in rules, "marks are given for a scrapped piece")
    planned, cut = piece_parts(piece), answer["cut"]["mm"]
    up, side, along, lean = end_off(planned, piece_parts(with_bends(piece, bends, cut)))
    hold_walls(held, plan, planned, piece_parts(with_bends(piece, bends, cut)), piece["outside_diameter_mm"])
    gap = answer["gap"]
    held.near("end off: across", hypot(up, side) - hypot(*gap["across_mm"]), "said otherwise", 1e-3)
    held.near("end off: along", abs(along) - abs(gap["along_mm"]), "said otherwise", 1e-3)
    said = " ".join(answer["notes"])
    open_end = not piece["end_b"]["fitting"]
    promised = ("the far end comes to its place" if open_end else "the far end meets its fitting") in said
    held.true("met is said", promised == answer["met"], f"met {answer['met']}: {said}")
    if answer["met"]:
        return
    if "End B stays open and" in said or "spring it into its fitting when it is joined" in said:
        held.words.add("open end off, and said" if open_end else "sprung, and said")
        across_mm, along_mm, lean_deg = OPEN if open_end else SPRUNG
        held.near("sprung end: across", hypot(up, side), "too far off", across_mm + 1e-6)
        held.near("sprung end: along", abs(along), "too far off", along_mm + 1e-6)
        held.near("sprung end: lean", lean, "too far off", lean_deg + 1e-3)
        severity = [f["severity"] for f in answer["findings"] if f["rule"] == "replan.end"]
        held.true("sprung, and said", severity == ["caution"], f"{severity}")
        return
    held.words.add("serves by a correction")
    if "spring it into its fitting" in said:
        held.words.add("serves by springing it")
        most_mm = 2 * radians(0.25) * piece["cut_length_mm"] + TOLERANCE_MM
        held.near("sprung end", max(abs(up), abs(side), abs(along)), "the end is too far off to be sprung", most_mm)
        return
    told = said.partition("it is then corrected so: ")[2]
    mended = dict(bends)
    for heated, way, cold, size in _BEND.findall(told):
        number = heated or cold
        start, angle, roll = mended[int(number)]
        by = _degrees(size) * (1.0 if way == "bend" else -1.0)
        hook = next(b["hook"] for b in piece["bends"] if b["number"] == int(number))
        hook = next((m["hook"] for m in answer["marks"] if m["number"] == int(number)), hook)
        back = radians(by) * piece["bend_radius_mm"] if hook == "B" else 0.0
        mended[int(number)] = (start - back, angle + by, roll)
    for number, size, sense in _TWIST.findall(told):
        by = _degrees(size) * (1.0 if sense == "clockwise" else -1.0)
        for n in mended:
            start, angle, roll = mended[n]
            mended[n] = (start, angle, roll + (by if n >= int(number or 1) else 0.0))
    up, side, along, lean = end_off(planned, piece_parts(with_bends(piece, mended, cut)))
    most = max(abs(up), abs(side), abs(along)) / TOLERANCE_MM, lean / TOLERANCE_DEG
    held.true("served by words", mended != bends, f"no correction is told: {said}")
    held.near("corrected end, tolerances", max(most), told, WORDS_LEAVE)


def hold_scrap(
    held: Held,
    plan: dict[str, Any],
    piece: dict[str, Any],
    number: int,
    answer: dict[str, Any],
    bends: Bends,
    made: Sequence[dict[str, Any]],
    stock_mm: float,
) -> None:
    """A scrapped piece: one thing is said of it, and the rest bent as planned would not have done."""
    held.words.add("scrap")
    told = [f for f in answer["findings"] if f["rule"].startswith(("replan.", "run.cl", "remark.order"))]
    one = [f["rule"] for f in told if f["severity"] != "caution"] == ["replan.scrap"]
    held.true("scrap: one thing", one, f"{[f['rule'] for f in told]}")
    empty = not any(
        answer[name]
        for name in ("met", "opened", "twisted", "marks", "words", "room", "left_out", "turned_deg", "trim_a_mm")
    )
    held.true("scrap: no marks", empty, "marks, words or room of what will not be")
    said = " ".join([*answer["notes"], *(f["message"] for f in answer["findings"])])
    promise = PROMISES.search(said)
    held.true("scrap: no promise", promise is None, f"{promise}")
    held.true("scrap: a new one", "new piece" in said and answer["cut"]["mm"] == piece["cut_length_mm"], said)
    if "cannot be bent by hand" in said:
        held.words.add("scrap by hand")
        return
    # the piece goes in as its first bend made wants it
    first = min(made, key=lambda m: next(b["order"] for b in piece["bends"] if b["number"] == m["number"]))["number"]
    turned = next(b["roll_deg"] for b in piece["bends"] if b["number"] == first) - bends[first][2]
    whole = {b["number"]: (b["arc_start_mm"], b["angle_deg"], b["roll_deg"]) for b in piece["bends"]}
    whole |= {n: (start, angle, roll + turned) for n, (start, angle, roll) in bends.items()}
    at = 0.0
    for _, (start, angle, _) in sorted(whole.items()):
        if start < at - 1e-6:
            return
        at = start + radians(angle) * piece["bend_radius_mm"]
    planned = piece_parts(piece)
    cut = max(at, piece["cut_length_mm"])
    along = end_off(planned, piece_parts(with_bends(piece, whole, cut)))[2]
    cut = min(max(cut - along, at), max(stock_mm, at))
    parts = piece_parts(with_bends(piece, whole, cut))
    off = end_off(planned, parts)
    across_mm, along_mm, lean_deg = SPRUNG if piece["end_b"]["fitting"] else OPEN
    if hypot(off[0], off[1]) > 0.99 * across_mm or abs(off[2]) > 0.99 * along_mm or off[3] > 0.99 * lean_deg:
        return
    half = piece["outside_diameter_mm"] / 2
    hit = any(least_distance(parts, thing(o["solid"])) < half + 0.01 for o in plan["obstacles"])
    itself = ("run" in said and "itself" in said) or "through each other" in said or "touch" in said
    wall = any(past_mm > -0.01 for _, past_mm in walled(plan, planned, parts, 2 * half))
    held.true("scrap: as planned", hit or itself or wall, f"the rest as planned is off by {off}: {said}")


def _degrees(text: str) -> float:
    return sum(_part(part) for part in text.split())


def _part(part: str) -> float:
    """'3' or '1/2'."""
    top, _, bottom = part.partition("/")
    return float(top) / float(bottom or 1)
