"""A finished practice piece, graded by the teacher's own tolerances and deductions, with the likely cause of each
error."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, degrees, inf, radians
from typing import Annotated, NamedTuple

import msgspec

from racewright.cautions import cautions_for
from racewright.errors import InputError, LimitError
from racewright.fit.grading import CheckKind, GradedCheck, graded_checks
from racewright.fit.jacobian import walk
from racewright.fit.slips import CARE, Slip, alike_words, slip_words, slips
from racewright.operations.bent import Bent, bent_as_planned
from racewright.operations.common import Answer, Known, LengthText, Name, Part, Request, SurveyRequest
from racewright.operations.planned import planned
from racewright.plan.model import Plan
from racewright.sequence.care import bending_care
from racewright.units.angle import format_degrees, read_degrees
from racewright.units.length import parse_length
from racewright.units.said import said_in
from racewright.units.tape import TapeStyle, format_length, read_tape

Points = Annotated[float, msgspec.Meta(ge=0.0, le=1000.0)]
Minutes = Annotated[float, msgspec.Meta(ge=0.0, le=6000.0)]
DegreesOff = Annotated[float, msgspec.Meta(ge=0.0, le=90.0)]
#: By so much of a step an error may be over before a further step counts: a float's last bits are no error.
_TINY = 1e-6
#: What is read in degrees, up to a half turn.
_TURNED, _HALF_TURN_DEG = ("angle", "lean"), 180.0
_HOW_TO_LEAN = (
    "A lean is read about the leg from one mark to the next: hold that leg level with the bend at the first mark turned"
    " straight up, and set an angle finder across the leg, against the conduit beyond the other mark"
)
_KINDS: dict[CheckKind, str] = {
    "length": "a length",
    "rise": "a rise",
    "angle": "an angle",
    "lean": "a lean",
    "dog-leg": "the dog-leg",
}
#: No practice piece has so many; the causes of its errors are looked for by all bends at all checks.
_MOST_BENDS = 12
_NO_LEANS = " It was read before leans were asked for: graded without them."
_NOT_MEASURED = "Not measured, and nothing taken off for it"
_TURN_ROUND = "it was bent to the wrong side; turn the conduit half round in the shoe, and hold it beside the drawing"


class LengthRule(Request, frozen=True, kw_only=True):
    """A length may be off by `within`; each further `step`, begun ones too, takes `points`, `most` at most."""

    within: LengthText = "1/8 in"
    step: LengthText = "1/8 in"
    points: Points = 5.0
    most: Points = 20.0


class AngleRule(Request, frozen=True, kw_only=True):
    """An angle may be off by `within_deg`; each further `step_deg`, begun ones too, takes `points`, `most` at most."""

    within_deg: DegreesOff = 1.0
    step_deg: Annotated[float, msgspec.Meta(gt=0.0, le=90.0)] = 1.0
    points: Points = 5.0
    most: Points = 20.0


class LeanRule(AngleRule, frozen=True, kw_only=True):
    """The same of how a bend's plane leans: what may be off is no less than a hand holds by eye."""

    within_deg: DegreesOff = 1.5


class TimeRule(Request, frozen=True, kw_only=True):
    """The piece may take so many `minutes`; each further one, begun ones too, takes `points`, `most` at most."""

    minutes: Minutes = 30.0
    points: Points = 1.0
    most: Points = 20.0


class Scheme(Request, frozen=True, kw_only=True):
    """How a teacher grades: from `full` points each error is taken off; from `passes_at` on it is passed, unless
    something is off by more than `gross_times` what it may be. `time` None: the time is not graded."""

    full: Points = 100.0
    passes_at: Points = 70.0
    gross_times: Annotated[float, msgspec.Meta(ge=1.0, le=1000.0)] = 6.0
    length: LengthRule = LengthRule()
    rise: LengthRule = LengthRule()
    angle: AngleRule = AngleRule()
    lean: LeanRule = LeanRule()
    dog_leg: LengthRule = LengthRule()
    time: TimeRule | None = None


class GradeReading(Request, frozen=True, kw_only=True):
    """What tape or level says at one check, by its `key`: a length, degrees, or 'yes' or 'no' for a side."""

    key: Name
    reads: LengthText


