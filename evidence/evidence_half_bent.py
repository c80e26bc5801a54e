"""1,000 random half-bent and bent pieces: new marks and corrections rebuilt, and held to what they say is hit.

`python evidence/evidence_half_bent.py [--count N] [--seed N] [--show SEED]`. Surveys of `survey_writer.py` are planned;
some bends of a piece are then made otherwise, within what hands do and beyond, and `remark` and `tweak` are asked with
the plan's JSON. The kinematics (rebuilt.py) and the checks (bent_facts.py) share no code with the program. Exit code 1
on any miss: a hit that is not said, a hit that is said and is none, an end that is called met and is not, a scrapped
piece with marks or a promise, a piece that serves and is called scrap.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from itertools import pairwise
from math import cos, radians
from random import Random
from typing import Any

from bent_facts import (
    TOLERANCE_MM,
    arc_start,
    hold_end,
    hold_room,
    hold_run,
    piece_parts,
    tape_step_mm,
    thing,
    with_bends,
)
from evidence_surveys import Tally, plan_text
from held import HALF_MM, Held
from racewright.errors import InputError, LimitError
from racewright.operations.answer import ask_json
from rebuilt import Part, Vec, add, cross, dot, least_distance, less
from scrap_facts import hold_scrap, hold_serves
from survey_writer import write_run

#: The axis of an answer is drawn in steps near 5 degrees, rounded to whole steps: 6.25 at most (12.5 in two). So far
#: its chords lie inside the arc, of its radius.
SAGITTA = 1.0 - cos(radians(6.25 / 2.0))
#: Each of these is met in so many answers at least, of 1,000.
LEAST = {
    "hit, and said": 20,
    "kept clear": 150,
    "too close, and said": 20,
    "another order": 5,
    "into a wall, and said": 10,
    "meets itself, and said": 15,
    "scrap": 25,
    "sprung, and said": 15,
    "open end off, and said": 8,
    "twisted back": 40,
    "serves": 300,
}


def hold_half_bent(tally: Tally, seed: int) -> bool:
    """One piece, half bent and wholly bent. False where its survey has none with two bends."""
    rng = Random(seed + 70_000)
    try:
        plan = plan_text(write_run(seed))
    except (InputError, LimitError):
        return False
    able = [n for n, piece in enumerate(plan["pieces"], 1) if len(piece["bends"]) > 1]
    if not able:
        return False
    number = rng.choice(able)
    piece = plan["pieces"][number - 1]
    wild = rng.choice((0.5, 1.0, 1.0, 3.0))
    held = Held()
    _remark(held, rng, plan, piece, number, wild)
    _angles(held, rng, plan, piece, number, wild)
    _readings(held, rng, plan, piece, number, wild)
    tally.take(seed, held)
    return True


def _asked(held: Held, operation: str, **request: Any) -> dict[str, Any] | None:
    """The answer; None where the work cannot be done and it is said so."""
    answer: dict[str, Any] = json.loads(ask_json(operation, json.dumps(request)))
    if "error" in answer:
        held.words.add(f"{operation} refused")
        fair = operation == "tweak" and answer["error"]["kind"] == "limit"
        held.true(f"{operation} refused", fair, str(answer["error"]["message"]))
        return None
    held.words.add(operation)
    return answer


#: What each made bend is: where it begins, its angle and its plane.
Bends = dict[int, tuple[float, float, float]]


def _made(rng: Random, plan: dict[str, Any], piece: dict[str, Any], wild: float) -> tuple[list[dict[str, Any]], Bends]:
    """The first bends of a piece as some hand made them: as read, and as they are."""
    order = sorted(piece["bends"], key=lambda b: b["order"])
    if rng.random() < 0.2:
        rng.shuffle(order)
    made: list[dict[str, Any]] = []
    bends: Bends = {}
    for bend in order[: rng.randint(1, len(order) - 1)]:
        angle = min(120.0, max(1.0, bend["angle_deg"] + rng.gauss(0.0, 1.5) * wild))
        mark = bend["mark_mm"] + rng.gauss(0.0, 1.6) * wild
        roll = rng.choice((0.0, rng.gauss(0.0, 1.5) * wild))
        start = arc_start(plan, bend["hook"], bend["reference"], mark, angle)
        if start < 0.0:
            mark, start = bend["mark_mm"] - bend["arc_start_mm"], 0.0
            start = arc_start(plan, bend["hook"], bend["reference"], mark, angle)
        reading = {"number": bend["number"], "mark": f"{mark:.4f} mm", "angle_deg": angle, "roll_off_deg": roll}
        bends[bend["number"]] = (
            arc_start(plan, bend["hook"], bend["reference"], round(mark, 4), angle),
            angle,
            bend["roll_deg"] + roll,
        )
        made.append(reading)
    return made, bends


def _remark(held: Held, rng: Random, plan: dict[str, Any], piece: dict[str, Any], number: int, wild: float) -> None:
    made, bends = _made(rng, plan, piece, wild)
    over = _overlap_mm(piece, bends)
    if over > 0.0:  # no piece can be so: within a step of the tape the readings are out
        request = {"plan": plan, "piece": number, "made": made}
        said = "error" in json.loads(ask_json("remark", json.dumps(request)))
        held.true("made bends overlap", said or over <= tape_step_mm(plan) + 1e-6, f"by {over} mm, and answered")
        held.words.add("made bends overlap, and said" if said else "made bends touch")
        return
    more = {"stock": f"{piece['cut_length_mm'] + 600:.0f} mm"} if rng.random() < 0.5 else {}
    answer = _asked(held, "remark", plan=plan, piece=number, made=made, **more)
    if answer is None:
        return
    if answer["scrap"]:
        stock = float(more["stock"].split()[0]) if more else piece["least_stock_mm"] - piece["extra_a_mm"]
        hold_scrap(held, plan, piece, number, answer, bends, made, stock)
        return
    _mend(held, piece, answer, bends)
    rounded = _mark(held, plan, piece, answer, bends)
    if not answer["room"]:
        said = any("overlap" in line for line in answer["not_included"])
        loud = any(f["severity"] == "problem" for f in answer["findings"])
        held.true("not looked at", said and loud, "no room is told, and nothing is said")
        held.words.add("bends overlap, and said")
        return
    parts = piece_parts(with_bends(piece, bends, answer["cut"]["mm"]))
    planned = piece_parts(piece)
    on_tape = bends if _overlaps(piece, rounded, answer["cut"]["mm"]) else rounded
    as_marked = with_bends(piece, on_tape, answer["cut"]["mm"])
    hold_room(held, plan, planned, piece_parts(as_marked), answer)
    hold_run(held, plan, number, as_marked, answer["findings"])
    hold_end(held, planned, parts, met=answer["met"])
    hold_serves(held, plan, piece, bends, answer)


def _mend(held: Held, piece: dict[str, Any], answer: dict[str, Any], bends: Bends) -> None:
    """The made bends as they are once what the answer says of them is done."""
    # what is made counts from end A as it then is, and from how the piece then goes in
    for done, (start, angle, roll) in bends.items():
        bends[done] = (start - answer["trim_a_mm"], angle, roll + answer["turned_deg"])
    for opened in answer["opened"]:  # a bend made too large gives back what it has too much, away from its hook
        start, angle, roll = bends[opened["number"]]
        planned_bend = piece["bends"][opened["number"] - 1]
        at_b = radians(opened["by_deg"]) * piece["bend_radius_mm"] if planned_bend["hook"] == "B" else 0.0
        bends[opened["number"]] = (start + at_b, angle - opened["by_deg"], roll)
        held.near("opened: to", angle - opened["by_deg"] - opened["angle_deg"], "said otherwise", 1e-6)
        held.true("opened: a little", 0.25 - 1e-6 <= opened["by_deg"] <= 5.0 + 1e-6, f"by {opened['by_deg']}")
    for twist in answer["twisted"]:  # it and all that follows it is turned back
        held.words.add("twisted back")
        held.true("twisted: a little", 0.25 - 1e-6 <= abs(twist["by_deg"]) <= 10.0 + 1e-6, f"by {twist['by_deg']}")
        for done, (start, angle, roll) in bends.items():
            bends[done] = (start, angle, roll + (twist["by_deg"] if done >= twist["number"] else 0.0))
    for wants in (f for f in answer["findings"] if f["rule"] == "replan.in_hand"):
        held.words.add("more in hand is asked for")
        held.true("its stick has it", wants["measured"] < wants["allowed"] <= piece["stock_mm"] + 1e-6, str(wants))
    held.words |= {word for word, there in _mended(answer).items() if there}


def _mark(held: Held, plan: dict[str, Any], piece: dict[str, Any], answer: dict[str, Any], bends: Bends) -> Bends:
    """The rest is bent by the new marks; the bends with those marks as the tape reads them."""
    rounded = dict(bends)
    for mark in answer["marks"]:
        start = arc_start(plan, mark["hook"], mark["reference"], mark["mark"]["mm"], mark["angle_deg"])
        bends[mark["number"]] = rounded[mark["number"]] = (start, mark["angle_deg"], mark["roll_deg"])
        if not mark["further_deg"]:  # bent further on the mark that is there
            rounded[mark["number"]] = (start + mark["mark_rounding_mm"], mark["angle_deg"], mark["roll_deg"])
        held.near(
            "rounding: of a mark", mark["mark_rounding_mm"], "the tape is further off", tape_step_mm(plan) / 2 + HALF_MM
        )
    for bare in sorted(answer["left_out"]):  # no bend is made there: one of nothing, where the bend before it ends
        start, angle, roll = rounded.get(bare - 1, (0.0, 0.0, 0.0))
        bends[bare] = rounded[bare] = (start + radians(angle) * piece["bend_radius_mm"], 0.0, roll)
        held.words.add("a bend left out")
    held.true("all bends", len(bends) == len(piece["bends"]), "a bend is neither made nor marked")
    if answer["other_order"]:
        held.words.add("another order")
    return rounded


def _overlaps(piece: dict[str, Any], bends: Bends, cut: float) -> bool:
    """Whether rounding a mark lays one bend into another."""
    at = 0.0
    for _, (start, angle, _) in sorted(bends.items()):
        if start < at:
            return True
        at = start + radians(angle) * piece["bend_radius_mm"]
    return cut < at


def _mended(answer: dict[str, Any]) -> dict[str, bool]:
    """What of the bends that are made is mended."""
    return {
        "bent further": any(mark["further_deg"] for mark in answer["marks"]),
        "trimmed at end A": bool(answer["trim_a_mm"]),
        "turned in its fitting": bool(answer["turned_deg"]),
    }


def _overlap_mm(piece: dict[str, Any], bends: Bends) -> float:
    """By how much the worst two of these bends share conduit."""
    arcs = [(start, start + radians(angle) * piece["bend_radius_mm"]) for _, (start, angle, _) in sorted(bends.items())]
    return max((ends - begins for (_, ends), (begins, _) in pairwise(arcs)), default=0.0)


def _angles(held: Held, rng: Random, plan: dict[str, Any], piece: dict[str, Any], number: int, wild: float) -> None:
    """A finished piece of which every angle is read: where its bends lie is known, and so is the corrected piece."""
    real = {b["number"]: max(1.0, b["angle_deg"] + rng.gauss(0.0, 1.0) * wild) for b in piece["bends"]}
    measured = [{"what": "angle", "number": n, "angle_deg": angle} for n, angle in real.items()]
    answer = _asked(held, "tweak", plan=plan, piece=number, measured=measured)
    if answer is None:
        return
    bends = {}
    for b in piece["bends"]:
        angle = real[b["number"]] + sum(
            m["by_deg"] for m in answer["moves"] if m["what"] == "angle" and m["number"] == b["number"]
        )
        roll = sum(m["by_deg"] for m in answer["moves"] if m["what"] == "roll" and m["number"] <= b["number"])
        # the tangent point on the hook's side stays
        stays = radians(angle - b["angle_deg"]) * piece["bend_radius_mm"] if b["hook"] == "B" else 0.0
        bends[b["number"]] = (b["arc_start_mm"] - stays, angle, b["roll_deg"] + roll)
    corrected = with_bends(piece, bends, piece["cut_length_mm"])
    parts, planned = piece_parts(corrected), piece_parts(piece)
    if not answer["room"]:
        held.words.add("bends overlap, and said")
        return
    hold_room(held, plan, planned, parts, answer)
    hold_run(held, plan, number, corrected, answer["findings"])
    hold_end(held, planned, parts, met=True)


def _readings(held: Held, rng: Random, plan: dict[str, Any], piece: dict[str, Any], number: int, wild: float) -> None:
    """A finished piece of which little is read: the axis that the answer draws shows the readings as planned, and what
    that axis hits is said."""
    bends = {
        b["number"]: (
            b["arc_start_mm"],
            max(1.0, b["angle_deg"] + rng.gauss(0.0, 0.7) * wild),
            b["roll_deg"] + (rng.gauss(0.0, 0.7) * wild if b["number"] > 1 else 0.0),
        )
        for b in piece["bends"]
    }
    if min(s2[0] - s1[0] - radians(s1[1]) * piece["bend_radius_mm"] for s1, s2 in pairwise(list(bends.values()))) < 0.0:
        return
    planned = piece_parts(piece)
    real = piece_parts(with_bends(piece, bends, piece["cut_length_mm"]))
    first = planned[0]
    up = _off_the_wall(plan, first)
    if abs(dot(up, first.axis)) > 1e-6:
        return
    ways: dict[str, Vec] = {"up": up, "left": cross(up, first.axis)}
    off = less(real[-1].at(real[-1].length), planned[-1].at(planned[-1].length))
    asked = rng.choice((("up",), ("left",), ("up", "left")))
    measured = [{"what": "off", "way": way, "off": f"{dot(off, ways[way]):.4f} mm"} for way in asked]
    answer = _asked(held, "tweak", plan=plan, piece=number, measured=measured)
    if answer is None or any("no piece near" in line for line in answer["not_included"]):
        return
    line = [tuple(point) for point in answer["corrected"]]
    held.words.add("few readings")
    for way in asked:
        away = dot(less(line[-1], planned[-1].at(planned[-1].length)), ways[way])
        held.near(f"readings: {way}", away, "the drawn end is off where it was measured", 2 * TOLERANCE_MM)
    if not answer["room"]:
        return
    chords = [_chord(a, b) for a, b in pairwise(line)]
    half, near = piece["outside_diameter_mm"] / 2, piece["bend_radius_mm"] * SAGITTA + 0.01
    names = [o["name"] for o in plan["obstacles"]]
    told = {f.get("where"): f["severity"] for f in answer["findings"] if f["rule"] == "run.clearance"}
    room = {r["name"]: r["left"]["mm"] for r in answer["room"]}
    for view in plan["obstacles"]:
        left = least_distance(chords, thing(view["solid"])) - half
        if names.count(view["name"]) > 1 or left < 1.0 - half:
            continue
        held.near("room drawn: by the axis", room[view["name"]] - left, view["name"], near)
        if left < -near:
            held.words.add("drawn hit, and said")
            held.true("drawn hit", told.get(view["name"]) == "problem", f"{view['name']}: {left:.3f} mm")


def _off_the_wall(plan: dict[str, Any], first: Part) -> Vec:
    """Up for who looks along the piece from end A with the surface underfoot: of the surfaces that go along its first
    straight the nearest one's normal."""
    faces = [face for wall in plan["surfaces"] for face in wall["solid"].get("faces", [wall["solid"]])]
    along = [f for f in faces if abs(dot(f["normal"], first.axis)) < 1e-6]
    if not along:  # none goes along it: that of leg 1 counts
        return (0.0, 0.0, 1.0)
    return tuple(min(along, key=lambda f: abs(dot(less(first.point, f["point"]), f["normal"])))["normal"])


