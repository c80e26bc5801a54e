"""The steps of a piece that are no bends, as a person says that they are done: held to its plan, and to new marks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from racewright.errors import Finding, InputError
from racewright.fit.measured import BendNumber
from racewright.operations.common import Request
from racewright.plan.model import Plan
from racewright.records.bends_left import first_steps, so_far
from racewright.records.entry import BY_PLAN, Made, MadeEntry, StepMade
from racewright.records.model import JobRun
from racewright.records.naming import piece_name
from racewright.records.parts_said import part_words, step_part
from racewright.records.steps import STEPS, StepName, numbered, step_name, steps_planned

_Step = tuple[StepName, int | None]


class StepPlanned(NamedTuple):
    """A step of a piece's plan that is no bend: its kind, which of this kind it is, and what the plan calls it."""

    kind: StepName
    number: int | None
    title: str

    @property
    def which(self) -> _Step:
        """Which step of the piece it is."""
        return self.kind, self.number

    def called(self, planned: Sequence[StepPlanned]) -> str:
        """As a command says it; of several of a kind with what it is: 'insert 2 (Close the coupling)'."""
        name = step_name(*self.which)
        return f"{name} ({self.title})" if sum(one.kind == self.kind for one in planned) > 1 else name


def steps_of(plan: Plan | None, piece: int) -> tuple[StepPlanned, ...] | None:
    """The steps of a piece that are no bends, by its plan, in their order; None: it has none at hand."""
    if plan is None:
        return None
    named = zip(plan.steps, steps_planned(plan.steps), strict=True)
    return tuple(StepPlanned(*of[1:], step.title) for step, of in named if of is not None and of[0] == piece)


class StepSaid(Request, frozen=True, kw_only=True):
    """A step that is done: what new marks want before the bends (end A is cut, or bend `number` is twisted), or one of
    the plan, `number` says which of its kind among those of the piece (None: the first)."""

    kind: StepName
    number: BendNumber | None = None


def step_named(name: str, field: str) -> StepName:
    """The kind of step that a person names. Raises InputError for none."""
    found = next((kind for kind in STEPS if kind == name), None)
    if found is None:
        hint = f"the steps are {', '.join(STEPS)}; with a number behind it, where there are several of it: twist 2"
        raise InputError(f"{field} {name} is no step.", hint=hint, field=field)
    return found


def steps_done(
    said: Sequence[StepSaid],
    record: Sequence[MadeEntry],
    planned: Sequence[StepPlanned] | None,
    over: Collection[_Step],
) -> tuple[Made, ...]:
    """What is recorded of steps that are no bends. `planned`: those of the piece's plan (None: that is not at hand);
    `over`: of these, what is on record. Raises InputError for one that the marks which hold, or the plan, do not want,
    and for one that is recorded already."""
    if not said:
        return ()
    now = so_far(record)
    wanted = () if now.kept is None else first_steps(now.kept.what, now.kept.id)
    there = {(step.kind, step.number): step for step in wanted}
    done = {*over, *((step.kind, step.number) for step in now.steps)}
    found: list[StepMade] = []
    for index, one in enumerate(said):
        row, at = STEPS[one.kind], f"steps[{index}]"
        which: _Step = one.kind, numbered(one.kind, one.number)
        if row.of == "plan" and planned is not None and all(step.which != which for step in planned):
            raise InputError(
                f"{step_name(*which)}: the plan of the piece has no such step.",
                hint=f"it has: {', '.join(step.called(planned) for step in planned)}" if planned else "leave it out",
                field=at,
            )
        if row.of == "marks" and which not in there:
            names = " and ".join(step_name(*which) for which in there)
            of_plan = "length is the cut to length by its plan; " if one.kind == "cut" else ""
            raise InputError(
                f"{step_name(*which)}: no new marks that hold for the piece want that done before its bends.",
                hint=f"they want: {names}" if names else f"{of_plan}leave it out, or keep new marks first",
                field=at,
            )
        if which in done:
            twice = "if it was done twice, measure the bends that are made and ask for new marks"
            of = planned or ()
            titled = next((step.called(of) for step in of if step.which == which), step_name(*which))
            raise InputError(
                f"{titled}: that is recorded as done already.",
                hint=twice if row.spoils else "leave it out",
                field=at,
            )
        done.add(which)
        by = BY_PLAN if now.kept is None else now.kept.id
        found.append(there[which] if row.of == "marks" else StepMade(kind=one.kind, number=which[1], by_marks=by))
    return (Made(bends=(), steps=tuple(found)),)


def early_steps(
    run: JobRun, plan: Plan, piece: int, steps: Sequence[StepSaid], record: Sequence[MadeEntry]
) -> Iterator[Finding]:
    """A caution for what is recorded as done of a piece and comes once it is bent, while no bend of it is on record."""
    bends = plan.pieces[piece - 1].bends
    early = [part_words(step_part(one.kind, one.number)) for one in steps if STEPS[one.kind].again]
    if early and bends and not any(one.what.bends for one in record):
        name, back = piece_name(run.key, piece, len(plan.pieces)), f"racewright job undo {run.key} {early[0]}"
        yield Finding(
            severity="caution",
            rule="job.steps_early",
            message=f"{name}: {', '.join(early)} comes once it is bent, and none of its bends is recorded as made:"
            f" record these too, or take it back (`{back}`)",
            where=run.key,
        )


def steps_told(steps: Sequence[StepSaid], planned: Sequence[StepPlanned] | None) -> Iterator[str]:
    """Which of several of a kind the steps are that are recorded: 'insert 2 is: Close the coupling'."""
    said = {(one.kind, numbered(one.kind, one.number)) for one in steps}
    for step in planned or ():
        if step.which in said and step.called(planned or ()) != step_name(*step.which):
            yield f"{step_name(*step.which)} is: {step.title}"
