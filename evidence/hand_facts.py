"""Shoe, stick and hands: what a taught shoe's marks are, what a piece is cut from, whether it can be held."""

from __future__ import annotations

import csv
from fractions import Fraction
from math import pi, radians
from typing import Any

from held import TIGHT_MM, Held
from tape_words import CATALOGUE, Run, outside_diameter

INCH = Fraction(254, 10)
#: Straights that are just long enough are held to this much.
GIVE_MM = 1e-6


def hold_shoe(held: Held, run: Run, plan: dict[str, Any]) -> None:
    """A shoe's positions follow from what is taught of it: take-up and gain of a 90 give radius and lead, the radius
    alone the mark that centers a 45 and the star at the back of a 90. RMC and IMC are bent in an EMT shoe's radius."""
    bender = plan["bender"]
    if bender is None:
        held.true("shoe: none", not any(p["bends"] for p in plan["pieces"]), "bends, and no shoe")
        return
    kind, size = run.written["raceway"].split()
    if "bend_radius" in run.written:
        radius, lead, reach, grip = run.mm(run.written["bend_radius"]), 0.0, 0.0, 0.0
    else:
        with (CATALOGUE.parents[1] / "tools" / "data" / "hand_shoes.csv").open(encoding="utf-8") as file:
            rows = {(r["raceway_type"], r["trade_size"]): r for r in csv.DictReader(file)}
        row = rows[kind, size]
        shoe = rows["EMT", row["shoe_size"]]
        gain = float(Fraction(shoe["gain_in"]) * INCH)
        radius = (gain - outside_diameter("EMT", shoe["trade_size"])) / (2 - pi / 2)
        lead = float(Fraction(row["take_up_in"]) * INCH) - radius - run.od / 2
        reach, grip = (float(Fraction(row[k]) * INCH) for k in ("hook_reach_in", "grip_in"))
    center, star = radius * radians(45) / 2, radius * (pi / 2 - 1) - run.od / 2
    for name, wanted in (
        ("radius_mm", radius),
        ("arrow_lead_mm", lead),
        ("center_mm", center),
        ("centre_mm", center),
        ("star_mm", star),
        ("hook_reach_mm", reach),
        ("grip_mm", grip),
    ):
        held.near("shoe: taught", bender[name] - wanted, name)


def sticks_of(run: Run) -> list[float]:
    """The lengths that are bought: the survey's, or what the raceway comes in."""
    if "stock" in run.written:
        written = run.written["stock"]
        return [run.mm(text) for text in (written if isinstance(written, list) else [written])]
    kind, size = run.written["raceway"].split()
    with (CATALOGUE / "raceways.csv").open(encoding="utf-8") as file:
        row = next(r for r in csv.DictReader(file) if (r["type"], r["trade_size"]) == (kind, size))
    return [float(Fraction(row["stock_length_in"]) * INCH)]


def hold_stock(held: Held, run: Run, plan: dict[str, Any]) -> None:
    """Each piece comes from a stick that is sold or an offcut on hand, each offcut once, and is no longer than it; or
    it is said that the run is longer than a stick and cannot be cut into pieces, or of a piece that it wants a longer
    one until it is cut."""
    sold, left = sticks_of(run), [run.mm(text) for text in run.written.get("offcuts", [])]
    told = {f.get("where", "") for f in plan["findings"] if f["rule"] == "run.sticks" and f["severity"] == "problem"}
    said = bool(told - {piece["label"] for piece in plan["pieces"]})
    for piece in plan["pieces"]:
        stick, what = piece["stock_mm"], f"stick: {piece['label']}"
        if piece["label"] in told:
            held.true(what, piece["least_stock_mm"] > max(*sold, *left, 0.0), "it is said to want a longer stick")
            held.words.add("wants a longer stick until it is cut")
            continue
        if said:
            held.true(what, piece["cut_length_mm"] > max(*sold, *left, 0.0), "it is said to be longer than a stick")
            held.words.add("longer than a stick and said")
            continue
        held.true(what, piece["cut_length_mm"] <= stick + TIGHT_MM, f"{piece['cut_length_mm']} mm of {stick} mm")
        near = [s for s in left if abs(s - stick) < TIGHT_MM]
        if near and not any(abs(s - stick) < TIGHT_MM for s in sold):
            left.remove(near[0])
            held.words.add("cut from an offcut")
        else:
            held.true(what, any(abs(s - stick) < TIGHT_MM for s in sold), f"{stick} mm are not sold and not on hand")
        more = piece["extra_a_mm"] + piece["extra_b_mm"]
        held.near(what, piece["least_stock_mm"] - piece["cut_length_mm"] - more, "the least stick")


def _no_split(finding: dict[str, Any], plan: dict[str, Any]) -> bool:
    """That the run is longer than a stick and cannot be cut into pieces: no order is looked for."""
    labels = {piece["label"] for piece in plan["pieces"]}
    return finding["rule"] == "run.sticks" and finding.get("where", "") not in labels


def hold_hands(held: Held, plan: dict[str, Any]) -> None:
    """In the order that is said every bend has straight conduit, not yet bent, for lead and hook on one side and for a
    grip on the other; or a problem says that no order does. Pieces between couplings can always be bent, but for a run
    that meets itself, and where the search for another place to cut was cut short."""
    bender = plan["bender"]
    for piece in plan["pieces"]:
        # what is longer than every stick is said to be so, and no order of it is looked for
        said = any(
            (f["rule"] == "bend.order" and f["where"] == piece["label"]) or _no_split(f, plan)
            for f in plan["findings"]
            if f["severity"] != "info"
        )
        if said:
            held.words.add("no order and said")
            # what would lie in itself has no last bend; and where the search was cut short that is said
            cut_short = any(f["rule"] == "bend.order" and "not proved" in f["message"] for f in plan["findings"])
            itself = any(f["rule"] == "run.itself" for f in plan["findings"])
            fair = len(plan["pieces"]) == 1 or itself or cut_short
            if cut_short and not itself:
                held.true("no order of several pieces, said as not proved", cut_short, "")
            held.true("hands: of several pieces", fair, f"{piece['label']} cannot be bent")
            continue
        made = [(-piece["extra_a_mm"], -piece["extra_a_mm"])]
        end = piece["cut_length_mm"] + piece["extra_b_mm"]
        made.append((end, end))
        for bend in sorted(piece["bends"], key=lambda b: b["order"]):
            start, stop = bend["arc_start_mm"], bend["arc_end_mm"]
            before = start - max(b for _, b in made if b <= start + TIGHT_MM)
            after = min(a for a, _ in made if a >= stop - TIGHT_MM) - stop
            hook, grip = (before, after) if bend["hook"] == "A" else (after, before)
            what = f"hands: bend {bend['number']} of {piece['label']}"
            need = bender["arrow_lead_mm"] + bender["hook_reach_mm"]
            held.true(what, hook >= need - GIVE_MM, f"{hook:.2f} mm for lead and hook, {need:.2f} needed")
            held.true(what, grip >= bender["grip_mm"] - GIVE_MM, f"{grip:.2f} mm to hold, {bender['grip_mm']} needed")
            made.append((start, stop))
