"""Bends of which the record says an angle, a place or a plane that no slip of the hand makes of the one that belongs
there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import degrees, radians, remainder, sin
from typing import NamedTuple

from msgspec.structs import replace

from racewright.errors import Finding
from racewright.fit.measured import BendAngle, OffAt
from racewright.plan.model import BendPlanned
from racewright.records.bends_left import as_recorded
from racewright.records.entry import BY_PLAN, Anew, BendMade, Corrected, Entry, Made, Readings, by_copy, for_marks
from racewright.records.model import JobRun
from racewright.records.naming import piece_name, with_copies
from racewright.sequence.words import clock_words
from racewright.units.angle import hand_angle
from racewright.units.tape import TapeStyle, format_length, style_of

#: The rule of the caution that a bend is recorded far from its angle, its place or its plane.
FAR_OFF = "job.far_off"
#: An angle or a plane may be off by so much before its record is asked after (common practice, no source).
FAR_OFF_DEG = 10.0
#: A place, an angle or a plane may bring what lies beyond its bend so far out: 1/2 in, as no fitting gives (common
#: practice, no source).
FAR_OFF_MM = 12.7
#: An angle or a plane that is off by less is as good as hands bend and levels read, whatever it does (common practice,
#: no source).
HAND_DEG = 2.0
#: A plane that is off by less is the plan's in words.
_LEAST_DEG = 0.25

#: The bends of each piece, from end A.
Bends = Sequence[Sequence[BendPlanned]]


class _Off(NamedTuple):
    """A bend of a piece as it is recorded, and as it should be; `plane_deg`: so far off the plan's plane; `finished`:
    its angle is that of the finished piece, which Check puts right by what its ends say."""

    piece: int
    has: BendMade
    wants: BendPlanned
    plane_deg: float
    finished: bool

    def in_words(self, style: TapeStyle) -> Iterator[tuple[str, float, float, str]]:
        """What of it is far off: in words, what it has, what belongs there, and the unit of both."""
        has, wants = self.has, self.wants
        if has.angle_rad is not None:
            angle = degrees(has.angle_rad)
            off_deg, out_mm = abs(angle - wants.angle_deg), wants.reach_mm * _moves(angle - wants.angle_deg)
            words = f"at {hand_angle(angle)}, and {hand_angle(wants.angle_deg)} belongs there"
            if off_deg > FAR_OFF_DEG:
                yield words, angle, wants.angle_deg, "deg"
            elif off_deg > HAND_DEG and abs(out_mm) > FAR_OFF_MM and not self.finished:
                beyond = f"end B comes out about {format_length(abs(out_mm), style)} off"
                yield f"{words}: {beyond}", angle, wants.angle_deg, "deg"
        out_mm = 0.0 if has.mark_mm is None else abs(has.mark_mm - wants.mark_mm) * _moves(wants.angle_deg)
        if has.mark_mm is not None and out_mm > FAR_OFF_MM:
            at, belongs = format_length(has.mark_mm, style), format_length(wants.mark_mm, style)
            beyond = f"what lies beyond it comes out {format_length(out_mm, style)} off"
            yield f"with its mark at {at}, and {belongs} belongs there: {beyond}", has.mark_mm, wants.mark_mm, "mm"
        if has.roll_off_rad is not None:
            roll, belongs_deg = degrees(has.roll_off_rad), self.plane_deg
            off_deg = remainder(roll - belongs_deg, 360.0)
            out_mm = wants.swing_mm * abs(_moves(off_deg))
            words = f"with its plane {_plane_words(roll)}, seen from A"
            if abs(belongs_deg) >= _LEAST_DEG:
                words = f"{words}, and {_plane_words(belongs_deg)} belongs there"
            if abs(off_deg) > FAR_OFF_DEG:
                yield words, roll, belongs_deg, "deg"
            elif abs(off_deg) > HAND_DEG and out_mm > FAR_OFF_MM:
                yield f"{words}: end B comes out about {format_length(out_mm, style)} off", roll, belongs_deg, "deg"


def _plane_words(roll_deg: float) -> str:
    """'5° clockwise off the plan's'."""
    if abs(roll_deg) < _LEAST_DEG:
        return "as the plan's"
    return f"{hand_angle(abs(roll_deg))} {clock_words(roll_deg)} off the plan's"


def _moves(angle_deg: float) -> float:
    """So far is what lies beyond a bend moved when the bend is moved along by 1: the chord of the turned unit."""
    return 2.0 * sin(radians(angle_deg) / 2.0)


def far_off(run: JobRun, entries: Iterable[Entry], now: str, bends: Bends, last: int | None = None) -> list[Finding]:
    """A caution for each bend that is far from its angle, its place or its plane by what was recorded of it last, with
    the plan of the run (`now`: its digest, `bends`: its bends): its own, or that of the new marks that were kept. New
    marks take what is made as it is, and place and plane stand for nothing once the finished piece was measured at its
    end or corrected. `last`: only the bends that so many entries, the last of them, name."""
    style = style_of(run.survey.units, run.survey.fraction)
    found = []
    for copy, off in _far(run, entries, now, bends, style, last):
        told = list(off.in_words(style))
        name = with_copies(piece_name(run.key, off.piece, len(bends)), [copy] if run.alike else [])
        _, measured, allowed, unit = told[0]
        found.append(
            Finding(
                severity="caution",
                rule=FAR_OFF,
                message=f"{name}: mark {off.has.number} is recorded {', and '.join(words for words, *_ in told)}. It is"
                f" kept as it was said. {_to_do(run, copy, off, pieces=len(bends))}",
                where=run.key,
                measured=measured,
                allowed=allowed,
                unit=unit,
            )
        )
    return found


