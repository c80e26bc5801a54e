"""The run as measured so far, for the picture that follows the tape: routed by the planner, without marks or order."""

from __future__ import annotations

from racewright.drawing.project import trace
from racewright.errors import InputError, LimitError, RacewrightError
from racewright.geometry.chain import Centreline
from racewright.geometry.solids import Obstacle as Solid
from racewright.geometry.vector import Vec, add, along, dot, scale, sub
from racewright.operations.answer import trouble_of
from racewright.operations.common import Answer, Known, Part, SurveyRequest, Trouble
from racewright.operations.planned import check_size
from racewright.operations.which_tool import asked_name, finder
from racewright.plan.layout import LaidOut, lay_out
from racewright.plan.plan_run import choose_bender
from racewright.survey.draft import bare, read_draft
from racewright.survey.model import Survey


class SketchRequest(SurveyRequest, frozen=True, kw_only=True):
    """The run as measured so far. A reading not taken yet is ''."""


class SketchedThing(Part, frozen=True, kw_only=True):
    """Something beside the run; `field` is where the survey has it, `at` its middle."""

    name: str
    field: str
    solid: Solid
    at: Vec


class SketchedReading(Part, frozen=True, kw_only=True):
    """Between which points of the room the reading of `field` was taken."""

    field: str
    start: Vec
    end: Vec


class SketchAnswer(Answer, frozen=True, kw_only=True):
    """The conduit's axis as points in the room (mm), readings not taken yet guessed; what stands beside it; the feet of
    its ends and turns on the surfaces that carry it; where the readings were taken; `wrong`: what was written
    and cannot be taken; and `open`: the fields that are still to be measured before there can be a plan."""

    points: tuple[Vec, ...]
    outside_diameter_mm: float
    things: tuple[SketchedThing, ...]
    surface: tuple[Vec, ...]
    readings: tuple[SketchedReading, ...]
    wrong: tuple[Trouble, ...]
    open: tuple[str, ...]


Plane = tuple[Vec, Vec]


def sketch(request: SketchRequest, known: Known) -> SketchAnswer:
    """Lay the run out with guesses for what is not read yet. A thing that has no room is left out of the picture.

    Raises InputError or LimitError where not even the bare legs can be laid out.
    """
    check_size(request.survey)
    draft = read_draft(request.survey)
    if draft.survey is None:
        raise draft.wrong[0] if draft.wrong else InputError("nothing of this run can be drawn yet.")
    laid = _laid_out(draft.survey, request, known)
    return SketchAnswer(
        points=_axis(laid),
        outside_diameter_mm=laid.raceway.outside_diameter_mm,
        things=tuple(SketchedThing(name=o.name, field=o.field, solid=o.solid, at=o.at) for o in laid.route.obstacles),
        surface=_surface(laid, draft.survey),
        readings=tuple(
            SketchedReading(field=d.field, start=d.start, end=d.end)
            for d in laid.route.dimensions
            if d.field and d.field not in draft.guessed
        ),
        wrong=tuple(trouble_of(err) for err in draft.wrong),
        open=draft.open,
    )


def _laid_out(survey: Survey, request: SketchRequest, known: Known) -> LaidOut:
    """The run laid out; where things on a leg have no room without them, in the end without any."""
    name = asked_name(request.bender, request.bender_name, request.survey)
    bender = choose_bender(survey, name, finder(request.bender, known))
    for _ in survey.legs:
        try:
            return lay_out(survey, bender)
        except RacewrightError as err:
            less = bare(survey, err.field)
            if less == survey:
                break
            survey = less
    return lay_out(bare(survey), bender)


def _axis(laid: LaidOut) -> tuple[Vec, ...]:
    """The axis with its arcs, or from corner to corner where they have no room yet."""
    try:
        fit = laid.turned()
    except LimitError:
        return laid.route.points
    return tuple(trace(Centreline.from_turns(fit.length_mm, fit.turns, fit.frame), step_deg=5.0))


def _surface(laid: LaidOut, survey: Survey) -> tuple[Vec, ...]:
    """The foot of every end and turn on the surfaces that carry the legs, one point each."""
    route = laid.route
    corners = {corner.shape: corner.point for corner in route.corners}
    planes = iter(route.surfaces)
    here = next(planes)
    feet = [_foot(route.start, here)]
    for number, turn in enumerate(survey.turns, start=1):
        corner = corners[f"turn {number}"]
        if turn.way in ("left", "right"):
            feet.append(_foot(corner, here))
            continue
        before, here = here, next(planes)
        feet.append(_both_feet(corner, before, here))
    return (*feet, _foot(route.end, here))


def _foot(point: Vec, plane: Plane) -> Vec:
    return along(point, plane[1], -dot(sub(point, plane[0]), plane[1]))


def _both_feet(point: Vec, one: Plane, two: Plane) -> Vec:
    """The nearest point of both planes: point + a n1 + b n2 with a + c b = -d1, c a + b = -d2, c = n1 . n2."""
    c = dot(one[1], two[1])
    d1, d2 = (dot(sub(point, plane[0]), plane[1]) for plane in (one, two))
    if 1.0 - c * c < 1e-9:
        return _foot(point, one)
    a, b = (c * d2 - d1) / (1.0 - c * c), (c * d1 - d2) / (1.0 - c * c)
    return add(point, add(scale(one[1], a), scale(two[1], b)))
