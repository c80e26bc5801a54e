"""All runs of a job planned. One unit of work, `plan_chunk`, is a pure function of its chunk: it runs here, in other
processes, or on other machines, and gives the same answer everywhere.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

import msgspec

from racewright import __version__
from racewright.budget import RUN, RUN_AT_LEAST, RUNS, Budget
from racewright.errors import Finding, InputError, LimitError, RacewrightError, UnknownName
from racewright.plan.model import BendPlanned, Plan
from racewright.plan.plan_run import FindBender, plan_run
from racewright.records.model import Job, JobRun
from racewright.records.new_steps import with_new_marks
from racewright.records.of_plan import of_plan
from racewright.records.sticks import on_sticks
from racewright.records.superseded import against_card
from racewright.records.tool import ToolAt, ToolPin
from racewright.survey.draft import Unfinished, read_finished
from racewright.tools.benders import BenderProfile, as_written, own_or_trade

#: Runs in one unit of work: small enough that little is lost when the work is stopped.
RUNS_A_CHUNK = 4

Outcome = Literal["planned", "problem", "to measure", "cannot be made", "refused", "fault"]


class Chunk(msgspec.Struct, frozen=True, kw_only=True):
    """Some runs of a job, each with the sticks that it is planned from (`on_sticks`), and the tools that the job
    holds: everything that their plans depend on."""

    runs: tuple[JobRun, ...]
    tools: tuple[ToolAt, ...] = ()


class PieceSummary(msgspec.Struct, frozen=True, kw_only=True):
    """One piece in figures: its finished length, the stick it needs at least, and of its bends, from end A, the
    angles, where their marks stand, their planes, and how far end B moves for each radian by which the angle of each
    alone is off (`reaches_mm`), and its plane alone (`swings_mm`)."""

    cut_length_mm: float
    least_stock_mm: float
    angles_deg: tuple[float, ...]
    marks_mm: tuple[float, ...]
    rolls_deg: tuple[float, ...]
    reaches_mm: tuple[float, ...]
    swings_mm: tuple[float, ...]


class RunSummary(msgspec.Struct, frozen=True, kw_only=True):
    """How the planning of one run went. `digest` stands for everything that the plan depends on. `outcome`: 'planned';
    'problem', planned with a finding that is a problem; else no plan, and `message` says why ('to measure': its
    readings are not all there, and `open` are those still to be taken, or one cannot be read; 'fault': the program's
    own). `marks`: the plan's own digest, as it is printed, `marks_before` the one that it had before; `tool`: what it
    is bent on."""

    key: str
    digest: str
    outcome: Outcome
    message: str = ""
    hint: str = ""
    open: tuple[str, ...] = ()
    marks: str = ""
    marks_before: str
    tool: str = ""
    pieces: tuple[PieceSummary, ...] = ()
    problems: int = 0
    cautions: int = 0
    developed_length_mm: float = 0.0
    total_bend_deg: float = 0.0

    @property
    def bends_planned(self) -> tuple[tuple[BendPlanned, ...], ...]:
        """What the bends of each piece should have."""
        return tuple(
            tuple(map(BendPlanned, p.angles_deg, p.marks_mm, p.rolls_deg, p.reaches_mm, p.swings_mm))
            for p in self.pieces
        )


class PlannedRun(msgspec.Struct, frozen=True, kw_only=True):
    """A run with its plan, or with what kept it from having one. `cut_short`: its searches came to the end of their
    share of the work of all runs. `told`: what its record says against its card: that what is there of it was made with
    another plan, that new marks hold."""

    run: JobRun
    plan: Plan | None
    trouble: RacewrightError | None = None
    cut_short: bool = False
    told: tuple[Finding, ...] = ()

    @property
    def key(self) -> str:
        """The run's short name."""
        return self.run.key

    @property
    def name(self) -> str:
        """Where the run goes."""
        return self.run.name

    @property
    def area(self) -> str:
        """The part of the site, or ''."""
        return self.run.area

    @property
    def raceway(self) -> str:
        """The catalogue's name, as written where there is no plan."""
        return self.plan.raceway if self.plan else self.run.raceway

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is told of it, and what the checks of its plan found."""
        return (*self.told, *(self.plan.findings if self.plan else ()))

    @property
    def to_measure(self) -> bool:
        """Whether it has no plan because its survey cannot be read as it is."""
        return isinstance(self.trouble, Unfinished)

    @property
    def why_not(self) -> str:
        """In one line why there is no plan; '' where there is one."""
        return self.trouble.in_sentences if self.trouble else ""

    @property
    def left_out_words(self) -> str:
        """That it has no plan and is left out, and why; '' where it has one."""
        return "" if self.plan else f"no plan, so left out: {self.why_not}"


def run_digest(run: JobRun, job: Job) -> str:
    """Stands for all that the plan of this run depends on: its survey and sticks, its tool, this program's version."""
    return _digest(on_sticks(run, job.head), job.tools)


