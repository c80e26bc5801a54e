"""A bender's constants from test bends."""

from __future__ import annotations

from math import radians
from typing import Annotated, Literal

import msgspec

from racewright.catalogue.model import Raceway
from racewright.catalogue.raceways import find_raceway
from racewright.errors import InputError
from racewright.operations.bender import BenderAnswer, explained, with_calibration
from racewright.operations.common import AngleText, BenderRecord, LengthText, Name, Request, TapeUnit
from racewright.operations.known import Known
from racewright.tools.benders import default_by_name, raceway_of
from racewright.tools.calibration import TestBend, calibrate, profile_from_calibration
from racewright.tools.model import Reference
from racewright.tools.written import check_name, profile_of, record_of
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length


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
    (its hook reach and grip stay), else of the trade's shoe of the name."""

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
    profile = msgspec.structs.replace(profile_of(name, record), source=fitted.source)
    return with_calibration(explained(profile, request.unit, record), found)


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
            f"Test bend {number}: '{missing}' is missing.", hint="read stub and mark of each test bend", field=missing
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
        raise InputError(f"Test bend {number}: {error.message}", hint=error.hint, field=field) from None
