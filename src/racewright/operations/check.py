"""A surveyed run against the code's articles and its own measures: findings, no approval."""

from __future__ import annotations

from racewright.cautions import cautions_for
from racewright.operations.common import Answer, SurveyRequest
from racewright.operations.known import Known
from racewright.operations.planned import planned
from racewright.plan.model import ALONG, PlanChecks


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
        along=next((block.lines for block in made.notes if block.title == ALONG), ()),
        findings=tuple(f for f in made.findings if not (request.worst and f.severity == "info")),
        cautions=cautions_for(),
    )
