"""Bending tools: which are known, what the numbers of one mean, and its constants from test bends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import degrees, pi, radians
from typing import Annotated, Literal

import msgspec

from racewright.catalogue.raceways import Raceway, find_raceway
from racewright.cautions import cautions_for
from racewright.errors import Finding, InputError
from racewright.geometry.vector import even
from racewright.operations.common import (
    AngleText,
    Answer,
    BenderRecord,
    Known,
    LengthText,
    Name,
    Part,
    Request,
    TapeUnit,
)
from racewright.operations.which_tool import OWN_NAME, finder
from racewright.sequence.care import bending_care
from racewright.tools.benders import BenderProfile, Reference, default_benders, default_by_name, raceway_of
from racewright.tools.calibration import (
    MOST_HELD,
    Calibration,
    Springback,
    TestBend,
    calibrate,
    most_misfit,
    profile_from_calibration,
)
from racewright.tools.profile_checks import (
    LEAST_SOURCE,
    LEAST_SPRINGBACK,
    OPENS_SOURCE,
    SHOWN_RAD,
    SPRINGBACK_SOURCE,
    TELLING_RAD,
    check_profile,
    springback_limits_rad,
    springback_words,
)
from racewright.tools.written import (
    bend_to_words,
    check_name,
    figure_words,
    figures_written,
    profile_of,
    record_of,
    with_units,
)
from racewright.units.angle import format_angle, read_degrees
from racewright.units.length import parse_length
from racewright.units.said import said_finely, said_in
from racewright.units.tape import read_tape, style_of

#: What the pointers are held by is said from here on: less is rounding.
_TOLD_HELD = 0.1
#: A radius that is known no better (standard error) is told: a single 90 does twice as well.
_ROUGH_MM = 9.5
#: Of these one more test bend is asked for.
_TEST_RAD = tuple(radians(angle) for angle in (30.0, 45.0, 90.0))


class BendersRequest(Request, frozen=True, kw_only=True):
    """The asker's own benders and the trade's hand shoes; `unit` to show them in."""

    unit: TapeUnit = "in"


class ShoeData(BenderProfile, frozen=True, kw_only=True, omit_defaults=False):
    """A bender that can be named; `own` says that it is the user's or the shop's, `problem` that a check of
    its figures finds one; `hook_reach_in` and `grip_in` as a tape in inches shows them."""

    raceway: str
    own: bool
    hook_reach_in: str
    grip_in: str
    springback_known: bool
    problem: bool


class BendersAnswer(Answer, frozen=True, kw_only=True):
    """Own benders first; a hand shoe whose name an own one has is left out. `file`: where the own ones are kept, as
    far as the door says."""

    unit: TapeUnit
    benders: tuple[ShoeData, ...]
    file: str = ""


class BenderRequest(Request, frozen=True, kw_only=True):
    """What the numbers of a bender mean and what a check says: `bender` as its owner wrote it, under the name
    `bender_name`, or with the name alone one that is known. Lengths without a unit are in `unit`."""

    bender: BenderRecord | None = None
    bender_name: Name = ""
    unit: TapeUnit = "in"


class BenderFigure(Part, frozen=True, kw_only=True):
    """One number of a shoe, finer than a tape shows it (`said`), and what it is measured from."""

    label: str
    mm: float
    said: str
    meaning: str


class FoundFigure(Part, frozen=True, kw_only=True):
    """One number that test bends gave, and its standard error, both in words."""

    label: str
    said: str
    error: str


class WrittenFigure(Part, frozen=True, kw_only=True):
    """One figure as its owner wrote it, or as test bends gave it, in words."""

    label: str
    text: str


class BenderAnswer(Answer, frozen=True, kw_only=True):
    """A bender as it is used. `written`: every figure of the record in words, by its name. `record` is what to keep of
    it: as it was written, each length with its unit (null: it came by name). `calibration` is there where it was found
    from test bends, its numbers in words as `found`, with `verdicts` on how sure it is. `file`: where it is kept, as
    far as the door says."""

    unit: TapeUnit
    profile: BenderProfile
    figures: tuple[BenderFigure, ...]
    springback: str
    written: tuple[WrittenFigure, ...] = ()
    record: BenderRecord | None = None
    calibration: Calibration | None = None
    found: tuple[FoundFigure, ...] = ()
    verdicts: tuple[str, ...] = ()
    file: str = ""


def benders(request: BendersRequest, known: Known) -> BendersAnswer:
    """The benders that can be named."""
    own = shoes(known.benders.values(), own=True)
    taken = {shoe.name.casefold() for shoe in own}
    rest = tuple(shoe for shoe in shoes(default_benders()) if shoe.name.casefold() not in taken)
    return BendersAnswer(
        unit=request.unit,
        benders=(*own, *rest),
        not_included=("Measuring: taught values are a start, and shoes differ. Make a test bend and calibrate yours.",),
        cautions=cautions_for(),
    )


def bender(request: BenderRequest, known: Known) -> BenderAnswer:
    """What a bender's numbers mean. Raises InputError naming its field, UnknownName for no such name."""
    record = request.bender
    if record is not None:
        record = with_units(record, request.unit)
        if request.bender_name:
            check_name(request.bender_name)
    elif not request.bender_name:
        raise InputError(
            "bender_name is missing.", hint="name a bender, or send one as its owner wrote it", field="bender_name"
        )
    return explained(finder(record, known)(request.bender_name or OWN_NAME), request.unit, record)


