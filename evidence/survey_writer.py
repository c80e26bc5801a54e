"""Random surveys as a person would write them: YAML text, tape lengths in many spellings, every word of the format.

The writer only leaves room enough that most runs can be made; it does not say where anything comes out. What is met on
the legs is written by `thing_writer.py`.
"""

from __future__ import annotations

from math import radians, tan
from typing import Any

from thing_writer import (
    INCH,
    Survey,
    degrees,
    least_offset,
    offset_room,
    tape,
    write_box_offset,
    write_keep_clear,
    write_kick,
    write_offset,
    write_saddle,
)

FITTINGS = {
    "EMT": ("set-screw", "compression", "none", "set-screw coupling", "compression coupling"),
    "RMC": ("threaded", "set-screw", "compression", "none", "threaded coupling"),
    "IMC": ("threaded", "set-screw", "compression", "none", "threaded coupling"),
    "PVC": ("socket", "none", "socket coupling"),
}
TURNS = (90, 90, 90, 90, 90, 90, 90, 30, 45, 60, 75, 22.5, 105, 120)


def scalar(value: object) -> str:
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return "'" + text.replace("'", "''") + "'" if any(c in text for c in "'\":,#{}[]") else text


def flow(fields: dict[str, object]) -> str:
    return "{" + ", ".join(f"{k}: {scalar(v)}" for k, v in fields.items()) + "}"


def write_leg(
    survey: Survey,
    number: int,
    legs: int,
    ends: dict[str, dict[str, object]],
    turn: dict[str, Any],
    before: dict[str, Any],
) -> dict[str, Any]:
    """One leg: what it is measured from and to, its features in order, and a length that leaves them room."""
    rng = survey.rng
    first, last = number == 0, number == legs - 1
    features: list[dict[str, object]] = []
    at = survey.between(1, 6) if first else survey.radius * 1.2 + survey.between(2, 6)
    if first:
        at = _leave_box(survey, at, ends["start"], features)
    at += survey.between(1, 5)
    off_by_gap = "gap" in before and before["way"] in ("away", "toward")
    for _ in range(rng.choice((1, 1, 2) if off_by_gap else (0, 0, 1, 1, 1, 2))):
        at = _meet(survey, at, features, off_by_gap=off_by_gap)
    if last and survey.chance(0.4):
        at = _enter_box(survey, at, ends["end"], features)
    elif survey.chance(0.4) and (last or turn["angle"] == 90):
        made, at = write_kick(survey, at)
        features.append(made)
    if survey.chance(0.03):
        at += survey.between(90, 260)
    leg: dict[str, object] = {}
    if first:
        leg["from"] = rng.choice(("face", "face", "stop", None))
    if last:
        leg["to"] = rng.choice(("face", "face", "stop", None))
        at += survey.between(1, 8)
    else:
        at += survey.radius * tan(radians(turn["angle"]) / 2) + survey.between(2.5, 10)
        words = ["back", "back", "centre", "inside", None]
        if turn["angle"] == 90 and turn["way"] != "toward":
            words += ["wall"] * 7
        if turn["way"] == "toward" and turn["angle"] == 90:
            words += ["edge"] * 12
        leg["to"] = rng.choice(words)
    return {"leg": tape(survey, at, up=True), **leg, "features": features}


def _leave_box(survey: Survey, at: float, start: dict[str, object], features: list[dict[str, object]]) -> float:
    """How the run comes from its first box to where it lies: by a box offset, if any. Where the tape is then."""
    if not survey.chance(0.3):
        if survey.chance(0.08):
            start["height"] = tape(survey, survey.lie + 15)
        return at
    rise = None
    if survey.chance(0.6):
        height = survey.lie + (survey.between(0.25, 0.9) if survey.chance(0.7) else -survey.stand_off * 0.8)
        if abs(height - survey.lie) > 3:
            start["height"] = tape(survey, height)
    elif survey.chance(0.7):
        # the run has to lie somewhere for it to go toward the surface
        sink = survey.chance(0.3) and survey.stand_off > 12
        rise = -survey.between(0.25, 0.45) if sink else survey.between(0.25, 1)
    if rise or "height" in start:
        made, at = write_box_offset(survey, at, where="start", rise=rise)
        features.append(made)
    return at