def _chord(a: Vec, b: Vec) -> Part:
    way = less(b, a)
    length = max(1e-12, dot(way, way) ** 0.5)
    axis = add((0.0, 0.0, 0.0), way, 1.0 / length)
    return Part(0.0, length, a, axis, axis, 0.0, -1, 0)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=1000, help="pieces")
    parser.add_argument("--seed", type=int, default=0, help="the first survey's number")
    parser.add_argument("--show", type=int, help="hold one survey's piece, and stop")
    asked = parser.parse_args()
    tally = Tally()
    if asked.show is not None:
        print(write_run(asked.show))
        hold_half_bent(tally, asked.show)
        print(*(miss for _, miss in tally.missed), sep="\n")
        return 1 if tally.missed else 0
    begin, seed = time.perf_counter(), asked.seed
    while tally.planned < asked.count:
        hold_half_bent(tally, seed)
        seed += 1
    print(f"{tally.planned} pieces of {seed - asked.seed} surveys, {time.perf_counter() - begin:.0f} s")
    print("held, and the worst (mm or degrees; survey):")
    for kind in sorted(tally.counts):
        worst = tally.worst.get(kind)
        print(f"  {tally.counts[kind]:8}  {kind:22}" + (f" {worst[0]:10.2e} ({worst[1]})" if worst else ""))
    met: Counter[str] = tally.words
    print("met in pieces: " + ", ".join(f"{word}: {times}" for word, times in sorted(met.items())))
    rare = [word for word, least in LEAST.items() if met[word] < least * asked.count / 1000]
    if rare:
        print(f"met too seldom: {', '.join(rare)}")
    print(f"misses: {len(tally.missed)} in {len({s for s, _ in tally.missed})} pieces")
    for at, miss in tally.missed[:25]:
        print(f"  survey {at}: {miss}")
    return 1 if tally.missed or rare else 0


if __name__ == "__main__":
    sys.exit(main())