def explained(profile: BenderProfile, unit: TapeUnit, record: BenderRecord | None = None) -> BenderAnswer:
    """A profile with the meaning of its numbers and what a check says of it."""
    words = figure_words()
    rows = (
        (words["radius"][0], "to the middle of the conduit", profile.radius_mm),
        (*words["take_up"], profile.take_up_mm),
        (*words["gain"], profile.gain_mm),
        ("arrow", "from where the bend begins; minus is on the hook side", 0.0 - profile.arrow_lead_mm),
        (*words["centre"], profile.centre_mm),
        (*words["star"], profile.star_mm),
        (*words["hook_reach"], profile.hook_reach_mm),
        (*words["grip"], profile.grip_mm),
    )
    b0_rad = profile.springback_b0_rad
    with said_in(style_of(unit)):
        figures = tuple(
            BenderFigure(label=label, mm=value, said=said_finely(value), meaning=meaning)
            for label, meaning, value in rows
        )
    return BenderAnswer(
        unit=unit,
        profile=profile,
        figures=figures,
        springback=bend_to_words(None if b0_rad is None else degrees(b0_rad), profile.springback_b1),
        written=tuple(WrittenFigure(label=label, text=text) for label, text in figures_written(record, unit))
        if record
        else (),
        record=record,
        findings=tuple(check_profile(profile, raceway_of(profile))),
        cautions=cautions_for(*bending_care(profile)),
    )


def shoes(profiles: Iterable[BenderProfile], *, own: bool = False) -> tuple[ShoeData, ...]:
    """Profiles as a list shows them."""
    return tuple(
        ShoeData(
            **msgspec.structs.asdict(one),
            raceway=f"{one.raceway_type} {one.trade_size}",
            own=own,
            hook_reach_in=read_tape(one.hook_reach_mm, style_of("in")).text,
            grip_in=read_tape(one.grip_mm, style_of("in")).text,
            springback_known=one.springback_b1 is not None,
            problem=own and any(f.severity == "problem" for f in check_profile(one, raceway_of(one))),
        )
        for one in profiles
    )


def with_calibration(answer: BenderAnswer, found: Calibration, bends: Sequence[TestBend]) -> BenderAnswer:
    """The answer with what the test bends gave and how sure that is."""
    if found.misfit is None:
        verdicts = ["as many unknowns as readings: nothing is left over to check them; one more bend would"]
    else:
        agree = "the lengths agree"
        if found.misfit > most_misfit(found.degrees_of_freedom):
            agree = "the lengths disagree: look for a slip in the readings"
        verdicts = [f"error left {found.misfit:.2f} (readings to spare: {found.degrees_of_freedom}): {agree}"]
    radius_se = found.standard_errors_mm[found.names.index("radius")]
    with said_in(style_of(answer.unit)):
        told, doubts = tuple(_found(found)), tuple(_doubts(found, bends))
        if radius_se > _ROUGH_MM:
            known = said_finely(radius_se)
            verdicts.append(f"the radius is known to ± {known} only: one more bend, of 90° with all its lengths, tells")
    if found.springback is not None:
        verdicts += _springback_verdicts(found.springback, bends)
    return msgspec.structs.replace(
        answer, calibration=found, found=told, verdicts=tuple(verdicts), findings=(*doubts, *answer.findings)
    )


