"""Changes of a job that touch more than one thing: surveys in, entries for a run, the last change turned."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from typing import Literal, NamedTuple

import msgspec

from racewright.catalogue.raceways import raceway_by_name
from racewright.errors import InputError, UnknownName
from racewright.records.copies import begun_again, counted_again, left_as
from racewright.records.entry import NOT_BENT, STATUSES, Entry, Pins, Status, StatusSet, What, said_again, statuses_by
from racewright.records.job_settings import HeadChange, head_with
from racewright.records.model import Area, Job, JobHead, JobRun
from racewright.records.naming import NO_AREA, runs_called
from racewright.records.parse import run_from_data
from racewright.records.superseded import Far
from racewright.records.tool import ToolAt, ToolPin, tools_called
from racewright.store.job_back import PlansOf, made_of_another, status_entries
from racewright.store.job_rows import Change, now
from racewright.store.job_store import JobStore, RunSave, to_turn
from racewright.store.job_values import value_of
from racewright.store.shop_tools import ToolShelf
from racewright.store.tools_in import bring_in
from racewright.survey.written import WrittenSurvey
from racewright.tools.benders import BenderProfile, default_benders

NO_TOOLS = ToolShelf()


class Noted(NamedTuple):
    """What is to be added to the record of a run, each an entry of its own with these pins; what sets a status is of
    the whole run, the rest of `piece`; all of this `copy` (None: of all of them)."""

    run: JobRun
    what: Sequence[What]
    pins: Pins
    piece: int = 1
    copy: int | None = None


class Added(NamedTuple):
    """What was saved, and the job's head as it is now; `past`: runs that have another plan than what is there of them,
    each with the status that its copies had."""

    head: JobHead
    saves: tuple[RunSave, ...]
    past: tuple[tuple[JobRun, tuple[Status, ...], Far], ...]


def change_head(store: JobStore, job: str, changes: Sequence[HeadChange], *, what: str, by: str = "") -> JobHead:
    """Change what a job's head says, as its next revision; returns the head. Raises InputError, LimitError,
    UnknownName, StaleSave."""
    kept = store.head(job)
    head = reduce(head_with, changes, kept.value)
    if head != kept.value:
        store.save(job, [], head=(head, kept.revision), by=by, what=what[:200])
    return head


def add_surveys(
    store: JobStore,
    job: str,
    surveys: Sequence[tuple[str, WrittenSurvey]],
    *,
    own: ToolShelf = NO_TOOLS,
    area: str | None = None,
    times: int | None = None,
    replace: bool = False,
    revision: int | None = None,
    by: str = "",
) -> Added:
    """Surveys by their runs' keys become runs, each so many `times` (None: once, or as often as it is there), all in
    one change; with `replace` new surveys for runs that are there, made from `revision` (None: the one that stands).
    The job's head takes on a new area. Each run is put on the tool that its survey names, as it stands now, the shop's
    or one of the user's `own`; a run that is on it already keeps it as it stood then, and a run whose new survey names
    none keeps its own, where that bends the raceway. Nothing is planned. Raises InputError, StaleSave."""
    pins = _pins_of(store, [survey.run.bender for _, survey in surveys], own, by)
    here, noted = store.load(job), store.entries_read(job) if replace else ()
    saves: list[RunSave] = []
    past: list[tuple[JobRun, tuple[Status, ...], Far]] = []
    entries: list[Entry] = []
    for key, survey in surveys:
        taken = {run.key.casefold(): run for run in (*here.runs, *(save.run for save in saves))}.get(key.casefold())
        called = runs_called(here.runs, key) if replace else (taken,) if taken else ()
        if called and not replace:
            raise InputError(
                f"job '{job}' has a run '{called[0].key}' already.", hint="give another --key, or --replace it"
            )
        if not called and replace:
            raise InputError(f"job '{job}' has no run '{key}' to replace.", hint="leave --replace out to add it")
        if not called:
            new = {"key": key, "survey": survey, "area": area or "", "times": times or 1}
            tool = pins.get(_said(survey.run.bender))
            saves.append(RunSave(msgspec.structs.replace(run_from_data(new), tool=tool), 0))
            continue
        old = store.run(job, key)
        if revision is not None and revision > old.revision:
            raise InputError(
                f"run {old.value.key} has no revision {revision}; {old.revision} stands.",
                hint=f"say the one that you worked from: `racewright job log {old.value.key}` lists them",
                field="revision",
            )
        had, said = here.tool_of(old.value), _said(survey.run.bender)
        keeps = had.is_for(survey.run.raceway) if had and not said else had and _said(had.name) == said
        changed = msgspec.structs.replace(
            old.value,
            survey=survey,
            tool=old.value.tool if keeps else pins.get(said),
            area=old.value.area if area is None else area,
            times=old.value.times if times is None else times,
        )
        base = old.revision if revision is None else revision
        of_run = [kept for kept in noted if kept.value.run == changed.id]
        known, fresh = [kept.value for kept in of_run], survey != old.value.survey
        entries += _of_copies(old.value, changed.times, known, base + 1, by, planned=not fresh)
        if fresh:
            revisions = store.history(changed.id)
            plans = PlansOf(store, job, changed)
            if made := made_of_another(plans, revisions, of_run):
                past.append((changed, here.statuses(old.value), made))
            entries += status_entries(plans, revisions, of_run, base + 1, by)
        saves.append(RunSave(changed, base))
    kept = store.head(job)
    head = kept.value
    if area and area not in [a.name for a in head.areas]:
        head = msgspec.structs.replace(head, areas=(*head.areas, Area(name=area)))
    what = f"{'new survey' if replace else 'added'}: {', '.join(s.run.key for s in saves)}"
    changed_head = None if head == kept.value else (head, kept.revision)
    store.save_runs(job, saves, head=changed_head, entries=entries, by=by, what=what[:200])
    return Added(head, tuple(saves), tuple(past))


def rename_run(store: JobStore, job: str, name: str, key: str, *, by: str = "") -> tuple[str, str]:
    """Give a run another key; returns the old one and the new one. Raises InputError for a key that another run of the
    job has, or that can be none; StaleSave."""
    kept = store.run(job, name)
    taken = next((k.value for k in store.runs(job) if k.value.key.casefold() == key.casefold()), None)
    if taken is not None and taken.id != kept.value.id:
        raise InputError(f"job '{job}' has a run '{taken.key}' already.", hint="give another key", field="key")
    renamed = msgspec.structs.replace(kept.value, key=key)
    store.save_run(job, renamed, kept.revision, by=by, what=f"run {kept.value.key} called {key}"[:200])
    return kept.value.key, key


def set_times(store: JobStore, job: str, names: Sequence[str], times: int, *, by: str = "") -> tuple[JobRun, ...]:
    """Make these runs so many times alike, in one change; returns them as they are now. Copies that are new are not
    bent, whatever was said of all of them; those that counted before are as they were left (`counted_again`). Raises
    InputError, StaleSave."""
    kept = [one for one in store.runs_named(job, names) if one.value.times != times]
    noted = store.entries_read(job)
    entries = [
        entry
        for one in kept
        for entry in _of_copies(
            one.value, times, [k.value for k in noted if k.value.run == one.value.id], one.revision + 1, by
        )
    ]
    saves = [RunSave(msgspec.structs.replace(one.value, times=times), one.revision) for one in kept]
    if saves:
        what = f"{times} times: {', '.join(one.value.key for one in kept)}"
        store.save_runs(job, saves, entries=entries, by=by, what=what[:200])
    return tuple(save.run for save in saves)


def set_area(store: JobStore, job: str, names: Sequence[str], area: str, *, by: str = "") -> tuple[JobRun, ...]:
    """Say in which area these runs are ('': in none), in one change; the job's head takes on a new area. Returns the
    runs as they are now. Raises InputError, StaleSave."""
    kept, head = store.runs_named(job, names), store.head(job)
    listed = {one.name.casefold(): one.name for one in head.value.areas}
    name = listed.get(area.casefold(), area)
    changed = [one for one in kept if one.value.area != name]
    saves = [RunSave(msgspec.structs.replace(one.value, area=name), one.revision) for one in changed]
    areas = (*head.value.areas, Area(name=name))
    new = name and name.casefold() not in listed
    if saves:
        told = (msgspec.structs.replace(head.value, areas=areas), head.revision) if new else None
        what = f"in {name or NO_AREA}: {', '.join(one.value.key for one in changed)}"
        store.save_runs(job, saves, head=told, by=by, what=what[:200])
    return tuple(msgspec.structs.replace(one.value, area=name) for one in kept)


def _of_copies(
    run: JobRun, times: int, entries: Sequence[Entry], number: int, by: str, *, planned: bool = True
) -> list[Entry]:
    """The entries that begin the copies which a run does not have yet: where it is `planned`, and the least of its
    copies is no more than that, planned as well, else measured; but those that were bent before are so again. Where it
    will have fewer, those that keep what is bent of the rest."""
    if times <= run.times:
        return list(left_as(entries, range(times + 1, run.times + 1)))
    after = statuses_by(entries, times)
    there = after[: run.times]
    status: Status = "planned" if planned and "planned" in there and "measured" not in there else "measured"
    pins, at = Pins(run=number), now()
    before = counted_again(entries, range(run.times + 1, times + 1))
    found: list[Entry] = []
    for copy, had in enumerate(after[run.times :], run.times + 1):
        was, entry = before.get(copy, (status, None))
        if entry is not None and had != was:
            found.append(said_again(entry, copy, had))
        elif entry is None and had != (want := max(was, status, key=STATUSES.index)):
            found.append(Entry(run=run.id, copy=copy, what=StatusSet(status=want), pins=pins, by=by, at=at))
            if had not in NOT_BENT and copy in before:
                found += begun_again(entries, copy)
    return found


def entries_of(noted: Iterable[Noted], by: str) -> tuple[Entry, ...]:
    """An entry for each thing that is to be added, by whom and now."""
    at = now()
    return tuple(
        Entry(
            run=one.run.id,
            piece=None if isinstance(what, StatusSet) else one.piece,
            copy=one.copy,
            what=what,
            pins=one.pins,
            by=by,
            at=at,
        )
        for one in noted
        for what in one.what
    )


def add_noted(store: JobStore, job: str, noted: Sequence[Noted], *, by: str = "", what: str = "") -> int:
    """Add to the records of runs, in one change; returns how many entries. Raises InputError."""
    names = ", ".join(dict.fromkeys(one.run.key for one in noted if one.what))
    return store.add_entries(job, entries_of(noted, by), by=by, what=f"{what}{names}"[:200])


def add_planned(
    store: JobStore, job: str, seen: Job, revisions: Mapping[str, int], noted: Sequence[Noted], *, by: str = ""
) -> int:
    """What the plans of a job, as it was `seen` with its runs at these revisions, make of the status of runs, in one
    change; runs that somebody changed meanwhile, or set the status of, are left alone. Returns how many were set."""
    runs = f"{len(noted)} {'run' if len(noted) == 1 else 'runs'}"
    only = {one.run.id: (revisions[one.run.id], seen.said_of(one.run)) for one in noted}
    return store.add_entries(job, entries_of(noted, by), by=by, what=f"planned: {runs}", only_where=only)


def turn_last(store: JobStore, job: str, kind: Literal["undo", "redo"], *, by: str, anyone: bool) -> Change | None:
    """Take back the job's last change, or the last undo; somebody else's only where `anyone` says so, that of another
    person under the same name too. Raises InputError where there is none, or another came in between."""
    last = to_turn(store.changes(job), kind)
    whose, at = ("", "") if last is None else (last.by, last.at)
    if last is not None and whose == by:
        whose, at = _said_by_another(store, last, by) or (whose, at)
    if last is not None and whose != by and not anyone:
        raise InputError(
            f"the last change is not yours: '{last.what}' by {whose or 'somebody'}, {at}.",
            hint="talk to them, or give --anyone",
        )
    turn = store.undo if kind == "undo" else store.redo
    turn(job, by=by, expect=last.number if last else None)
    return last


def _said_by_another(store: JobStore, change: Change, by: str) -> tuple[str, str] | None:
    """Who says what a change tells of runs, and when, where that is not who wrote it: a page of this machine goes by
    the same login."""
    with store.rows.reading():
        wrote = store.rows.of_change(change.number)
    values = [value_of(row.kind, row.body, store.path) for row in wrote]
    if not all(isinstance(value, Entry) for value in values):
        return None
    return next(((one.by, one.at) for one in values if isinstance(one, Entry) and one.by not in ("", by)), None)


def put_on_tool(
    store: JobStore, job: str, names: Sequence[str], tool: str, *, own: ToolShelf, by: str = ""
) -> tuple[tuple[JobRun, ToolAt | None], ...]:
    """Put runs on the tool of this name, as it stands now; '': each on its own tool as it stands now; the name of the
    trade's hand shoe: on no tool of the shop. A run that was planned is measured again. Returns the runs with their
    tools (None: the trade's). Raises InputError for a run that is marked or begun, names no tool, or is of another
    raceway, UnknownName for no such tool, StaleSave."""
    here, kept = store.load_named(job, names)
    put = []
    for one in kept:
        run = one.value
        if here.is_begun(run):
            raise InputError(
                f"run {run.key} is marked or bent already, and stays on its tool.",
                hint="what is bent may be set back to measured; else what is made again is added as a run of its own",
                field="run",
            )
        pin = _pins_of(store, [tool], own, by).get(_said(tool)) if tool else _as_it_stands(store, run)
        taught = None if pin else next((shoe for shoe in default_benders() if _said(shoe.name) == _said(tool)), None)
        if pin is None and taught is None:
            known = ", ".join(kept.value.name for kept in store.tools()) or "none yet"
            message = f"there is no tool '{tool}'." if tool else f"run {run.key} names no tool."
            raise UnknownName(message, hint=f"tools: {known}; `racewright bender add` keeps one", field="tool")
        on = msgspec.structs.replace(run, tool=pin)
        _refuse_other_raceway(on, taught or store.tools_of([on])[0].worked_out())
        if taught and run.survey.run.bender.strip():
            raise InputError(
                f"the survey of run {run.key} names the bender '{run.survey.run.bender}'.",
                hint=f"take that line out of it (`racewright job show {run.key} --survey`, `job add --replace`) first",
                field="tool",
            )
        put.append((one, on))
    entries = [
        Entry(run=run.id, what=StatusSet(status="measured"), pins=Pins(run=one.revision + 1), by=by, at=now())
        for one, run in put
        if run != one.value and "planned" in here.statuses(run)
    ]
    saves = [RunSave(run, one.revision) for one, run in put if run != one.value]
    if saves:
        what = f"on another tool: {', '.join(save.run.key for save in saves)}"
        store.save_runs(job, saves, entries=entries, by=by, what=what[:200])
    tools = {tool.pin: tool for tool in store.tools_of([run for _, run in put])}
    return tuple((run, tools[run.tool] if run.tool else None) for _, run in put)


def _refuse_other_raceway(run: JobRun, tool: BenderProfile) -> None:
    """Raises InputError where the tool bends another raceway than the run's."""
    wanted = raceway_by_name(run.survey.run.raceway)
    if (tool.raceway_type, tool.trade_size) != (wanted.type, wanted.trade_size):
        raise InputError(
            f"run {run.key} is {wanted.name}, and '{tool.name}' bends {tool.raceway_type} {tool.trade_size}.",
            hint=f"`racewright bender list` says which tools there are for {wanted.name}",
            field="tool",
        )


def _as_it_stands(store: JobStore, run: JobRun) -> ToolPin | None:
    """The run's own tool as it stands now; None where it names none, or that was taken out."""
    standing = store.rows.standing(run.tool.id) if run.tool else None
    return ToolPin(id=standing.record, revision=standing.number) if standing and standing.body is not None else None


def _pins_of(store: JobStore, names: Iterable[str], own: ToolShelf, by: str) -> dict[str, ToolPin]:
    """What names the tools of these names, letter case aside: the shop's as they stand, else one of the person's own,
    which comes into the shop with that. A name that is no tool's is left out."""
    wanted = dict.fromkeys(_said(name) for name in names if name.strip())
    kept = {one.value.id: one for one in store.tools()}
    called = tools_called([one.value for one in kept.values()])
    pins = {
        _said(name): ToolPin(id=tool.id, revision=kept[tool.id].revision)
        for name, tool in called.items()
        if _said(name) in wanted
    }
    missing = [name for name in wanted if name not in pins]
    found = {_said(name): tool for name, tool in own.tools.items()} if missing else {}
    bring = {
        name: ToolAt(id=found[name].id, revision=1, name=found[name].name, profile=found[name].profile)
        for name in missing
        if name in found
    }
    if bring:
        with store.rows.writing():
            here = bring_in(store.rows, list(bring.values()), by=by)
        pins |= {name: here[tool.pin] for name, tool in bring.items()}
    return pins


def _said(name: str) -> str:
    """A tool's name as names are told apart."""
    return name.strip().casefold()
