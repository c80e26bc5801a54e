"""Practice sheets: seeded problems, planned by the same engine, with pictures, the answers and the way to them."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from math import hypot
from random import Random
from typing import Annotated, Any

import msgspec

from racewright.cards.side_view import side_view, view_of
from racewright.cautions import cautions_for
from racewright.drawing.metrics import text_width_mm
from racewright.drawing.scene import Box, Circle, Line, Page, Point, Polyline, Primitive, Scene, Text, around
from racewright.drawing.solids import draw_solid, outline_points
from racewright.drawing.svg import to_svg_pages
from racewright.errors import LimitError, RacewrightError, UnknownName
from racewright.geometry.vector import Vec, add, scale
from racewright.operations.common import Answer, Fraction, Known, Name, Request, TapeUnit
from racewright.operations.practice_kinds import PROBLEM_KINDS, Dice, Draft, Problem
from racewright.operations.which_tool import bender_for
from racewright.plan.model import Dimension, Plan
from racewright.plan.plan_run import plan_run
from racewright.sequence.care import bending_care
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.tools.benders import BenderProfile, raceway_of
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
#: The pictures, on paper.
WIDE_MM, HIGH_MM = 160.0, 90.0
_PAD_MM = 20.0
_SIZE_PT = 10.0


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
        if plan is None:
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
            picture=situation(plan, title, without=("rise",) if kind_name == "rolling offset" else ()),
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
    try:
        plan = plan_run(read_survey(survey_from_data(data)))
    except RacewrightError:
        return None
    if len(plan.pieces) != 1 or any(f.severity == "problem" for f in plan.findings):
        return None
    return plan


def _bent(plan: Plan, title: str) -> str:
    view = side_view(plan, 0, Box(0.0, 0.0, WIDE_MM, HIGH_MM))
    page = Page(width_mm=WIDE_MM, height_mm=HIGH_MM, items=tuple(view.items), label=title)
    return to_svg_pages(Scene(title=title, pages=(page,)))[0]


def situation(plan: Plan, title: str, *, without: tuple[str, ...] = ()) -> str:
    """An SVG document: the wanted way as a thin dashed line, obstacles hatched, dimensions with their texts, but for
    those that begin with a word of `without` (they would give the answer away)."""
    view = view_of(plan)
    shown = [d for d in plan.dimensions if not d.text.startswith(without or ("\0",))]
    points: list[Vec] = [*plan.corners_mm, *(p for d in shown for p in (d.start, d.end))]
    for thing in plan.obstacles:
        points += outline_points(thing.solid)
    box = around(tuple(view.flat(p) for p in points))
    wide, high = max(box.right - box.left, 1.0), max(box.bottom - box.top, 1.0)
    factor = min((WIDE_MM - 2.0 * _PAD_MM) / wide, (HIGH_MM - 2.0 * _PAD_MM) / high)
    height = max(high * factor + 2.0 * _PAD_MM + 6.0, 50.0)
    left = (WIDE_MM - wide * factor) / 2.0 - box.left * factor
    top = (height - high * factor) / 2.0 - box.top * factor
    sheet = Box(1.0, 1.0, WIDE_MM - 1.0, height - 1.0)

    def to_page(point: Vec) -> Point:
        x, y = view.flat(point)
        return (left + x * factor, top + y * factor)

    items: list[Primitive] = []
    for thing in plan.obstacles:
        items += draw_solid(thing.solid, to_page, sheet)[0]
    path = tuple(to_page(p) for p in plan.corners_mm)
    items.append(Polyline(points=path, width_mm=0.5, dash=(2.4, 1.4)))
    taken = _along(path)
    for letter, at in (("A", path[0]), ("B", path[-1])):
        items.append(Circle(centre=at, radius_mm=2.8, fill=1.0, width_mm=0.4))
        items.append(Text(at=(at[0], at[1] + 1.3), text=letter, size_pt=_SIZE_PT, weight="bold", anchor="middle"))
        taken.append(Box(at[0] - 3.0, at[1] - 3.0, at[0] + 3.0, at[1] + 3.0))
    for dimension in shown:
        items += _measured(dimension, to_page, taken, sheet)
    page = Page(width_mm=WIDE_MM, height_mm=height, items=tuple(items), label=title)
    return to_svg_pages(Scene(title=title, pages=(page,)))[0]


def _along(path: tuple[Point, ...]) -> list[Box]:
    """Small boxes along the path, which no text may cover."""
    out = []
    for a, b in itertools.pairwise(path):
        parts = max(1, round(hypot(b[0] - a[0], b[1] - a[1]) / 2.0))
        for k in range(parts + 1):
            x, y = a[0] + (b[0] - a[0]) * k / parts, a[1] + (b[1] - a[1]) * k / parts
            out.append(Box(x - 1.0, y - 1.0, x + 1.0, y + 1.0))
    return out


def _measured(dimension: Dimension, to_page: Callable[[Vec], Point], taken: list[Box], sheet: Box) -> list[Primitive]:
    """A dimension line beside what it measures, moved out until its text is free."""
    a, b = to_page(dimension.start), to_page(dimension.end)
    out = to_page(add(dimension.start, scale(dimension.side, 100.0)))
    size = hypot(out[0] - a[0], out[1] - a[1])
    way = ((out[0] - a[0]) / size, (out[1] - a[1]) / size) if size > 1e-6 else (0.0, -1.0)
    half = text_width_mm(dimension.text, _SIZE_PT) / 2.0 + 1.0
    best: tuple[Point, Point, Box] | None = None
    for level in range(10):
        for flip in (1.0, -1.0):
            far = flip * (7.0 + 5.0 * level)
            p = (a[0] + way[0] * far, a[1] + way[1] * far)
            q = (b[0] + way[0] * far, b[1] + way[1] * far)
            x = min(max((p[0] + q[0]) / 2.0, half + 1.0), WIDE_MM - half - 1.0)
            y = (p[1] + q[1]) / 2.0
            box = Box(x - half, y - 2.4, x + half, y + 2.4)
            inside = box.inside(sheet)
            if inside and not any(box.overlaps(other) for other in taken):
                best = (p, q, box)
                break
        if best:
            break
    if best is None:
        return []
    p, q, box = best
    taken.append(box)
    x, y = (box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0
    white = Line(start=(box.left, y), end=(box.right, y), width_mm=4.4, ink=1.0)
    return [
        Line(start=p, end=q, width_mm=0.25),
        Line(start=a, end=p, width_mm=0.15),
        Line(start=b, end=q, width_mm=0.15),
        white,
        Text(at=(x, y + 1.3), text=dimension.text, size_pt=_SIZE_PT, anchor="middle"),
    ]