def _springback_verdicts(back: Springback, bends: Sequence[TestBend]) -> Iterator[str]:
    """What of springback the pointers do not tell by themselves, and is taken by what conduit does."""
    if back.terms == 1:
        more = format_angle(_one_more(bends))
        yield f"springback from one angle only: taken to grow with the angle; one more test bend, of {more}, tells"
    if _TOLD_HELD < back.held <= MOST_HELD:
        yield f"{_held_words(back, bends)}; the readings can be off by that much"


def _held_words(back: Springback, bends: Sequence[TestBend]) -> str:
    """What the pointers alone would have conduit do that it does not, and what is taken for it."""
    angles = [bend.angle_rad for bend in bends if bend.pointer_rad is not None]
    opens = [f"{degrees(back.alone_b0_rad + back.alone_b1 * a):.1f}° at {format_angle(a)}" for a in sorted(set(angles))]
    if back.b0_rad == back.b1 == 0.0:
        alone, taken = "not open when it is let go", "none"
    elif back.b1 == 0.0:
        alone, taken = "open less the further it is bent", f"{degrees(back.b0_rad):.1f}° at every angle"
    else:
        below = format_angle(radians(round(degrees(-back.alone_b0_rad / back.alone_b1), 1)))
        alone = f"close by itself at bends under {below}"
        taken = f"growing with the angle from nothing, to {90.0 * back.b1:.1f}° at 90°"
    return f"by the pointers alone conduit would {alone} ({', '.join(opens)}); springback is taken as {taken}"


def _one_more(bends: Sequence[TestBend]) -> float:
    """The angle, of those usually tried, that is furthest from what was bent and its pointer read."""
    angles = [bend.angle_rad for bend in bends if bend.pointer_rad is not None]
    return max(_TEST_RAD, key=lambda one: even(min(abs(one - angle) for angle in angles)))


def _doubts(found: Calibration, bends: Sequence[TestBend]) -> Iterator[Finding]:
    """What test bends contradict: each other, by more than they can be misread, and how conduit springs back."""
    if found.misfit is not None:
        worst = max(found.residuals, key=lambda one: even(abs(one.off_mm)))
        most = f"bend {worst.bend}, whose {worst.what} is {said_finely(abs(worst.off_mm))} off the fit"
        yield from _apart("the test bends disagree", found, len({one.bend for one in found.residuals}), most)
    odd = tuple(_odd_pointers(bends))
    yield from odd
    if found.springback is not None and not odd:
        what, read = "the pointers of the test bends disagree", sum(bend.pointer_rad is not None for bend in bends)
        yield from _apart(what, found.springback, read, f"bend {found.springback.worst}")
        yield from _held(found.springback, bends)
        yield from _slight(found.springback, bends)


def _held(back: Springback, bends: Sequence[TestBend]) -> Iterator[Finding]:
    """That the pointers have conduit do what it does not, by more than readings are off. No problem: what is taken is
    what conduit does."""
    if back.held > MOST_HELD:
        yield Finding(
            rule="bender.test_bends",
            severity="caution",
            message=f"{_held_words(back, bends)}. Read angles and pointers again, or make one more test bend, of about"
            f" {format_angle(_one_more(bends))}: until then springback is known roughly.",
            citation=OPENS_SOURCE,
            measured=back.held,
            allowed=MOST_HELD,
        )


