"""Parts that several requests and answers share, and what a person keeps, handed in with every question.

Lengths a person wrote are text; lengths worked out are mm. An operation reads no file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Literal

import msgspec

from racewright.errors import Finding
from racewright.records.model import JobHead
from racewright.survey.written import LengthText as LengthText
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import BenderProfile
from racewright.tools.written import BenderRecord as BenderRecord
from racewright.tools.written import figure_words as figure_words
from racewright.units.tape import TapeStyle, read_tape
from racewright.units.tape import TapeUnit as TapeUnit

if TYPE_CHECKING:
    from racewright.job.plan_job import Chunk, RunSummary

    Plans = Mapping[str, RunSummary]
    Workers = Callable[[Sequence[Chunk]], Iterable[tuple[RunSummary, ...]]]

Paper = Literal["letter", "a4"]
Fraction = Literal[1, 2, 4, 8, 16, 32]
Name = Annotated[str, msgspec.Meta(max_length=200)]
#: Degrees as a person writes them: '22.5', '22 1/2'.
AngleText = Annotated[str, msgspec.Meta(max_length=20, extra={"metavar": "DEG"})]
Kind = Literal["input", "limit", "marks", "unknown name", "missing", "engine"]


class Request(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every request: a field that is not known is refused by name."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """Base of a part of an answer: all fields are always there."""


class Table(Part, frozen=True, kw_only=True):
    """A table of plain cells with a title."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Answer(Part, frozen=True, kw_only=True):
    """Base of every answer. `findings`: what its checks found; `not_included`: what was asked of nobody and stays to be
    done; `cautions`: what to take care of at this work, and last who decides. Doors print all three, by one function.
    """

    findings: tuple[Finding, ...] = ()
    not_included: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


class Trouble(msgspec.Struct, frozen=True, kw_only=True):
    """Why there is no answer. `message` says what was asked and the limit, `hint` what would work; `field` is the
    path of the field in the request ('survey.run.walk[0].leg') or ''. `asked` and `limit` share `unit`.
    `kind`: 'input' cannot be read, 'limit' cannot be made, 'marks' (those of a half-bent piece do not hold), 'unknown
    name', 'missing' (a library or a run that is not there), 'engine' (a fault of the program: never the asker's)."""

    kind: Kind
    message: str
    hint: str = ""
    field: str = ""
    expected: str = ""
    example: str = ""
    quantity: str = ""
    asked: float | None = None
    limit: float | None = None
    unit: str = ""


class Refused(msgspec.Struct, frozen=True, kw_only=True):
    """The shape of every refusal: {"error": {...}}."""

    error: Trouble


class SurveyRequest(Request, frozen=True, kw_only=True):
    """A request about one surveyed run. `survey` is a survey file as data. `bender` is the asker's own shoe
    for the raceway, which a survey with a bend radius does not take; `bender_name` one of the catalogue's; with
    neither, the survey's, or the trade's shoe for the raceway. `fraction` rounds marks. `head`: of the job that the run
    is of, if it is of one: a survey that names no sticks is planned from those that the job buys."""

    survey: WrittenSurvey
    head: JobHead | None = None
    bender: BenderRecord | None = None
    bender_name: Name = ""
    fraction: Fraction | None = None


class Length(Part, frozen=True, kw_only=True):
    """A length: exact mm, and as the tape shows it ('31 5/16')."""

    mm: float
    tape: str


def length_of(value_mm: float, style: TapeStyle) -> Length:
    """A length with its reading."""
    return Length(mm=value_mm, tape=read_tape(value_mm, style).text)


#: A job that comes as data has so many runs at most at a server's door, and in the browser.
MOST_RUNS, MOST_OWN_RUNS = 60, 1000


class Known(msgspec.Struct, frozen=True):
    """`benders`: the person's own by name; it may be a mapping that reads its file when it is first looked into.
    `plans`: how the planning of runs went before, by the digest of all that it depends on. `workers`: plans units of
    work on more than one core; None: one after the other, here. `most_runs`: of a job that comes as data; it keeps an
    answer within the time that the door has for one."""

    benders: Mapping[str, BenderProfile] = MappingProxyType({})
    plans: Plans = MappingProxyType({})
    workers: Workers | None = None
    most_runs: int = MOST_RUNS


NOTHING_KNOWN = Known()
