"""Changes of a job that touch more than one thing: surveys in, a status for many runs, the last change taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Literal, NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.records.model import Area, JobHead, JobRun, Status
from racewright.records.parse import run_from_data
from racewright.store.job_rows import Change
from racewright.store.job_store import JobStore, Kept, RunSave
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import BenderProfile, as_written


class Added(NamedTuple):
    """What was saved, and the job's head as it is now; `past`: runs that are bent already and have another survey."""

    head: JobHead
    saves: tuple[RunSave, ...]
    past: tuple[JobRun, ...]


def add_surveys(
    store: JobStore,
    job: str,
    surveys: Sequence[tuple[str, WrittenSurvey]],
    *,
    own: Mapping[str, BenderProfile] = MappingProxyType({}),
    area: str | None = None,
    replace: bool = False,
    revision: int | None = None,
    by: str = "",
) -> Added:
    """Surveys by their runs' keys become runs, all in one change; with `replace` new surveys for runs that are there,
    made from `revision` (None: the one that stands). The job's head takes on a new area, and those of the user's `own`
    benders that the surveys name. Nothing is planned. Raises InputError, StaleSave."""
    standing = {kept.value.key.casefold(): kept for kept in store.runs(job)}
    saves, past = [], []
    for key, survey in surveys:
        old = standing.get(key.casefold())
        if old is not None and not replace:
            raise InputError(
                f"job '{job}' has a run '{old.value.key}' already.", hint="give another --key, or --replace it"
            )
        if old is None and replace:
            raise InputError(f"job '{job}' has no run '{key}' to replace.", hint="leave --replace out to add it")
        if old is None:
            saves.append(RunSave(run_from_data({"key": key, "survey": survey, "area": area or ""}), 0))
            continue
        changed = _with_survey(old.value, survey, area)
        past += [changed] if changed.survey != old.value.survey and changed.status != "measured" else []
        saves.append(RunSave(changed, revision or old.revision))
    kept = store.head(job)
    head = _completed(kept.value, [survey for _, survey in surveys], area, own)
    what = f"{'new survey' if replace else 'added'}: {', '.join(s.run.key for s in saves)}"
    changed_head = None if head == kept.value else (head, kept.revision)
    store.save_runs(job, saves, head=changed_head, by=by, what=what[:200])
    return Added(head, tuple(saves), tuple(past))


def set_status(
    store: JobStore, job: str, kept: Sequence[Kept[JobRun]], status: Status, *, by: str = "", what: str = ""
) -> None:
    """Runs get this status, in one change; those that have it are left as they stand. Raises StaleSave."""
    saves = [
        RunSave(msgspec.structs.replace(k.value, status=status), k.revision) for k in kept if k.value.status != status
    ]
    if saves:
        store.save_runs(job, saves, by=by, what=f"{what or status}: {', '.join(s.run.key for s in saves)}"[:200])


def turn_last(store: JobStore, job: str, kind: Literal["undo", "redo"], *, by: str, anyone: bool) -> Change | None:
    """Take back the job's last change, or the last undo; somebody else's only where `anyone` says so. Raises InputError
    where there is none, or another came in between."""
    wanted = "save" if kind == "undo" else "undo"
    last = next((c for c in store.changes(job) if c.kind == wanted and not c.undone), None)
    if last is not None and last.by != by and not anyone:
        raise InputError(
            f"the last change is not yours: '{last.what}' by {last.by or 'somebody'}, {last.at}.",
            hint="talk to them, or give --anyone",
        )
    turn = store.undo if kind == "undo" else store.redo
    turn(job, by=by, expect=last.number if last else None)
    return last


def go_back(store: JobStore, job: str, key: str, to: int | None, *, by: str = "") -> int:
    """One run back to what it said at revision `to` (None: the one before the newest); returns that revision. Raises
    InputError where it has none."""
    revisions = store.history(job, key)
    if not revisions:
        store.run(job, key)  # says which runs there are
    target = to if to is not None else revisions[0].number - 1
    store.restore_run(job, key, target, revisions[0].number, by=by)
    return target


def _with_survey(run: JobRun, survey: WrittenSurvey, area: str | None) -> JobRun:
    """The run with a new survey: a plan of the old one no longer stands."""
    status = "measured" if survey != run.survey and run.status == "planned" else run.status
    return msgspec.structs.replace(run, survey=survey, status=status, area=run.area if area is None else area)


def _completed(
    head: JobHead, surveys: Sequence[WrittenSurvey], area: str | None, own: Mapping[str, BenderProfile]
) -> JobHead:
    """The head with a new area, and with benders of the user's own that the surveys name."""
    if area and area not in [a.name for a in head.areas]:
        head = msgspec.structs.replace(head, areas=(*head.areas, Area(name=area)))
    for name in dict.fromkeys(s.run.bender.strip() for s in surveys):
        mine = as_written(name, own)
        if mine is not None and as_written(name, (b.name for b in head.benders)) is None:
            head = msgspec.structs.replace(head, benders=(*head.benders, own[mine]))
    return head