def _slight(back: Springback, bends: Sequence[TestBend]) -> Iterator[Finding]:
    """That conduit hardly opened. Pointers that are the very angles are a problem: what is left was written twice."""
    read = [(n, one.angle_rad, one.pointer_rad) for n, one in enumerate(bends, 1) if one.pointer_rad is not None]
    usual = f"{format_angle(pi / 60.0)} to {format_angle(pi / 36.0)} of a 90° bend"
    same = all(abs(pointer - angle) <= SHOWN_RAD for _, angle, pointer in read)
    least = LEAST_SPRINGBACK * pi / 2.0
    if same:
        yield Finding(
            rule="bender.test_bends",
            severity="problem",
            message=f"the pointer is read as the angle after letting go ({format_angle(read[0][1])} at test bend"
            f" {read[0][0]}), so springback comes out as none. Conduit opens when it is let go, by some {usual}, and"
            " each bend that is pulled to its angle comes out short by that. Make the test bend again: read the pointer"
            " while you pull, then let go and read the angle.",
            citation=LEAST_SOURCE,
            measured=0.0,
            allowed=least,
            unit="rad",
        )
    elif back.held <= MOST_HELD:
        for number, angle, pointer in read:
            if angle >= TELLING_RAD - SHOWN_RAD and pointer - angle <= LEAST_SPRINGBACK * angle + SHOWN_RAD:
                yield Finding(
                    rule="bender.test_bends",
                    severity="caution",
                    message=f"test bend {number}: its pointer stands {_past(pointer - angle)} the angle of"
                    f" {format_angle(angle)}, and conduit opens by some {usual}; with too little springback each bend"
                    " comes out short. Make the test bend again: read the pointer while you pull, then let go and read"
                    " the angle.",
                    citation=LEAST_SOURCE,
                    measured=pointer - angle,
                    allowed=LEAST_SPRINGBACK * angle,
                    unit="rad",
                )


def _past(by_rad: float) -> str:
    if abs(by_rad) <= SHOWN_RAD:
        return "at"
    return f"{degrees(abs(by_rad)):.1f}° {'past' if by_rad > 0.0 else 'short of'}"


def _odd_pointers(bends: Sequence[TestBend]) -> Iterator[Finding]:
    for number, bend in enumerate(bends, 1):
        words = "" if bend.pointer_rad is None else springback_words(bend.angle_rad, bend.pointer_rad)
        if bend.pointer_rad is not None and words:
            past = bend.pointer_rad - bend.angle_rad
            yield Finding(
                rule="bender.test_bends",
                severity="problem",
                message=f"test bend {number}: its pointer is read as {format_angle(bend.pointer_rad)}, and the bend as"
                f" {format_angle(bend.angle_rad)}: {words}. Read both again.",
                citation=SPRINGBACK_SOURCE,
                measured=past,
                allowed=springback_limits_rad(bend.angle_rad)[past > 0.0],
                unit="rad",
            )


def _apart(what: str, fit: Calibration | Springback, bends: int, most: str) -> Iterator[Finding]:
    """That what `bends` test bends were read as contradicts itself; `most` is the furthest off. Two bends, or one
    reading to spare, do not tell which of them is wrong."""
    if fit.misfit is None or fit.misfit <= most_misfit(fit.degrees_of_freedom):
        return
    does = "; which of them is wrong they do not tell. Measure all again"
    if bends > 2 and fit.degrees_of_freedom > 1:
        does = f", the most at {most}. Measure its readings again"
    yield Finding(
        rule="bender.test_bends",
        severity="problem",
        message=f"{what}: what is left over is {fit.misfit:.1f} times what readings can be off{does}, or make one more"
        " bend, which decides.",
        citation="least squares",
        measured=fit.misfit,
        allowed=most_misfit(fit.degrees_of_freedom),
    )


def _found(found: Calibration) -> Iterator[FoundFigure]:
    """Lengths first, then springback: pointer = angle + b0 + b1 angle."""
    values = {"radius": found.radius_mm, "lead": found.arrow_lead_mm, "center": found.centre_mm, "star": found.star_mm}
    for name, error in zip(found.names, found.standard_errors_mm, strict=True):
        yield FoundFigure(label=name, said=said_finely(values[name]), error=said_finely(error))
    back = found.springback
    if back is None:
        return
    if back.terms > 1:
        give_or_take = f"{degrees(back.b0_se_rad):.1f}°"
        yield FoundFigure(label="springback", said=f"{degrees(back.b0_rad):.1f}°", error=give_or_take)
    yield FoundFigure(
        label="springback for each 10° of angle", said=f"{10.0 * back.b1:.2f}°", error=f"{10.0 * back.b1_se:.2f}°"
    )


