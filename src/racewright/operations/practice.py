"""Practice sheets: seeded problems, planned by the same engine, with pictures, the answers and the way to them."""

from __future__ import annotations

from random import Random
from typing import Annotated, Any

import msgspec

from racewright.bends import roles
from racewright.cards.layout import badge
from racewright.cards.side_view import PAD_X, PAD_Y, draw_dimensions, side_view, stage_of, view_of
from racewright.cautions import cautions_for
from racewright.drawing.scene import Box, Page, Polyline, Scene, around
from racewright.drawing.solids import draw_solid, outline_points
from racewright.drawing.svg import to_svg_pages
from racewright.errors import LimitError, RacewrightError, UnknownName
from racewright.fit.measured import ApexRise, shown
from racewright.geometry.vector import Vec
from racewright.operations.bent import bent_as_planned
from racewright.operations.common import Answer, Fraction, Known, Name, Request, TapeUnit
from racewright.operations.practice_kinds import PROBLEM_KINDS, Dice, Draft, Problem
from racewright.operations.which_tool import bender_for
from racewright.plan.model import Plan
from racewright.plan.plan_run import plan_run
from racewright.sequence.care import bending_care
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.tools.benders import BenderProfile, raceway_of
from racewright.units.length import parse_length
from racewright.units.tape import TapeStyle, format_length, style_of


class PracticeRequest(Request, frozen=True, kw_only=True):
    """A sheet of problems. The same seed, count, kinds, raceway and units give the same sheet."""

    seed: Annotated[int, msgspec.Meta(ge=0, le=2**31 - 1)] = 1
    count: Annotated[int, msgspec.Meta(ge=1, le=40)] = 6
    kinds: tuple[Name, ...] = ()
    raceway: Name = "EMT 1/2"
    units: TapeUnit = "in"
    fraction: Fraction | None = None


class PracticeSheet(Answer, frozen=True, kw_only=True):
    """A sheet with its key. `note` says which shoe and radius the answers are for."""

    seed: int
    raceway: str
    note: str
    problems: tuple[Problem, ...]


KINDS: dict[str, str] = {name: kind.title for name, kind in PROBLEM_KINDS.items()}
_MOST_THROWS = 60
_SAME_MM = 0.1
#: The pictures, on paper.
WIDE_MM, HIGH_MM = 160.0, 90.0


def sheet(request: PracticeRequest, known: Known) -> PracticeSheet:
    """A sheet: the kinds asked for in turn (all where none is named).

    Raises UnknownName for a kind or raceway, LimitError where no problem of a kind can be made on that shoe.
    """
    for name in request.kinds:
        if name not in PROBLEM_KINDS:
            names = ", ".join(PROBLEM_KINDS)
            raise UnknownName(
                f"there is no kind of problem '{name[:60]}'.", hint=f"kinds are: {names}", field="kinds", expected=names
            )
    kinds = request.kinds or tuple(PROBLEM_KINDS)
    bender = bender_for(request.raceway, None, "", known)
    style = style_of(request.units, request.fraction)
    problems = tuple(
        _problem(request, index + 1, kinds[index % len(kinds)], style, bender) for index in range(request.count)
    )
    note = (
        f"All answers are for {bender.raceway_type} {bender.trade_size} on the shoe '{bender.name}': take-up "
        f"{format_length(bender.take_up_mm, style)}, gain {format_length(bender.gain_mm, style)}, radius "
        f"{format_length(bender.radius_mm, style)}. Free ends: nothing goes into fittings. On another shoe the marks "
        "differ."
    )
    return PracticeSheet(
        seed=request.seed,
        raceway=request.raceway.strip(),
        note=note,
        problems=problems,
        cautions=cautions_for(*bending_care(bender)),
    )


def _problem(request: PracticeRequest, number: int, kind_name: str, style: TapeStyle, bender: BenderProfile) -> Problem:
    """One problem: thrown again until it can be bent without a problem being found."""
    kind = PROBLEM_KINDS[kind_name]
    stock_mm = raceway_of(bender).stock_length_mm
    source = Random(f"{request.seed}/{number}/{kind_name}")
    for _ in range(_MOST_THROWS):
        draft = kind.make(Dice(source, style, bender.radius_mm, stock_mm))
        data = _survey(request, number, draft, style)
        plan = _planned(data)
        if plan is None or not _rises_as_given(plan, draft):
            continue
        results, worked = kind.solve(plan)
        title = f"Problem {number}, {kind_name}"
        return Problem(
            number=number,
            kind=kind_name,
            title=kind.title,
            given=draft.given,
            asked=draft.asked,
            results=results,
            worked=worked,
            picture=situation(plan, title, without=() if kind_name == "offset" else ("rise",)),
            answer_picture=_bent(plan, f"{title}, the answer"),
            survey=survey_from_data(data),
        )
    raise LimitError(
        f"no '{kind_name}' could be made on the shoe '{bender.name}'.", hint="choose another kind or raceway"
    )