def _meet(survey: Survey, at: float, features: list[dict[str, object]], *, off_by_gap: bool) -> float:
    """One thing on a leg. Where the tape is behind it."""
    kinds = ["offset", "offset", "saddle", "saddle", "keep_clear", "box_offset"]
    if survey.height - survey.lie > 20:
        kinds += ["offset"] * 3
    if off_by_gap:
        kinds += ["box_offset"] * 9
    kind = survey.rng.choice(kinds)
    if survey.bends >= 4:
        kind = "keep_clear"
    if kind == "offset":
        made, at = write_offset(survey, at)
    elif kind == "saddle":
        made, at = write_saddle(survey, at)
    elif kind == "keep_clear":
        # some stand within what was written before: beside a slope, over the top of a saddle
        back = survey.rng.uniform(0, at) if survey.chance(0.4) else None
        made, past = write_keep_clear(survey, at if back is None else back)
        at = past if back is None else at
    else:
        raised = survey.height - survey.lie
        rise = -min(raised, survey.rng.uniform(8, 25)) if raised > 8 else survey.between(0.25, 1)
        made, at = write_box_offset(survey, at, where="mid", rise=rise)
    features.append(made)
    survey.bends += {"offset": 2, "saddle": 4, "box_offset": 2}.get(kind, 0)
    return at + survey.between(2, 6)


def _enter_box(survey: Survey, at: float, end: dict[str, object], features: list[dict[str, object]]) -> float:
    """A box offset to the last box. Where the tape is behind it."""
    raised = survey.height - survey.lie
    rise = None
    if survey.chance(0.8):
        height = survey.height + (survey.between(0.3, 0.9) if raised < 8 or survey.chance(0.5) else -15.0)
        end["height"] = tape(survey, height)
    else:
        rise = -min(raised, survey.rng.uniform(8, 20)) if raised > 8 else survey.between(0.25, 0.8)
    made, at = write_box_offset(survey, at, where="end", rise=rise)
    features.append(made)
    return at + survey.between(0.5, 3)


def write_walk(survey: Survey, ends: dict[str, dict[str, object]]) -> list[dict[str, object]]:
    rng = survey.rng
    legs = rng.choices((1, 2, 3, 4), (5, 5, 2, 0.5))[0]
    parts: list[dict[str, object]] = []
    before: dict[str, Any] = {}
    kicked: dict[str, object] = {}
    for number in range(legs):
        way = rng.choice(("left", "right", "away", "away", "toward", "toward"))
        turn: dict[str, Any] = {"way": way, "angle": rng.choice(TURNS)}
        leg = write_leg(survey, number, legs, ends, turn, before)
        if before:
            words = ["back", "back", "centre", "inside", None]
            if "starts_at" in kicked:
                # the angle that is bent at the turn is left open, so its back is no place to measure from
                words = ["centre"]
            if before["way"] == "toward" and before["angle"] == 90:
                words += ["edge"] * 10
            if before["way"] == "away" and before["angle"] == 90:
                words += ["wall"] * 8
            leg["from"] = rng.choice(words)
        features = leg.pop("features")
        kicked = features[-1].get("kick", {}) if features else {}
        parts.append({k: v for k, v in leg.items() if v is not None} | {"features": features})
        if number < legs - 1:
            written: dict[str, object] = {"turn": way}
            if turn["angle"] != 90 or survey.chance(0.1):
                written["angle"] = degrees(survey, turn["angle"])
            if way in ("away", "toward"):
                survey.height = survey.lie
            meets = leg.get("to") in ("wall", "edge")
            if meets and (survey.chance(0.6) or (leg["to"] == "wall" and way in ("left", "right"))):
                gap = rng.choice((0.0, 6.35, 19.05, 50.8))
                written["gap"] = tape(survey, gap)
                turn["gap"] = gap
                if way in ("away", "toward"):
                    survey.height = gap + survey.od / 2
            parts.append(written)
            survey.bends += 1
        before = turn
    return parts


