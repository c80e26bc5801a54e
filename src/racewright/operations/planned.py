"""The plan of a request, with which every operation on a surveyed run begins, and what the checks of a run found."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from racewright.cautions import cautions_for
from racewright.errors import LimitError, RacewrightError
from racewright.operations.common import Answer, Known, Paper, SurveyRequest
from racewright.operations.which_tool import asked_name, finder
from racewright.plan.model import Plan, PlanChecks
from racewright.plan.plan_run import choose_bender, plan_run
from racewright.records.sticks import from_stock
from racewright.survey.model import Survey
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


def planned(request: SurveyRequest, known: Known, *, bent: bool = False) -> Plan:
    """The plan of a request's survey. Errors name fields from the request's top: 'survey.run.walk[0].leg'. `bent`: it
    is bent already, so no card is made of it and nothing else is advised (see `plan_survey`)."""
    name = asked_name(request.bender, request.bender_name, request.survey)
    find = finder(request.bender, known)
    with _of_survey():
        survey = _read(from_stock(request.survey, request.head))
        return plan_run(
            survey,
            bender_name=name,
            fraction=request.fraction,
            find=find,
            choices=not bent,
            advice=not bent,
            shop=known.benders.values(),
        )


def check_survey(request: SurveyRequest, known: Known) -> None:
    """Refuse what can be refused before the run is planned, as `planned` would: its size, its words, its bender."""
    name = asked_name(request.bender, request.bender_name, request.survey)
    with _of_survey():
        choose_bender(_read(from_stock(request.survey, request.head)), name, finder(request.bender, known))


def _read(survey: WrittenSurvey) -> Survey:
    check_size(survey)
    return read_survey(survey)


@contextmanager
def _of_survey() -> Iterator[None]:
    try:
        yield
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
