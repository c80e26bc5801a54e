"""Pieces, marks, cuts and turns of a plan's JSON: each against the others and against what is printed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from math import radians
from typing import Any

from held import HALF_MM, TIGHT_MM, Held, far
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
        held.near("printed length: cut", cut - piece["cut_length_mm"], "cut length", half + HALF_MM)
        _trim(held, piece, tape["unit"], half)
        orders = sorted(b["order"] for b in piece["bends"])
        held.true("marks: order", orders == list(range(1, len(orders) + 1)), f"orders {orders}")
        before: dict[str, Any] | None = None
        first = next((b for b in piece["bends"] if b["order"] == 1), None)
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
            held.near("printed mark: off", text - bend["mark_mm"], f"bend {bend['number']}", half + HALF_MM)
            held.near("marks: rounding", text - bend["mark_mm"] - bend["mark_rounding_mm"], "rounding told")
            off = (line_at(first, bend) - bend["line_deg"]) % 360 if first else 0.0
            held.near("marks: line", min(off, 360 - off), f"at bend {bend['number']}", 1e-5)
            if before is not None:
                turn = (before["roll_deg"] - bend["roll_deg"] - bend["spin_deg"]) % 360
                held.near("marks: spin", min(turn, 360 - turn), f"before bend {bend['number']}", 1e-6)
                told = f"{before['line_deg']}° to {bend['line_deg']}° is told as: {bend['spin_words']}"
                held.true("rotate words: said", rotation_said(before, bend), told)
            before = bend


def _pull(held: Held, bend: dict[str, Any], springback: Springback) -> None:
    """The angle that the person pulls to: the bend's own, read after letting go; with calibrated springback more, read
    while pulling."""
    more = 0.0 if springback is None else springback[0] + springback[1] * bend["angle_deg"]
    basis = "relaxed" if springback is None else "under load"
    held.near("pull to: angle", bend["pointer_deg"] - bend["angle_deg"] - more, f"bend {bend['number']}", 1e-8)
    held.true("pull to: basis", bend["pointer_basis"] == basis, f"{bend['pointer_basis']}, not {basis}")
    held.words.add(f"pulled to, {basis}")


def inside_up(bend: dict[str, Any]) -> bool:
    """Whether the inside of a bend faces up while it is made: on the floor the hook's side rises; over the shoe of a
    bender that stands upside down the free side comes down."""
    return bool(bend["stance"] == "floor" or not bend["on_shoe"])


def line_at(first: dict[str, Any], bend: dict[str, Any]) -> float:
    """Where a line drawn on top of the conduit at the first bend faces at this one: degrees clockwise from up, seen
    from A. It lies along the first bend's inside or its back; the inside of this one faces up or down."""
    along = first["roll_deg"] + (0 if inside_up(first) else 180)
    return float((along - bend["roll_deg"] + (0 if inside_up(bend) else 180)) % 360)


def rotation_said(before: dict[str, Any], bend: dict[str, Any]) -> bool:
    """Whether the words tell how to rotate from bend to bend, to half a degree, and where the line faces then."""
    words = str(bend["spin_words"])
    turn = (bend["line_deg"] - before["line_deg"] + 180) % 360 - 180
    size, faces = abs(turn), bend["line_deg"] % 360
    told = re.search(r"Rotate (?:(\d+)(?: (1/2))?|(1/2))°(?: (counter)?clockwise, seen from A)?: line ", words)
    if size < 0.25:
        right = "Do not rotate: line stays " in words
    elif told is None:
        return False
    else:
        amount = float(told[1] or 0) + (0.5 if told[2] or told[3] else 0.0)
        right = abs(amount - size) < 0.251 and (size > 179.75 or (told[4] is not None) == (turn < 0))
    line = words.rpartition("line ")[2].removeprefix("stays ")
    named = {"up": 0.0, "at 3 o'clock": 90.0, "down": 180.0, "at 9 o'clock": 270.0}.get(line)
    if named is None:
        found = re.fullmatch(r"(?:(\d+)(?: (1/2))?|(1/2))° (counter)?clockwise of up", line)
        if found is None:
            return False
        named = float(found[1] or 0) + (0.5 if found[2] or found[3] else 0.0)
        named = 360 - named if found[4] else named
    return right and min((named - faces) % 360, (faces - named) % 360) < 0.26


def _trim(held: Held, piece: dict[str, Any], unit: str, half: float) -> None:
    """A piece cut after bending: where to cut, from the stock's end, which lies `extra_a_mm` before end A."""
    cuts = [printed(mark["text"], unit) for mark in piece["trim_marks"]]
    wanted: list[float] = []
    if piece["trim_after"]:
        wanted = [piece["extra_a_mm"]] if piece["extra_a_mm"] else []
        wanted.append(piece["extra_a_mm"] + piece["cut_length_mm"])
    held.true("trim: cuts", len(cuts) == len(wanted), f"{len(cuts)} cuts, {len(wanted)} needed")
    for cut, want in zip(cuts, wanted, strict=False):
        held.near("printed trim: off", cut - want, "a cut elsewhere", half + HALF_MM)
    if not piece["trim_after"]:
        held.true("trim: none", piece["extra_a_mm"] == piece["extra_b_mm"] == 0.0, "too long, and never cut")