def write_survey(seed: int) -> str:
    """The text of one random survey."""
    survey = Survey(seed)
    rng = survey.rng
    kinds = FITTINGS[survey.raceway.split()[0].split("-")[0]]
    ends: dict[str, dict[str, object]] = {}
    for end in ("start", "end"):
        ends[end] = {"name": f"box {end}", "fitting": rng.choice(kinds)} if survey.chance(0.9) else {}
        if survey.raceway.startswith("PVC") and not ends[end]:
            ends[end] = {"fitting": "socket"}
        if survey.chance(0.15):
            ends[end]["insertion"] = tape(survey, survey.between(0.25, 1))
    parts = write_walk(survey, ends)
    lines = ["racewright: 1", f"units: {survey.units}"]
    if survey.fraction:
        lines.append(f"fraction: {survey.fraction}")
    lines += ["run:", f"  name: orchard run {seed}", f"  raceway: {survey.raceway}"]
    if survey.raceway.startswith("PVC"):
        lines.append(f"  bend_radius: {scalar(tape(survey, survey.radius, up=True))}")
    if survey.clearance:
        lines.append(f"  clearance: {scalar(tape(survey, survey.clearance))}")
    if survey.stand_off:
        lines.append(f"  stand_off: {scalar(tape(survey, survey.stand_off))}")
    if survey.chance(0.2):
        lines.append("  cut: after")
    if survey.chance(0.2):
        lines.append(f"  saddle_method: {rng.choice(('push-through', 'centre-outward'))}")
    if survey.chance(0.15):
        lines.append(f"  stock: [{rng.choice(('10 ft', '3 m', '20 ft', '10 ft, 20 ft'))}]")
    if survey.chance(0.2):
        lines.append(f"  offcuts: [{scalar(tape(survey, survey.between(30, 90)))}]")
    if survey.chance(0.3):
        lines.append(f"  surface: {rng.choice(('wall', 'floor', 'ceiling'))}")
        lines.append(f"  going: {rng.choice(('right', 'left', 'up', 'down'))}")
    lines += [f"  {end}: {flow(fields)}" for end, fields in ends.items() if fields]
    lines.append("  walk:")
    for part in parts:
        features: Any = part.pop("features", [])
        for i, (key, value) in enumerate(part.items()):
            lines.append(f"    {'- ' if i == 0 else '  '}{key}: {scalar(value)}")
        if features:
            lines.append("      features:")
            for feature in features:
                ((kind, fields),) = feature.items()
                lines.append(f"        - {kind}: {flow(fields)}")
    return "\n".join(lines) + "\n"


#: Every so manieth run winds.
WINDING_EACH = 12


def write_run(seed: int) -> str:
    """The text of a random run: most of the features of `write_survey`, some that wind."""
    return write_winding(seed) if seed % WINDING_EACH == WINDING_EACH - 1 else write_survey(seed)


def write_winding(seed: int) -> str:
    """A run of many turns round about the same place, so that it may come back to where it was: on one wall, or up and
    down from it; with an offset that may lift it over itself."""
    survey = Survey(seed)
    rng = survey.rng
    legs, lifts = rng.randint(4, 7), rng.choice((0, 0, 0, 1))
    ways = rng.choice((("right",), ("left",), ("right", "right", "left"), ("right", "right", "away")))
    back = survey.radius + survey.between(4, 9)
    lines = ["racewright: 1", f"units: {survey.units}"]
    if survey.fraction:
        lines.append(f"fraction: {survey.fraction}")
    lines += ["run:", f"  name: orchard winding run {seed}", f"  raceway: {survey.raceway}"]
    if survey.raceway.startswith("PVC"):
        lines.append(f"  bend_radius: {scalar(tape(survey, survey.radius, up=True))}")
    lines.append(f"  stock: [{rng.choice(('10 ft', '20 ft', '30 ft'))}]")
    kinds = FITTINGS[survey.raceway.split()[0].split("-")[0]]
    lines += [f"  {end}: {flow({'name': f'box {end}', 'fitting': rng.choice(kinds)})}" for end in ("start", "end")]
    lines.append("  walk:")
    for number in range(legs):
        # on a coarse grid, so that legs also run along each other and touch
        length = 2.0 * back + rng.choice((0.0, 4.0, 8.0, 8.0, 16.0, 16.0 + survey.od / INCH, 40.0)) * INCH
        features: list[str] = []
        if lifts and survey.chance(0.4):
            lifts, angle = 0, 30
            rise = max(least_offset(survey, angle), 1.5 * survey.od)
            room = offset_room(survey.radius, rise, angle)
            fields: dict[str, object] = {
                "name": survey.name("offset"),
                "rise": tape(survey, rise, up=True),
                "angle": "30",
                "starts_at": tape(survey, back + 20, up=True),
            }
            features = ["      features:", f"        - offset: {flow(fields)}"]
            length = max(length, 2.0 * back + room + 3 * INCH)
        lines.append(f"    - leg: {scalar(tape(survey, length, up=True))}")
        lines += features
        if number < legs - 1:
            lines.append(f"    - turn: {rng.choice(ways)}")
    return "\n".join(lines) + "\n"