class GradeRequest(SurveyRequest, frozen=True, kw_only=True):
    """A practice problem's run as a finished piece. Without `readings` the answer says what to measure. `minutes`: how
    long it took (None: not timed). `before_leans`: it was read when leans were not asked for yet, so that with no lean
    among its readings it is graded without, and that is told."""

    readings: Annotated[tuple[GradeReading, ...], msgspec.Meta(max_length=60)] = ()
    minutes: Minutes | None = None
    before_leans: bool = False
    scheme: Scheme = Scheme()


class CheckGraded(Part, frozen=True, kw_only=True):
    """One check: `unit` 'in', 'mm', 'deg' or 'yes' (a side: yes or no); what was `wanted` and `measured` ('' = not
    measured), how far it is `off` ('' = within what is allowed), the points taken off, and what likely made it so.
    `counted_at`: the checks, in words, at which the same slip is taken off; here only what it does not make is."""

    key: str
    kind: CheckKind
    words: str
    unit: str
    wanted: str
    measured: str
    off: str
    deduction: float
    cause: str
    counted_at: str = ""


class GradeAnswer(Answer, frozen=True, kw_only=True):
    """The piece's marks: `points` of `full`, of which a slip is taken once, however many checks show it; `graded`:
    something was measured; `whole`: all was, and the time is told where it counts, so that it is a grade. Passing is
    decided by every check that is out, a shape on the wrong side and a gross error: `pass_rule`. `how`: what is to be
    known to measure it. `without_leans`: graded so. `causes`: what likely happened, the one that explains most first,
    what to do about it, and the points that it takes. `time_words`, `time_deduction`: of the time."""

    checks: tuple[CheckGraded, ...]
    graded: bool
    whole: bool
    without_leans: bool
    points: float
    full: float
    passed: bool
    time_words: str
    time_deduction: float
    causes: tuple[str, ...]
    words: str
    pass_rule: str
    how: str


class _Rule(NamedTuple):
    """A rule in figures: mm or rad, and points."""

    within: float
    step: float
    points: float
    most: float
    gross: float

    def deduction(self, off: float) -> float:
        """What an error of this size takes."""
        over = abs(off) - self.within
        if over <= _TINY * self.step:
            return 0.0
        return min(self.most, ceil(over / self.step - _TINY) * self.points)

    def fails(self, off: float) -> bool:
        """An error of this size is gross."""
        return abs(off) > self.gross * (1.0 + _TINY)


#: Slips that explain alike, and those of a piece.
_Alike = tuple[Slip, ...]
_Found = tuple[_Alike, ...]


class _Likely(NamedTuple):
    """What likely made a check be off, () where no slip did, and how far off it is without that (mm or rad)."""

    alike: _Alike
    left: float


def grade(request: GradeRequest, known: Known) -> GradeAnswer:
    """Grade a finished piece. Raises InputError for a reading that is no length or angle, or is of no check."""
    plan = planned(request, known)
    asked = bent_as_planned(plan, plan.pieces[0])
    if not asked.bends:
        raise InputError("nothing is bent in this run.", hint="take a run with a bend", field="survey")
    if len(asked.bends) > _MOST_BENDS:
        raise LimitError(
            f"the piece has {len(asked.bends)} bends; one of up to {_MOST_BENDS} is graded.",
            hint="take a piece of a practice sheet",
            field="survey",
            quantity="bends",
            asked=len(asked.bends),
            limit=_MOST_BENDS,
            unit="bends",
        )
    with said_in(plan.tape):
        return _graded(request, plan, asked)