def _to_do(run: JobRun, copy: int, off: _Off, *, pieces: int) -> str:
    which = f"{f' --piece {off.piece}' if pieces > 1 else ''}{f' --copy {copy}' if run.alike else ''}"
    record = f"racewright job record {run.key}{which}"
    again = f"{record} --made {off.has.number}=DEG@PLACE"
    return (
        f"If that is a slip, record it again as it is, and the last one counts (`{again}`); if the bend is so, measure"
        f" the piece before anything more is bent or put up, and where bends are left ask for new marks (`{record}"
        " --new-marks`)."
    )


def far_off_pieces(run: JobRun, entries: Iterable[Entry], now: str, bends: Bends) -> set[tuple[int, int]]:
    """The pieces of which such a bend is told, by copy and number."""
    style = style_of(run.survey.units, run.survey.fraction)
    return {(copy, off.piece) for copy, off in _far(run, entries, now, bends, style, None)}


def tells_bends(entries: Iterable[Entry]) -> bool:
    """Whether a record says of a bend what angle, place or plane it has, that new marks were kept for the rest, or what
    was cut or twisted for these."""
    return any(
        (
            (made := for_marks(what)) is not None
            and (made.anew or made.steps or any(bend != BendMade(number=bend.number) for bend in made.bends))
        )
        or (isinstance(what, Readings) and any(isinstance(one, BendAngle) for one in what.measured))
        for what in (entry.what for entry in entries)
    )


def _far(
    run: JobRun, entries: Iterable[Entry], now: str, bends: Bends, style: TapeStyle, last: int | None
) -> Iterator[tuple[int, _Off]]:
    of = [entry for entry in entries if now]
    named = {id(entry) for entry in (of if last is None else of[len(of) - last :])}
    for copy, of_copy in by_copy(of, run.times):
        for number, planned in enumerate(bends, 1):
            mine = [one for one in of_copy if one.pins.marks == now and (one.piece or 1) == number]
            for off in _recorded(mine, number, planned, named):
                if any(off.in_words(style)):
                    yield copy, off


def _recorded(entries: Sequence[Entry], piece: int, planned: Sequence[BendPlanned], named: set[int]) -> Iterator[_Off]:
    """The bends of a piece as these entries of it have them, with what each should have."""
    wants = dict(enumerate(planned, 1))
    # of an only bend, which is turned in its fitting, no plane is known
    planes = dict.fromkeys(wants, 0.0) if len(planned) > 1 else {}
    has: dict[int, BendMade] = {}
    finished: set[int] = set()
    asked: set[int] = set()
    by = BY_PLAN
    for entry in entries:
        what = entry.what
        said: list[BendMade] = []
        if isinstance(what, Made) and what.anew:
            by, has, asked = entry.id, {}, set()
            for bend in what.bends:
                if bend.number in wants:
                    wants[bend.number] = _as_read(bend, wants[bend.number])
            wants |= {
                one.number: wants[one.number]._replace(angle_deg=degrees(one.angle_rad), mark_mm=one.mark_mm)
                for one in what.anew.marks
                if one.number in wants
            }
            planes = dict(_planes_anew(what.anew, wants)) if len(planned) > 1 else {}
        elif isinstance(what, Made):
            said = [_by_marks(bend, by, planes) for bend in what.bends]
            finished -= {bend.number for bend in said if bend.angle_rad is not None}
        elif isinstance(what, Readings):
            said = [BendMade(number=o.number, angle_rad=o.angle_rad) for o in what.measured if isinstance(o, BendAngle)]
            finished |= {bend.number for bend in said}
            if any(isinstance(one, OffAt) for one in what.measured):
                has = _angles_alone(has)
                finished |= has.keys()
        elif isinstance(what, Corrected):
            moves = {move.number: move.by_rad for move in what.moves if move.kind == "angle"}
            said = [
                replace(bend, angle_rad=bend.angle_rad + moves[number])
                for number, bend in _angles_alone(has).items()
                if number in moves and bend.angle_rad is not None
            ]
            has = _angles_alone(has)
            finished |= has.keys()
        has = as_recorded((*has.values(), *said))
        if id(entry) in named:
            asked.update(bend.number for bend in said)
    for number, bend in has.items():
        if number in wants and number in asked:
            yield _Off(piece, bend, wants[number], planes.get(number, 0.0), number in finished)


def _as_read(bend: BendMade, planned: BendPlanned) -> BendPlanned:
    angle = planned.angle_deg if bend.angle_rad is None else degrees(bend.angle_rad)
    return planned._replace(angle_deg=angle, mark_mm=planned.mark_mm if bend.mark_mm is None else bend.mark_mm)


def _planes_anew(anew: Anew, planned: Mapping[int, BendPlanned]) -> Iterator[tuple[int, float]]:
    """How far off the plan's plane new marks want each bend (degrees), where that is known: not where they turn the
    whole piece in its fitting, so that it is read from another line."""
    for mark in anew.marks if abs(degrees(anew.turned_rad)) < _LEAST_DEG else ():
        if mark.roll_rad is not None and mark.number in planned:
            yield mark.number, remainder(degrees(mark.roll_rad) - planned[mark.number].roll_deg, 360.0)


def _by_marks(bend: BendMade, by: str, planes: Mapping[int, float]) -> BendMade:
    """A bend without what nothing is known to hold it to: place and plane by other marks than those that hold, and a
    plane that these do not tell."""
    is_by = bend.by_marks in ("", by)
    return replace(
        bend,
        mark_mm=bend.mark_mm if is_by else None,
        roll_off_rad=bend.roll_off_rad if is_by and bend.number in planes else None,
    )


def _angles_alone(has: dict[int, BendMade]) -> dict[int, BendMade]:
    return {number: BendMade(number=number, angle_rad=bend.angle_rad) for number, bend in has.items()}
