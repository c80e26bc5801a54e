"""The planned run as the rules see it, and what they find."""

from __future__ import annotations

from math import tan

import msgspec

from racewright.catalogue.model import Raceway
from racewright.codebook.edition import load_edition
from racewright.errors import Finding, RacewrightError, about
from racewright.geometry.chain import CornerFit
from racewright.geometry.frame import Frame
from racewright.geometry.vector import Vec
from racewright.inspection.check_run import RunCheck, RunSettings, check_run
from racewright.inspection.expansion import Climate
from racewright.route.model import Route
from racewright.route.run_line import EndKind, RunShape
from racewright.survey.model import EndFitting, Survey
from racewright.units.tape import MM_PER_INCH
from racewright.wires.conductors import parse_group
from racewright.wires.pull_wires import pull_wires
from racewright.wires.wire_fill import check_fill

#: Which way is down in room coordinates (x along the first leg, y to its left, z off the surface).
_DOWN: dict[str, Vec] = {
    "floor": (0.0, 0.0, -1.0),
    "ceiling": (0.0, 0.0, 1.0),
    "right": (0.0, -1.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "up": (-1.0, 0.0, 0.0),
    "down": (1.0, 0.0, 0.0),
}


def run_shape(
    survey: Survey, raceway: Raceway, route: Route, fit: CornerFit, couplings_mm: tuple[float, ...]
) -> RunShape:
    """What the rules need of a run: its centreline, ends, couplings, where straps hold it, and which way is down."""
    return RunShape(
        raceway=raceway,
        length_mm=fit.length_mm,
        turns=fit.turns,
        frame=Frame(*fit.frame),
        start=_end_kind(survey.start),
        end=_end_kind(survey.end),
        couplings_mm=couplings_mm,
        off_surface_mm=off_surface_spans(route, fit),
        threaded_couplings=survey.start.kind == "threaded" and survey.end.kind == "threaded",
        down=_DOWN[survey.going if survey.surface == "wall" else survey.surface],
    )


def off_surface_spans(route: Route, fit: CornerFit) -> tuple[tuple[float, float], ...]:
    """The stretches of the straights (stations, mm) where the run does not lie at strap height on its surface."""
    spans: list[tuple[float, float]] = []
    stop = setback = 0.0
    for lie, turn in zip(route.lies, (*fit.turns, None), strict=True):
        start, stop = stop, fit.length_mm if turn is None else turn.arc_start_mm
        if lie is None:
            spans.append((start, stop))
        else:
            # the straight begins where the arc before it ends: one setback past its corner point
            corner = start - setback
            spans += [(start, corner + lie[0]), (corner + lie[1], stop)]
        if turn is not None:
            setback = turn.radius_mm * tan(turn.angle_rad / 2.0)
            stop = turn.arc_start_mm + turn.radius_mm * turn.angle_rad
    return tuple((a, b) for a, b in spans if b - a > 1e-6)


def check_planned(
    survey: Survey,
    raceway: Raceway,
    route: Route,
    fit: CornerFit,
    couplings_mm: tuple[float, ...],
) -> RunCheck:
    """All rules on the run by the survey's edition, and on its wires where it names them. Raises InputError for wires
    unknown, UnknownName for an edition that is not here."""
    book = load_edition(survey.edition)
    shape = run_shape(survey, raceway, route, fit, couplings_mm)
    place = survey.climate
    climate = (
        None
        if place is None
        else Climate(lowest_c=place.lowest_c, highest_c=place.highest_c, install_c=place.install_c, in_sun=place.in_sun)
    )
    settings = RunSettings(tape=survey.tape, climate=climate)
    if not survey.wires:
        return check_run(shape, None, settings, edition=book)
    groups = []
    for i, text in enumerate(survey.wires):
        with about(f"run.wires[{i}]"):
            groups.append(parse_group(text, book))
    # Chapter 9 Note 4: a nipple goes from one box or cabinet to the next.
    short = fit.length_mm <= float(book.limit("nipple_longest") * MM_PER_INCH)
    nipple = short and shape.start == shape.end == "box"
    fill = check_fill(raceway, groups, book, nipple=nipple)
    extra: list[Finding] = list(fill.findings)
    try:
        wires = pull_wires(groups, book)
    except RacewrightError as err:
        wires = ()
        extra.append(
            Finding(rule="pull.wires", severity="info", message=err.message, citation="no table for these wires")
        )
    checked = check_run(shape, wires or None, settings, edition=book)
    return msgspec.structs.replace(checked, findings=(*checked.findings, *extra))


def _end_kind(end: EndFitting) -> EndKind:
    if end.kind == "none":
        return "free"
    return "coupling" if end.kind.endswith("coupling") else "box"