def _graded(request: GradeRequest, plan: Plan, asked: Bent) -> GradeAnswer:
    checks = graded_checks(asked.arcs)
    rules = _rules(request.scheme, plan.tape)
    read = _read(request, checks, plan.tape)
    walked = walk(asked.arcs)
    wanted = {check.key: _figure(check, check.shows(asked.arcs, walked), plan.tape) for check in checks}
    off = {check.key: read[check.key] - wanted[check.key] for check in checks if check.key in read}
    found = _slips(checks, off, rules, asked)
    likely = {check.key: _likely(check, off, found) for check in checks}
    each = tuple(
        _row(check, asked, wanted[check.key], off.get(check.key), rules[check.kind], _cause(likely[check.key], plan))
        for check in checks
    )
    time_words, time_off = _time(request)
    by_check = max(0.0, request.scheme.full - sum(row.deduction for row in each) - time_off)
    rows, taken = _once(each, likely, found, rules)
    points = max(0.0, request.scheme.full - sum(row.deduction for row in rows) - time_off)
    leans = {check.key for check in checks if check.kind == "lean"}
    without = request.before_leans and bool(leans and off) and leans.isdisjoint(read)
    missing = [check.words for check in checks if check.key not in read and not (without and check.key in leans)]
    untimed = request.scheme.time is not None and request.minutes is None
    whole = not missing and not untimed
    wrong = [f"{check.words}: {_TURN_ROUND}" for check in checks if check.kind == "side" and off.get(check.key)]
    gross = [
        check.words
        for check in checks
        if check.kind != "side" and check.key in off and rules[check.kind].fails(off[check.key])
    ]
    passed = whole and not wrong and not gross and by_check >= request.scheme.passes_at
    return GradeAnswer(
        checks=rows,
        graded=bool(off),
        whole=whole,
        without_leans=without and whole,
        points=points,
        full=request.scheme.full,
        passed=passed,
        time_words=time_words,
        time_deduction=time_off,
        causes=(*wrong, *(_slips_care(alike, plan, of) for alike, of in zip(found, taken, strict=True))),
        words=_words(
            points, by_check, request.scheme, passed=passed, missing=bool(missing), untimed=untimed, gross=gross
        )
        + (_NO_LEANS if without and whole else "")
        if off
        else "",
        pass_rule=pass_rule(request.scheme, plan.tape),
        how=f"{_HOW_TO_LEAN}." if any(check.kind == "lean" for check in checks) else "",
        not_included=(f"{_NOT_MEASURED}: {'; '.join(missing)}.",) if off and missing else (),
        cautions=cautions_for(*bending_care(plan.shoe)),
    )


def _figure(check: GradedCheck, value: float, tape: TapeStyle) -> float:
    """What is wanted as it is shown, mm or rad: a piece is graded against the figure that was given out."""
    if check.kind == "side":
        return value
    if check.kind in _TURNED:
        return radians(round(degrees(value), 1))
    return read_tape(abs(value), tape).shown_mm


def _slips(
    checks: tuple[GradedCheck, ...], off: dict[str, float], rules: dict[CheckKind, _Rule], asked: Bent
) -> _Found:
    """None where a shape turns to the wrong side: what it makes off is no slip of a figure."""
    measured = [check for check in checks if check.key in off and check.kind != "side"]
    if not measured or any(off.get(check.key) for check in checks if check.kind == "side"):
        return ()
    first = next((bend.number for bend in asked.bends if bend.order == 1), 1)
    limits = [max(rules[check.kind].within, _least(check.kind)) for check in measured]
    return slips(asked.arcs, measured, [off[check.key] for check in measured], limits, asked.hooks, first)


def _least(kind: CheckKind) -> float:
    """What a tape or a level does not tell apart: misfits are weighed by no less."""
    return radians(0.5) if kind in _TURNED else 25.4 / 16.0


def _rules(scheme: Scheme, tape: TapeStyle) -> dict[CheckKind, _Rule]:
    def length(rule: LengthRule, name: str) -> _Rule:
        within = float(parse_length(rule.within, tape.unit, field=f"scheme.{name}.within"))
        step = float(parse_length(rule.step, tape.unit, field=f"scheme.{name}.step", allow_zero=False))
        return _Rule(within, step, rule.points, rule.most, scheme.gross_times * max(within, _least("length")))

    def angle(rule: AngleRule) -> _Rule:
        within = radians(rule.within_deg)
        gross = scheme.gross_times * max(within, _least("angle"))
        return _Rule(within, radians(rule.step_deg), rule.points, rule.most, gross)

    return {
        "length": length(scheme.length, "length"),
        "rise": length(scheme.rise, "rise"),
        "dog-leg": length(scheme.dog_leg, "dog_leg"),
        "angle": angle(scheme.angle),
        "lean": angle(scheme.lean),
        "side": _Rule(0.0, 1.0, scheme.full, scheme.full, 1.0),
    }


