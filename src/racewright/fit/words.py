"""A correction and new marks in words: what changes, what is left, and why nothing sensible can be done."""

from __future__ import annotations

from collections.abc import Collection
from math import degrees, radians
from typing import Literal, NamedTuple

from racewright.bends.model import Bend, BentPiece
from racewright.errors import Finding, LimitError
from racewright.fit.accuracy import Tolerance
from racewright.fit.jacobian import walk
from racewright.fit.made import LEAST_MADE_RAD, ROLL_LIMIT_RAD, Mended
from racewright.fit.measured import BACK, INCHES, ApexRise, BendAngle, LegLean, Measured, gap_words, way_vector
from racewright.geometry.vector import Frame, Vec, cross, dot, even, sub
from racewright.sequence.words import clock_words, mark_names
from racewright.tools.benders import HookEnd, MadeBy
from racewright.units.angle import format_angle, hand_angle
from racewright.units.said import said
from racewright.units.tape import TapeStyle, format_length, read_tape

# Straights shorter than nothing by less than this are so by rounding.
OVERLAP_MM = 0.05

MoveKind = Literal["angle", "roll", "spin"]


class Move(NamedTuple):
    """One correction: bend `number` (from 1) gets `by_rad` more angle (negative: opened), or it and what follows
    is rolled right-handed about the axis from A to B; 'spin' turns the whole piece in the fitting at end A."""

    number: int
    kind: MoveKind
    by_rad: float


def measured_words(measured: Measured, style: TapeStyle) -> str:
    """'off up by 3/8" at end B'."""
    if isinstance(measured, BendAngle):
        return f"{mark_names([measured.number])} has {degrees(measured.angle_rad):.4g}°"
    if isinstance(measured, ApexRise):
        return f"rise under {mark_names([measured.number])}: {format_length(measured.rise_mm, style)}"
    if isinstance(measured, LegLean):
        way = BACK[measured.way] if measured.lean_rad < 0.0 else measured.way
        return f"last leg leans {way} {degrees(abs(measured.lean_rad)):.3g}°"
    place = "end B" if measured.station_mm is None else f"{format_length(measured.station_mm, style)} from end A"
    way = BACK[measured.way] if measured.off_mm < 0.0 else measured.way
    return f"off {way} by {format_length(abs(measured.off_mm), style)} at {place}"


def move_words(now: BentPiece, move: Move, how: MadeBy = "hand shoe") -> str:
    """'open mark 3 by 1 1/2°', 'bend mark 3 another 1 1/2°'; for a twist also which way the far end goes."""
    size, name = format_angle(abs(move.by_rad)), mark_names([move.number])
    if move.kind == "angle":
        return further_words(name, size, how, opens=move.by_rad < 0.0)
    sense = clock_words(move.by_rad)
    walked = walk(now)
    placed = walked.bends[move.number - 1]
    swing = cross(placed.start.axis, sub(walked.end.origin, placed.start.origin))
    goes = _way(swing if move.by_rad > 0.0 else (-swing[0], -swing[1], -swing[2]), now)
    if move.kind == "roll":
        words = twist_words(move.number, move.by_rad, how)
    else:
        words = f"rotate the whole piece in its fitting by {size} {sense}, seen from A"
    return f"{words} (the far end goes {goes})"


def twist_words(number: int, by_rad: float, how: MadeBy) -> str:
    """'twist it at mark 3 by 2° clockwise, seen from A'; PVC is heated for it."""
    name = mark_names([number])
    hot = f"heat the straight before {name} and " if how == "heat" else ""
    return f"{hot}twist it at {name} by {format_angle(abs(by_rad))} {clock_words(by_rad)}, seen from A"


def _way(v: Vec, piece: BentPiece) -> str:
    parts = {way: dot(v, way_vector(way, piece, Frame())) for way in BACK}
    name = max(parts, key=lambda way: even(abs(parts[way])))
    return name if parts[name] >= 0.0 else BACK[name]


class Left(NamedTuple):
    """What a correction leaves of the misfit where it leaves most, and how much may be left there (mm or rad)."""

    size: float
    allowed: float
    is_angle: bool


def refusal(refused: tuple[Move, ...] | None, left: Left, limit: float) -> LimitError:
    """Why no correction is given. `refused`: the smallest that would do but passes a limit, or None. `left`: what the
    best of the others leaves. `limit`: the most that a bend is opened (rad)."""
    if refused is not None:
        opening = max((-m.by_rad for m in refused if m.kind == "angle"), default=0.0)
        size = max((abs(m.by_rad) for m in refused), default=0.0)
        if opening > limit:
            return LimitError(
                f"the error could only be corrected by opening a bend by {format_angle(opening)}; more than "
                f"{format_angle(limit)} of unbending flattens or kinks the conduit (common practice).",
                hint="make the piece again, or cut it on a straight and couple a new part on",
                quantity="opening",
                asked=degrees(opening),
                limit=degrees(limit),
                unit="deg",
            )
        return LimitError(
            f"the error needs a correction of {format_angle(size)}, which is a new bend rather than a tweak.",
            hint="make the piece again; check the measurement and the side it was taken on first",
            quantity="correction",
            asked=degrees(size),
            limit=degrees(ROLL_LIMIT_RAD),
            unit="deg",
        )
    shown = format_angle if left.is_angle else said
    found, allowed = shown(left.size), shown(left.allowed)
    if found == allowed:
        found = f"a little more than {allowed}"
    return LimitError(
        "no change of the bends' angles and no twist corrects what was measured; the best still leaves "
        f"{found}, and {allowed} is the most that may be left.",
        hint="a wrong length cannot be bent away: trim, move a fitting, or measure again which way it is off",
        quantity="error left",
        asked=degrees(left.size) if left.is_angle else left.size,
        limit=degrees(left.allowed) if left.is_angle else left.allowed,
        unit="deg" if left.is_angle else "mm",
    )


