"""The plan of a request, with which every operation on a surveyed run begins, and what the checks of a run found."""

from __future__ import annotations

from racewright.cautions import cautions_for
from racewright.errors import LimitError, RacewrightError
from racewright.operations.common import Answer, Known, Paper, SurveyRequest
from racewright.operations.which_tool import asked_name, finder
from racewright.plan.model import Plan, PlanChecks
from racewright.plan.plan_run import plan_run
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey

#: No run between two boxes has more (common practice, no source); it keeps every question within the time limit.
MOST_PARTS = 81


MOST_FEATURES = 40


def check_size(survey: WrittenSurvey) -> None:
    """Raises LimitError for a run with more parts than any run between two boxes has."""
    walk = survey.run.walk
    for name, count, most in (
        ("parts (legs and turns)", len(walk), MOST_PARTS),
        ("things met on its legs", sum(len(part.features) for part in walk), MOST_FEATURES),
    ):
        if count > most:
            raise LimitError(
                f"the run has {count} {name}; the most that is planned at once is {most}.",
                hint="split it where a box stands and plan each part as a run of its own",
                quantity=name,
                asked=count,
                limit=most,
                unit="",
            )


def planned(request: SurveyRequest, known: Known) -> Plan:
    """The plan of a request's survey. Errors name fields from the request's top: 'survey.run.walk[0].leg'."""
    name = asked_name(request.bender, request.bender_name, request.survey)
    check_size(request.survey)
    try:
        survey = read_survey(request.survey)
        return plan_run(survey, bender_name=name, fraction=request.fraction, find=finder(request.bender, known))
    except RacewrightError as err:
        if err.field.partition(".")[0] in ("run", "units", "fraction", "racewright"):
            err.field = f"survey.{err.field}"
        raise


def paper_of(asked: Paper | None, made: Plan) -> Paper:
    """The paper asked for, or the one that goes with the tape."""
    return asked or ("letter" if made.tape.unit == "in" else "a4")


class CheckRequest(SurveyRequest, frozen=True, kw_only=True):
    """Check a run as it is planned. `worst`: problems and cautions only, without the reminders."""

    worst: bool = False


class CheckAnswer(Answer, frozen=True, kw_only=True):
    """The findings, worst first; `checks` where straps go and the pulls, `along` the same in words."""

    name: str
    raceway: str
    checks: PlanChecks | None
    along: tuple[str, ...]


def check(request: CheckRequest, known: Known) -> CheckAnswer:
    """Plan the run and say what its checks found."""
    made = planned(request, known)
    return CheckAnswer(
        name=made.name,
        raceway=made.raceway,
        checks=made.checks,
        along=made.along,
        findings=tuple(f for f in made.findings if not (request.worst and f.severity == "info")),
        cautions=cautions_for(),
    )