def _read(request: GradeRequest, checks: tuple[GradedCheck, ...], tape: TapeStyle) -> dict[str, float]:
    kinds = {check.key: check.kind for check in checks}
    out: dict[str, float] = {}
    for index, item in enumerate(request.readings):
        at = f"readings[{index}]"
        if item.key not in kinds or item.key in out:
            names = ", ".join(key for key in kinds if key not in out)
            raise InputError(
                f"'{item.key[:40]}' is no check of this piece, or is given twice.",
                hint=f"its checks are: {names}",
                field=f"{at}.key",
            )
        if kinds[item.key] == "side":
            out[item.key] = _yes_or_no(item.reads, f"{at}.reads")
        elif kinds[item.key] in _TURNED:
            out[item.key] = radians(read_degrees(item.reads, least=0.0, most=_HALF_TURN_DEG, field=f"{at}.reads"))
        else:
            out[item.key] = float(parse_length(item.reads, tape.unit, field=f"{at}.reads"))
    return out


def _yes_or_no(text: str, field: str) -> float:
    word = text.strip().lower()
    if word not in ("yes", "no"):
        raise InputError(f"cannot take '{text[:40]}' as yes or no.", hint="write yes or no", field=field)
    return float(word == "yes")


def _row(check: GradedCheck, asked: Bent, wanted: float, off: float | None, rule: _Rule, cause: str) -> CheckGraded:
    taken = 0.0 if off is None else rule.deduction(off)
    return CheckGraded(
        key=check.key,
        kind=check.kind,
        words=check.words,
        unit={"angle": "deg", "lean": "deg", "side": "yes"}.get(check.kind, asked.tape.unit),
        wanted=_text(check.kind, wanted, asked.tape),
        measured="" if off is None else _text(check.kind, wanted + off, asked.tape),
        off="" if off is None or not taken else _off_text(check, off, asked.tape),
        deduction=taken,
        cause=cause if taken else "",
    )


def _text(kind: CheckKind, value: float, tape: TapeStyle) -> str:
    if kind == "side":
        return "yes" if value else "no"
    return format_degrees(degrees(value)) if kind in _TURNED else format_length(value, tape)


def _off_text(check: GradedCheck, off: float, tape: TapeStyle) -> str:
    if check.kind == "side":
        return "to the wrong side"
    size = _text(check.kind, abs(off), tape)
    return size if check.either else f"{size} too {'much' if off > 0.0 else 'little'}"


def _likely(check: GradedCheck, off: dict[str, float], found: _Found) -> _Likely | None:
    """Of the slips the one that makes most of what this check is off; None where nothing is looked for."""
    if check.key not in off or check.kind == "side" or not found:
        return None
    place = [key for key in off if not key.startswith("side ")].index(check.key)
    most = max(found, key=lambda alike: abs(alike[0].by_check[place]))
    made = most[0].by_check[place]
    if abs(made) < _least(check.kind) / 2.0:
        return _Likely((), off[check.key])
    return _Likely(most, abs(off[check.key]) - abs(made) if check.either else off[check.key] - made)


def _once(
    rows: tuple[CheckGraded, ...],
    likely: dict[str, _Likely | None],
    found: _Found,
    rules: dict[CheckKind, _Rule],
) -> tuple[tuple[CheckGraded, ...], list[float]]:
    """The rows with each slip taken off once, where it takes most, and what each of `found` takes. At its other checks
    what it does not make is still taken. Bends are made one by one: where all came out alike, each angle counts."""
    out, taken = {row.key: row for row in rows}, list[float]()
    for alike in found:
        mine = [(row, one) for row in rows if row.deduction and (one := likely[row.key]) and one.alike is alike]
        ways = [[row] for row, _ in mine]
        if alike[0].kind == "angles":
            ways.append([row for row, _ in mine if row.kind == "angle"])
        leading = max(ways, key=_sum, default=[])
        taken.append(_sum(leading))
        at = ", ".join(row.words for row in leading)
        for row, one in mine:
            if row not in leading:
                rule, least = rules[row.kind], _least(row.kind)
                rest = rule._replace(within=max(rule.within, least)).deduction(one.left)
                out[row.key] = msgspec.structs.replace(row, deduction=min(row.deduction, rest), counted_at=at)
    return tuple(out.values()), taken