def findings_of(
    piece: BentPiece,
    met: bool,
    gap: tuple[float, float, float, float, float],
    tolerance: Tolerance,
    largest_angle_rad: float,
    stock_length_mm: float | None,
    tape: TapeStyle = INCHES,
    done: Collection[int] = (),
) -> list[Finding]:
    """What of the end is not met, and which limits are passed; lengths mm, angles rad, `tape` for the words. The
    angles of the bends `done` (counted from 0) are past asking."""
    out = []
    if not met:
        can = [
            name
            for name, ok in (
                ("its place sideways", max(abs(gap[0]), abs(gap[1])) <= tolerance.length_mm),
                ("its place lengthwise", abs(gap[2]) <= tolerance.length_mm),
                ("its direction", max(abs(gap[3]), abs(gap[4])) <= tolerance.angle_rad),
            )
            if ok
        ]
        message = (
            f"the end cannot be brought to its fitting with what is left to bend: {gap_words(gap, tape)}. "
            f"{'What can be met: ' + ', '.join(can) + '.' if can else 'Nothing of it can be met.'}"
        )
        most = max(abs(gap[0]), abs(gap[1]), abs(gap[2]))
        out.append(_problem("replan.end", "end B", message, most, tolerance.length_mm))
    for k, straight in enumerate(piece.straights_mm(), start=1):
        if straight < -OVERLAP_MM:
            message = f"straight {k} from end A would be {format_length(straight, tape)} long."
            out.append(_problem("replan.straight", f"straight {k}", message, straight, 0.0))
    if stock_length_mm is not None and piece.cut_length_mm > stock_length_mm + 0.05:
        message = f"the piece would need {format_length(piece.cut_length_mm, tape)} of conduit."
        out.append(_problem("replan.stock", "cut", message, piece.cut_length_mm, stock_length_mm))
    for i, bend in enumerate(piece.bends):
        if i not in done and bend.angle_rad > largest_angle_rad + 1e-6:
            name = mark_names([i + 1])
            message = f"{name} would be bent to {format_angle(bend.angle_rad)}."
            turns, most = degrees(bend.angle_rad), degrees(largest_angle_rad)
            out.append(_problem("replan.angle", name, message, turns, most, unit="deg"))
    return out


def later_finding(
    gap: tuple[float, float, float, float, float], tolerance: Tolerance, tape: TapeStyle = INCHES
) -> Finding:
    """That the end is off by its marks, and a correction of the finished piece brings it right."""
    return Finding(
        rule="replan.end",
        severity="caution",
        message=f"by its marks alone the end comes out {gap_words(gap, tape)}; the notes say how it is brought right.",
        citation="geometry",
        where="end B",
        measured=max(abs(gap[0]), abs(gap[1]), abs(gap[2])),
        allowed=tolerance.length_mm,
        unit="mm",
    )


def off_finding(gap: tuple[float, float, float, float, float], tape: TapeStyle = INCHES, *, open_end: bool) -> Finding:
    """That the end is off by so little that it is sprung into its fitting; or, where it stays open, that it is off."""
    off = gap_words(gap, tape)
    if open_end:
        message = f"end B, which stays open, comes out off its planned place: {off}."
    else:
        message = f"end B comes out {off}: a hand springs so much into its fitting when it is joined."
    return Finding(
        rule="replan.end",
        severity="caution",
        message=message,
        citation="common practice, no source",
        where="end B",
        measured=max(abs(gap[0]), abs(gap[1]), abs(gap[2])),
        allowed=Tolerance().length_mm,
        unit="mm",
    )


def rise_finding(number: int, shape: str, off_mm: float, tape: TapeStyle = INCHES) -> Finding:
    """A saddle's top that comes to lie `off_mm` higher than planned (negative: lower)."""
    off = f"{format_length(abs(off_mm), tape)} {'higher' if off_mm > 0.0 else 'lower'}"
    return Finding(
        rule="replan.rise",
        severity="caution",
        message=f"the top of {shape or 'the saddle'} comes to lie {off} than planned.",
        citation="geometry",
        where=f"mark {number}",
        measured=off_mm,
        allowed=0.0,
        unit="mm",
        values={"shape": shape},
    )


def _problem(rule: str, where: str, message: str, measured: float, allowed: float, unit: str = "mm") -> Finding:
    return Finding(
        rule=rule,
        severity="problem",
        message=message,
        citation="geometry",
        where=where,
        measured=measured,
        allowed=allowed,
        unit=unit,
    )


