"""Pieces, marks, cuts and turns of a plan's JSON: each against the others and against what is printed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from math import radians
from typing import Any

from held import TIGHT_MM, Held, far
from rebuilt import Part, add, coupling_places
from tape_words import Run, number

#: A shoe's springback: degrees that the pointer must pass the angle by, and that much more for each degree bent; None
#: where nobody calibrated it.
Springback = tuple[float, float] | None


def hold_pieces(held: Held, run: Run, plan: dict[str, Any], parts: Sequence[Part]) -> None:
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
        held.near(what, coupling_places(plan)[k] - (a["run_start_mm"] + a["cut_length_mm"] + gap / 2), "its place", 6.0)
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


def hold_marks(held: Held, plan: dict[str, Any], springback: Springback) -> None:
    """Arrow, center mark and star from either hook describe one arc; what is printed is the nearest tape reading; what
    is pulled to leaves the bend's angle."""
    bender, tape = plan["bender"], plan["tape"]
    place = {"arrow": -bender["arrow_lead_mm"], "center": bender["center_mm"], "star": bender["star_mm"]}
    half = (25.4 if tape["unit"] == "in" else 1.0) / tape["denominator"] / 2
    for piece in plan["pieces"]:
        cut = printed(piece["cut_length_tape"], tape["unit"])
        held.near("printed length: cut", cut - piece["cut_length_mm"], "cut length", half + TIGHT_MM)
        _trim(held, piece, tape["unit"], half)
        orders = sorted(b["order"] for b in piece["bends"])
        held.true("marks: order", orders == list(range(1, len(orders) + 1)), f"orders {orders}")
        before: dict[str, Any] | None = None
        for bend in sorted(piece["bends"], key=lambda b: b["order"]):
            _pull(held, bend, springback)
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


def _pull(held: Held, bend: dict[str, Any], springback: Springback) -> None:
    """The angle that the person pulls to: the bend's own, read after letting go; with calibrated springback more, read
    while pulling."""
    more = 0.0 if springback is None else springback[0] + springback[1] * bend["angle_deg"]
    basis = "relaxed" if springback is None else "under load"
    held.near("pull to: angle", bend["pointer_deg"] - bend["angle_deg"] - more, f"bend {bend['number']}", 1e-8)
    held.true("pull to: basis", bend["pointer_basis"] == basis, f"{bend['pointer_basis']}, not {basis}")
    held.words.add(f"pulled to, {basis}")


def spin_said(bend: dict[str, Any]) -> bool:
    """Whether the words tell the turn about the axis, to half a degree, and which way seen from A."""
    words, size = str(bend["spin_words"]).lower(), abs(bend["spin_deg"])
    if size < 0.25:
        return "do not rotate" in words
    if size > 179.75:
        return "rotate 180°" in words
    told = re.search(r"rotate (?:(\d+)(?: (1/2))?|(1/2))° (counter)?clockwise, seen from a", words)
    if told is None:
        return False
    amount = float(told[1] or 0) + (0.5 if told[2] or told[3] else 0.0)
    return abs(amount - float(size)) < 0.251 and bool(told[4]) == bool(bend["spin_deg"] < 0)


def _trim(held: Held, piece: dict[str, Any], unit: str, half: float) -> None:
    """A piece cut after bending: where to cut, from the stock's end, which lies `extra_a_mm` before end A."""
    cuts = [printed(mark["text"], unit) for mark in piece["trim_marks"]]
    wanted: list[float] = []
    if piece["trim_after"]:
        wanted = [piece["extra_a_mm"]] if piece["extra_a_mm"] else []
        wanted.append(piece["extra_a_mm"] + piece["cut_length_mm"])
    held.true("trim: cuts", len(cuts) == len(wanted), f"{len(cuts)} cuts, {len(wanted)} needed")
    for cut, want in zip(cuts, wanted, strict=False):
        held.near("printed trim: off", cut - want, "a cut elsewhere", half + TIGHT_MM)
    if not piece["trim_after"]:
        held.true("trim: none", piece["extra_a_mm"] == piece["extra_b_mm"] == 0.0, "too long, and never cut")