def _digest(run: JobRun, tools: Sequence[ToolAt]) -> str:
    named = _named(run, tools)
    # repr names every field; the JSON leaves a default away only where it is the very same object
    text = "\0".join((__version__, repr(run.survey), repr(run.tool), repr(named and (named.name, named.profile))))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def _named(run: JobRun, tools: Sequence[ToolAt]) -> ToolAt | None:
    """The tool that the run is bent on: the one that it names, as that revision; else the newest of the name that its
    survey says; None where that is no tool of the job."""
    if run.tool is not None:
        return next((tool for tool in tools if tool.pin == run.tool), None)
    same = [tool for tool in tools if as_written(run.survey.run.bender, (tool.name,))]
    return max(same, key=lambda tool: tool.revision, default=None)


def _find(run: JobRun, tools: Sequence[ToolAt]) -> tuple[str, FindBender]:
    """What `plan_run` is to look a tool up by, '' for the survey's own name, and by which function."""
    named = _named(run, tools)
    if run.tool is not None and named is None:
        raise _not_here(run.tool, tools)
    by_radius = run.survey.run.bend_radius not in (None, "")

    def find(name: str) -> BenderProfile:
        found = named.worked_out() if named else own_or_trade(name, {})
        if found is None:
            known = ", ".join(dict.fromkeys(tool.name for tool in tools))
            raise UnknownName(
                f"the job holds no bender '{name}'.",
                hint=f"its own: {known}" if known else "add it to the job, or leave the name out for the trade's shoe",
                field="run.bender",
                expected=known,
            )
        return found

    return named.name if named and run.tool and not by_radius else "", find


def _not_here(pin: ToolPin, tools: Sequence[ToolAt]) -> UnknownName:
    """The figures that a run was put on are not here, and it is planned on no others."""
    newest = max((tool for tool in tools if tool.id == pin.id), key=lambda tool: tool.revision, default=None)
    if newest is None:
        what = f"its tool ({pin.id[:6]}, revision {pin.revision}) is not among the tools here"
    else:
        what = f"it is on '{newest.name}', revision {pin.revision}, and revision {newest.revision} is the last here"
    return UnknownName(
        f"{what}.",
        hint="share the device that has it, or import a job file that does; `racewright job tool RUN` puts the run on"
        " the tool as it is here, `--on NAME` on another, with other marks",
        field="tool",
    )


def plan_one(run: JobRun, job: Job, *, choices: bool = True, work: Budget | None = None) -> Plan:
    """The plan of one run of the job; `choices` False: no card is made of it; `work`: what its searches may take.
    Raises what `plan_run` raises."""
    return _plan(on_sticks(run, job.head), job.tools, choices=choices, work=work)


def _plan(run: JobRun, tools: Sequence[ToolAt], *, choices: bool, work: Budget | None = None) -> Plan:
    survey = read_finished(run.survey)
    name, find = _find(run, tools)
    return plan_run(survey, bender_name=name, find=find, choices=choices, work=work)