def _sum(rows: Sequence[CheckGraded]) -> float:
    return sum(row.deduction for row in rows)


def _cause(likely: _Likely | None, plan: Plan) -> str:
    if likely is None:
        return ""
    return _alike_words(likely.alike, plan) if likely.alike else "no single slip explains it: measure it again"


def _alike_words(alike: _Alike, plan: Plan) -> str:
    return alike_words([(slip, _slip_words(slip, plan)) for slip in alike])


def _slips_care(alike: _Alike, plan: Plan, points: float) -> str:
    """A slip, with those that cannot be told from it, what to do about them, and what it takes off."""
    care = "; ".join(dict.fromkeys(CARE[slip.kind] for slip in alike))
    return f"{_alike_words(alike, plan)}: {care} ({points:g} point{'' if points == 1.0 else 's'})"


def _slip_words(slip: Slip, plan: Plan) -> str:
    if slip.turned:
        return slip_words(slip, format_degrees(round(degrees(abs(slip.by)) * 2.0) / 2.0))
    near = _known_length(abs(slip.by), plan)
    return slip_words(slip, format_length(abs(slip.by), plan.tape)) + (f" (about {near})" if near else "")


def _known_length(size_mm: float, plan: Plan) -> str:
    """A figure of the shoe that is as long as a slip: it was likely left out, or taken for another."""
    shoe, step = plan.shoe, 25.4 / 16.0
    lengths = {
        "the gain: was it left out?": shoe.gain_mm,
        "the take-up: was it left out?": shoe.take_up_mm,
        "from the arrow to the center mark: was the other one taken?": abs(shoe.centre_mm + shoe.arrow_lead_mm),
        "from the arrow to the star: was the other one taken?": abs(shoe.star_mm + shoe.arrow_lead_mm),
    }
    return next((name for name, length in lengths.items() if abs(size_mm - length) <= step), "")


def _time(request: GradeRequest) -> tuple[str, float]:
    rule, took = request.scheme.time, request.minutes
    if took is None:
        return "", 0.0
    if rule is None:
        return f"{took:g} minutes; the time is not graded.", 0.0
    taken = _Rule(rule.minutes, 1.0, rule.points, rule.most, inf).deduction(max(took, rule.minutes))
    return f"{took:g} minutes of {rule.minutes:g}.", taken


def same_rules(a: Scheme, b: Scheme, tape: TapeStyle) -> bool:
    """Whether every piece gets the same grade by both, however their figures are written."""
    others = [(one.full, one.passes_at, one.time) for one in (a, b)]
    return others[0] == others[1] and _rules(a, tape) == _rules(b, tape)


def pass_rule(scheme: Scheme, tape: TapeStyle) -> str:
    """From how many points on a piece is passed, and what fails it whatever its points."""
    rules = _rules(scheme, tape)
    limits = ", ".join(f"{_KINDS[kind]} by more than {_text(kind, rules[kind].gross, tape)}" for kind in _KINDS)
    return (
        f"Passed from {scheme.passes_at:g} of {scheme.full:g} points on, every check that is out counted; a slip that"
        " several checks show is taken off the points once. Not passed, whatever its points, where a shape"
        f" turns to the wrong side, or something is off by more than {scheme.gross_times:g} times what it may be:"
        f" {limits}."
    )


def _words(
    points: float,
    by_check: float,
    scheme: Scheme,
    *,
    passed: bool,
    missing: bool,
    untimed: bool,
    gross: Sequence[str],
) -> str:
    lacks = [*(["not all is measured"] if missing else []), *(["the time is not told"] if untimed else [])]
    if lacks:
        return f"No grade: {' and '.join(lacks)}. So far {scheme.full - points:g} of {scheme.full:g} points are lost."
    if passed:
        return f"{points:g} of {scheme.full:g} points: passed."
    below = f"below {scheme.passes_at:g}, " if points < scheme.passes_at else ""
    short = by_check < scheme.passes_at <= points
    each = f" With every check that is out counted it has {by_check:g}, below {scheme.passes_at:g}." if short else ""
    far = f" Off by more than {scheme.gross_times:g} times what it may be: {'; '.join(gross)}." if gross else ""
    return f"{points:g} of {scheme.full:g} points: {below}not passed.{each}{far}"