def _survey(request: PracticeRequest, number: int, draft: Draft, style: TapeStyle) -> dict[str, Any]:
    return {
        "racewright": 1,
        "units": style.unit,
        "fraction": style.denominator,
        "run": {
            "name": f"Practice {request.seed}, problem {number}",
            "raceway": request.raceway.strip(),
            "start": {"fitting": "none"},
            "end": {"fitting": "none"},
            "walk": draft.walk,
        },
    }


def _planned(data: dict[str, Any]) -> Plan | None:
    """The plan that the answers are read from; None where a problem is found, whatever would work."""
    try:
        plan = plan_run(read_survey(survey_from_data(data)), choices=False, advice=False)
    except RacewrightError:
        return None
    if len(plan.pieces) != 1 or any(f.severity == "problem" for f in plan.findings):
        return None
    return plan


def _rises_as_given(plan: Plan, draft: Draft) -> bool:
    """The shoe makes each saddle of three as high as it is given: the planner makes one that is too low higher."""
    features = [feature for step in draft.walk for feature in step.get("features", ())]
    given = [parse_length(f["saddle"]["height"]) for f in features if f.get("saddle", {}).get("bends") == "3"]
    arcs = bent_as_planned(plan, plan.pieces[0]).arcs
    centers = [k + 1 for k, bend in enumerate(arcs.bends) if bend.role == roles.SADDLE_CENTER]
    rises = [shown(arcs, ApexRise(rise_mm=0.0, number=number)) for number in centers]
    return all(abs(rise - float(wanted)) < _SAME_MM for rise, wanted in zip(rises, given, strict=True))


def _bent(plan: Plan, title: str) -> str:
    view = side_view(plan, 0, Box(0.0, 0.0, WIDE_MM, HIGH_MM))
    page = Page(width_mm=WIDE_MM, height_mm=HIGH_MM, items=tuple(view.items), label=title)
    return to_svg_pages(Scene(title=title, pages=(page,)))[0]


def situation(plan: Plan, title: str, *, without: tuple[str, ...] = ()) -> str:
    """An SVG document: the wanted way as a thin dashed line, obstacles hatched, dimensions with their texts, but for
    those that begin with a word of `without`: they would give the answer away, or hide the way of a low saddle."""
    view = view_of(plan)
    shown = [d for d in plan.dimensions if not d.text.startswith(without or ("\0",))]
    points: list[Vec] = [*plan.corners_mm, *(p for d in shown for p in (d.start, d.end))]
    for thing in plan.obstacles:
        points += outline_points(thing.solid)
    box = around(tuple(view.flat(p) for p in points))
    wide, high = max(box.right - box.left, 1.0), max(box.bottom - box.top, 1.0)
    factor = min((WIDE_MM - 2.0 * PAD_X) / wide, (HIGH_MM - 2.0 * PAD_Y) / high)
    height = max(high * factor + 2.0 * PAD_Y, 50.0)
    room = (WIDE_MM - 2.0 * PAD_X, height - 2.0 * min(PAD_Y, max(9.0, 0.2 * height)))
    stage = stage_of(view, box, Box(0.0, 0.0, WIDE_MM, height), room, 0.0)
    path = tuple(stage.to_page(p) for p in plan.corners_mm)
    items = [item for thing in plan.obstacles for item in draw_solid(thing.solid, stage.to_page, stage.board.area)[0]]
    items.append(Polyline(points=path, width_mm=0.5, dash=(2.4, 1.4)))
    stage.board.avoid(path, 1.0, weight=4)
    for letter, at in (("A", path[0]), ("B", path[-1])):
        items += badge(letter, at, 5.6, square=True)
        stage.board.take(Box(at[0] - 3.0, at[1] - 3.0, at[0] + 3.0, at[1] + 3.0))
    draw_dimensions(shown, stage, items, [], several=False)
    page = Page(width_mm=WIDE_MM, height_mm=height, items=tuple(items), label=title)
    return to_svg_pages(Scene(title=title, pages=(page,)))[0]