def plan_job(job: Job, *, choices: bool = True) -> Iterator[PlannedRun]:
    """Every run with its plan, in the job's order; `choices` False for the bill and the cut list, which ask for no
    other way to bend a piece and no forecast, and whose runs share their work (`RUNS`).

    Never raises for a run: one without a plan comes with its trouble.
    """
    count = len(job.runs)
    whole = Budget(RUNS + count * RUN_AT_LEAST)
    for number, run in enumerate(job.runs, 1):
        share = max(whole.left - (count - number) * RUN_AT_LEAST, RUN_AT_LEAST)
        work = Budget(RUN) if choices or count == 1 else Budget(min(share, RUN), whole)
        plan, trouble = None, None
        try:
            plan = plan_one(run, job, choices=choices, work=work)
        except RacewrightError as err:
            trouble = err
        short = work.cut_short  # its plan may not be that of its card
        now = None if short else plan.digest if plan else ""
        entries = of_plan(job.entries_of(run), plan)
        told = against_card(run, entries, now, plan.bends_planned if plan else (), plan)
        as_told = plan and with_new_marks(plan, run, entries)
        yield PlannedRun(run=run, plan=as_told, trouble=trouble, cut_short=short, told=told)


def plan_chunk(chunk: Chunk) -> tuple[RunSummary, ...]:
    """The unit of work: plan the runs of a chunk and say in figures how it went. Never raises for a run."""
    return tuple(_summary(run, chunk.tools) for run in chunk.runs)


def chunks_of(job: Job, runs: Iterable[JobRun], size: int = RUNS_A_CHUNK) -> tuple[Chunk, ...]:
    """These runs of the job in units of work, in order."""
    todo = tuple(on_sticks(run, job.head) for run in runs)
    return tuple(Chunk(runs=todo[i : i + size], tools=job.tools) for i in range(0, len(todo), size))


def not_finished(run: JobRun, job: Job) -> RunSummary | None:
    """What is known of a run without planning it: that its survey cannot be read as it is, or that its tool is not
    here; None where neither is so."""
    try:
        read_finished(run.survey)
        _find(run, job.tools)
    except InputError as err:
        return without_plan(run, run_digest(run, job), err)
    return None


def without_plan(run: JobRun, digest: str, why: RacewrightError) -> RunSummary:
    """How it went where it came to no plan."""
    open_ = why.open if isinstance(why, Unfinished) else ()
    limit: Outcome = "cannot be made" if isinstance(why, LimitError) else "refused"
    outcome: Outcome = "to measure" if isinstance(why, Unfinished) else limit
    return RunSummary(
        key=run.key, digest=digest, outcome=outcome, message=why.message, hint=why.hint, open=open_, marks_before=""
    )


def _summary(run: JobRun, tools: Sequence[ToolAt]) -> RunSummary:
    digest = _digest(run, tools)
    try:
        plan = _plan(run, tools, choices=False)
    except (LimitError, InputError) as err:
        return without_plan(run, digest, err)
    except Exception as err:  # one run must not stop a batch of thousands; the fault is shown, never hidden
        return RunSummary(
            key=run.key, digest=digest, outcome="fault", message=f"{type(err).__name__}: {err}", marks_before=""
        )
    problems = [f for f in plan.findings if f.severity == "problem"]
    return RunSummary(
        key=run.key,
        digest=digest,
        outcome="problem" if problems else "planned",
        message=problems[0].message if problems else "",
        marks=plan.digest,
        marks_before=plan.digest_before,
        tool=plan.bender.name if plan.bender else "",
        pieces=tuple(
            PieceSummary(
                cut_length_mm=p.cut_length_mm,
                least_stock_mm=p.least_stock_mm,
                angles_deg=tuple(bend.angle_deg for bend in p.bends),
                marks_mm=tuple(bend.mark_mm for bend in p.bends),
                rolls_deg=tuple(bend.roll_deg for bend in p.bends),
                reaches_mm=tuple(bend.reach_mm for bend in p.bends_planned),
                swings_mm=tuple(bend.swing_mm for bend in p.bends_planned),
            )
            for p in plan.pieces
        ),
        problems=len(problems),
        cautions=sum(f.severity == "caution" for f in plan.findings),
        developed_length_mm=plan.developed_length_mm,
        total_bend_deg=plan.total_bend_deg,
    )