class TestBendReadings(Request, frozen=True, kw_only=True):
    """One test bend as it was read: the angle after letting go, stub and leg to the corner of the backs, the mark from
    the stub's end, set `at` this mark of the shoe with the hook toward the stub; leg and cut length both or neither;
    `pointer` what it showed while pulling. '' is not read."""

    __test__ = False  # not a test case, whatever a test runner thinks of the name

    angle: AngleText
    stub: LengthText
    mark: LengthText
    leg: LengthText = ""
    cut: LengthText = ""
    at: Reference = "arrow"
    pointer: AngleText = ""


class CalibrateRequest(Request, frozen=True, kw_only=True):
    """Radius, lead and springback of the shoe `bender_name` from these test bends; `fit` finds the places of these
    marks too. The conduit is `raceway` and `size`, else that of `bender`, the profile that the asker has by this name
    (its hook reach and grip stay, and its springback where no pointer was read), else of the trade's shoe of the
    name."""

    bender_name: Name
    bends: Annotated[tuple[TestBendReadings, ...], msgspec.Meta(min_length=1, max_length=60)]
    fit: Annotated[tuple[Literal["center", "star"], ...], msgspec.Meta(max_length=2)] = ()
    raceway: Name = ""
    size: Name = ""
    bender: BenderRecord | None = None
    unit: TapeUnit = "in"


def calibrated(request: CalibrateRequest, _: Known) -> BenderAnswer:
    """What was found, as a profile. Raises InputError for a reading, LimitError for what the bends do not determine."""
    name = check_name(request.bender_name)
    raceway = _raceway(request)
    bends = [_bend(bend, number, request.unit) for number, bend in enumerate(request.bends, 1)]
    found = calibrate(raceway, bends, fit_marks=request.fit)
    fitted = profile_from_calibration(name, raceway, found)
    record = record_of(fitted)
    kept = request.bender
    record = msgspec.structs.replace(record, hook_reach=kept.hook_reach if kept else "", grip=kept.grip if kept else "")
    stays = found.springback is None and kept is not None and kept.springback_b0_deg is not None
    if stays and kept:
        back = {"springback_b0_deg": kept.springback_b0_deg, "springback_b1": kept.springback_b1}
        record = msgspec.structs.replace(record, **back)
    profile = msgspec.structs.replace(profile_of(name, record), source=fitted.source)
    answer = with_calibration(explained(profile, request.unit, record), found, bends)
    words = "springback as it was calibrated before: no pointer was read at these bends"
    return msgspec.structs.replace(answer, verdicts=(*answer.verdicts, words)) if stays else answer


def _raceway(request: CalibrateRequest) -> Raceway:
    if request.raceway and request.size:
        return find_raceway(request.raceway, request.size)
    own = profile_of(request.bender_name, request.bender) if request.bender is not None else None
    profile = own or default_by_name(request.bender_name)
    if profile is None or request.raceway or request.size:
        raise InputError(
            f"Which conduit was bent? '{request.bender_name}' is no profile yet, or only one of raceway and size was"
            " given.",
            hint="give the raceway and its size, for example EMT and 1/2",
            field="raceway",
        )
    return raceway_of(profile)


def _bend(bend: TestBendReadings, number: int, unit: TapeUnit) -> TestBend:
    def length(name: str) -> float | None:
        text: str = getattr(bend, name)
        return float(parse_length(text, unit, field=f"bend {number} {name}")) if text else None

    stub, mark = length("stub"), length("mark")
    if stub is None or mark is None:
        missing = "stub" if stub is None else "mark"
        raise InputError(
            f"Test bend {number}: '{missing}' is missing.",
            hint="read stub and mark of each test bend",
            field=f"bend {number} {missing}",
        )
    return TestBend(
        angle_rad=_angle(bend.angle, number, "angle"),
        stub_mm=stub,
        mark_mm=mark,
        leg_mm=length("leg"),
        cut_length_mm=length("cut"),
        reference=bend.at,
        pointer_rad=_angle(bend.pointer, number, "pointer") if bend.pointer else None,
    )


def _angle(text: str, number: int, field: str) -> float:
    try:
        return radians(read_degrees(text, least=-180.0, most=180.0, hint="degrees: 90, 22.5, 22 1/2"))
    except InputError as error:
        field = f"bend {number} {field}"
        raise InputError(f"Test bend {number}: {error.message}", hint=error.hint, field=field) from None