def mended_words(way: Mended, tape: TapeStyle = INCHES, *, how: MadeBy = "hand shoe") -> list[str]:
    """What to do first about what is made, in this order: 'cut 1/2" more off at end A', 'bend mark 3 another 2°'."""
    out = [trim_words(way.trim_mm, tape)] if _shows(way.trim_mm, tape) else []
    out += [twist_words(number, by, how) for number, by in way.twisted]
    out += [
        further_words(mark_names([number]), hand_angle(degrees(abs(by))), how, opens=by < 0.0)
        for number, by in way.further
    ]
    return [*out, *turn_words(way.turned_rad)]


def turn_words(turned_rad: float) -> list[str]:
    """'when it goes in, turn the whole piece 2° clockwise in its fitting at end A, seen from A', where it is turned."""
    if abs(turned_rad) <= radians(0.05):
        return []
    size, sense = format_angle(abs(turned_rad)), clock_words(turned_rad)
    return [f"when it goes in, turn the whole piece {size} {sense} in its fitting at end A, seen from A"]


def trim_words(trim_mm: float, tape: TapeStyle) -> str:
    """'cut 1/2" more off at end A'."""
    return f"cut {format_length(abs(trim_mm), tape)} {'more' if trim_mm > 0.0 else 'less'} off at end A"


def off_a_words(off_mm: float, tape: TapeStyle) -> str:
    """'cut 2" off at end A'."""
    return f"cut {format_length(off_mm, tape)} off at end A"


def off_b_words(off_mm: float, line_mm: float, tape: TapeStyle) -> str:
    """'cut 1/2" off at end B'; where it is not known how much comes off (0), 'cut it on line B, 33" from end A'."""
    if off_mm > 0.0:
        return f"cut {format_length(off_mm, tape)} off at end B"
    return f"cut it on line B, {format_length(line_mm, tape)} from end A"


def further_words(name: str, size: str, how: MadeBy, *, opens: bool) -> str:
    """'bend mark 3 another 2°'; heated PVC is heated again for it, to open it too."""
    if how == "heat":
        return f"heat {name} again and {'open it by' if opens else 'bend it another'} {size}"
    return f"open {name} by {size}" if opens else f"bend {name} another {size}"


def again_words(number: int, hook: HookEnd, angle_rad: float, *, as_before: bool, room: bool = True) -> str:
    """How the shoe is set to bend a made bend further, and where its arc goes on. `as_before`: the hook faces the end
    that it faced when the bend was made, so the shoe stands on the same pencil mark. `room` False: what is bent leaves
    the shoe no room there."""
    name, grows = mark_names([number]), "B" if hook == "A" else "A"
    if not room:
        how = f"close it to {hand_angle(degrees(angle_rad))} as a finished piece is corrected"
        return f"{name[0].upper()}{name[1:]}: what is bent leaves the shoe no room there; {how}."
    if as_before:
        way = f"set the shoe on it as when it was bent, hook toward end {hook}"
        goes = f"the arc goes on toward end {grows} from where it ends"
    else:
        way = f"set the shoe on its new mark, hook toward end {hook}, where the arc shall end"
        goes = "what is straight up to there bends"
    return f"{name[0].upper()}{name[1:]}: {way}, and pull on to {hand_angle(degrees(angle_rad))}; {goes}."


def replan_words(plan: BentPiece, now: BentPiece, done: Collection[int], tape: TapeStyle = INCHES) -> list[str]:
    """What changes against the plan as far as the tape shows it, one line each; `done` are the bends made already,
    counted from 0."""
    out = []
    for i, (old, new) in enumerate(zip(plan.bends, now.bends, strict=True)):
        if i in done:
            continue
        out += _bend_words(i + 1, old, new, tape)
    cut = now.cut_length_mm - plan.cut_length_mm
    if _shows(cut, tape):
        out.append(f"cut {format_length(abs(cut), tape)} {'longer' if cut > 0.0 else 'shorter'}")
    return out


def _shows(length_mm: float, tape: TapeStyle) -> bool:
    return read_tape(length_mm, tape).shown_mm != 0.0


def _bend_words(number: int, old: Bend, new: Bend, tape: TapeStyle) -> list[str]:
    name = mark_names([number])
    if new.angle_rad < LEAST_MADE_RAD <= old.angle_rad:
        return [f"leave {name} out"]
    out = []
    shift = new.arc_start_mm - old.arc_start_mm
    if _shows(shift, tape):
        toward = "toward end B" if shift > 0.0 else "toward end A"
        out.append(f"move the bend at {name} {format_length(abs(shift), tape)} {toward}")
    was, now = (hand_angle(degrees(bend.angle_rad)) for bend in (old, new))
    if now != was:
        out.append(f"bend {name} to {now} instead of {was}")
    roll = new.roll_rad - old.roll_rad
    more = hand_angle(degrees(abs(roll)))
    if more != hand_angle(0.0):
        out.append(f"turn the plane of {name} {more} more {clock_words(roll)}, seen from A")
    return out
