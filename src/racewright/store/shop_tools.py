"""The tools of a shop file: kept, forgotten, and looked up by name; those of several files one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path

import msgspec

from racewright.errors import InputError, UnknownName
from racewright.records.tool import Tool, check_tool, tools_called
from racewright.store.benders_before import take_in
from racewright.store.job_reader import Kept, Revision
from racewright.store.job_rows import Row, Write
from racewright.store.job_schema import place_of
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.store.shop_back import revision_to_bring_back, write_back
from racewright.store.told_whole import check_whole
from racewright.tools.benders import BenderProfile
from racewright.tools.written import BenderRecord, check_name, profile_of, refuse_long

#: So many runs are named where a tool that they are on is to be taken out.
_MOST_NAMED = 12


class ToolShelf(Mapping[str, BenderProfile]):
    """The tools of shop files by name, letter case aside; the first file that has a name counts. The files are read
    when they are first looked into, a profile is worked out when it is asked for. Raises RacewrightError then."""

    def __init__(self, *paths: Path) -> None:
        self._paths = tuple(dict.fromkeys(paths))

    @cached_property
    def tools(self) -> dict[str, Tool]:
        """Each by what it is called (`tools_called`)."""
        found: dict[str, tuple[str, Tool]] = {}
        for path in self._paths:
            for name, tool in tools_called(read_tools(path)).items():
                found.setdefault(name.casefold(), (name, tool))
        return dict(found.values())

    def __getitem__(self, name: str) -> BenderProfile:
        return profile_of(name, self.tools[name].profile)

    def __iter__(self) -> Iterator[str]:
        return iter(self.tools)

    def __len__(self) -> int:
        return len(self.tools)

    def record(self, name: str) -> BenderRecord | None:
        """What is kept under this name, letter case aside."""
        return next((tool.profile for called, tool in self.tools.items() if called.casefold() == name.casefold()), None)


def read_tools(path: Path) -> tuple[Tool, ...]:
    """The tools of a shop file, oldest first; none where it does not exist. Each is held against its checksum; the rest
    of the file is not looked at. Raises RacewrightError."""
    unkept = take_in(path)
    if not path.exists():
        return unkept
    with JobStore.open(path, looked_at=place_of(path)) as store:
        return (*unkept, *(kept.value for kept in store.tools()))


def keep_tool(store: JobStore, name: str, record: BenderRecord, *, replace: bool, by: str) -> Tool:
    """Keep a tool under its name; where one bears it already (letter case aside), as its next revision where `replace`;
    where one bore it that was taken out, as the next revision of that, so that a revision of a name never means two
    sets of figures. The same figures again are no revision. Raises InputError for a name that is taken, or figures that
    no tool can have, LimitError for too many revisions."""
    tool = Tool(name=check_name(name), profile=record)
    check_tool(tool)
    with store.rows.writing():
        same = _named(store, name)
        if same is not None and not replace:
            raise InputError(
                f"There is a profile '{same.value.name}' already, for {same.value.profile.raceway}"
                f" {same.value.profile.size}.",
                hint="add --replace to write over it, or choose another name",
                field="name",
            )
        gone = None if same else _taken_out(store, name)
        base = same.revision if same else gone[0].number if gone else 0
        if gone:
            tool = msgspec.structs.replace(tool, id=gone[0].record)
        if same is not None:  # one that is told apart by its id keeps its name
            apart = same.value.name if same.value.name.casefold() != name.casefold() else name
            tool = msgspec.structs.replace(tool, id=same.value.id, name=apart)
            if tool == same.value:
                return tool
        write = Write("tool", tool.id, store.rows.numbers.after(base), base, body_of(tool))
        check_whole(store.rows, tool.id, tool, [body_of(tool)])
        store.rows.write_change(store.rows.begin_shop(), [write], by=by, what=f"tool {name}")
    store.changed = True
    return tool


def forget_tool(store: JobStore, name: str, *, by: str, anyway: bool = False) -> str:
    """Take a tool out; its name as it was written. Its revisions stay. Raises UnknownName; InputError for one that runs
    are on, unless `anyway`."""
    with store.rows.writing():
        same = _named(store, name)
        if same is None:
            raise unknown_tool(name, [kept.value for kept in store.tools()])
        runs = _runs_on(store, same.value)
        if runs and not anyway:
            named = ", ".join(runs[:_MOST_NAMED]) + (f" and {len(runs) - _MOST_NAMED} more" * (len(runs) > _MOST_NAMED))
            raise InputError(
                f"Runs are on '{same.value.name}': {named}.",
                hint="put them on another (`racewright job tool RUN --on NAME`), or give --anyway: they keep the"
                " figures that they were put on",
                field="name",
            )
        write = Write("tool", same.value.id, store.rows.numbers.after(same.revision), same.revision, None)
        store.rows.write_change(store.rows.begin_shop(), [write], by=by, what=f"tool {same.value.name} removed")
    store.changed = True
    return same.value.name


def tool_history(store: JobStore, name: str) -> tuple[str, tuple[Revision, ...]]:
    """What a tool is called, and its revisions, newest first; one that stands goes before one that was taken out, of
    those the last. Raises UnknownName."""
    with store.rows.reading():
        same = _named(store, name)
        if same is not None:
            return same.value.name, store.history(same.value.id)
        gone = _taken_out(store, name)
        if gone:
            return next(r.value.name for r in gone[1] if isinstance(r.value, Tool)), gone[1]
        raise unknown_tool(name, [kept.value for kept in store.tools()])


def bring_back(store: JobStore, name: str, to: int | None, *, by: str, anyone: bool = False) -> tuple[Tool, int, int]:
    """A tool as it was at revision `to` (None: as it was before it last changed) is its next revision. Returns it, the
    number of that, and the one that was brought back. Runs stay on what they were put on. Somebody else's change is
    taken back only where `anyone` says so. Raises UnknownName, InputError."""
    with store.rows.writing():
        called, revisions = tool_history(store, name)
        back = revision_to_bring_back(
            revisions, to, called=f"The tool '{called}'", log="racewright bender log NAME", by=by, anyone=anyone
        )
        tool = back.value
        assert isinstance(tool, Tool)
        refuse_long(tool.name, tool.profile)
        check_whole(store.rows, tool.id, tool, [body_of(tool)])
        number = write_back(store, "tool", tool.id, revisions[0], back, called=f"tool {tool.name}", by=by)
    return tool, number, back.number


def unknown_tool(name: str, tools: Sequence[Tool]) -> UnknownName:
    """No tool of this name is kept."""
    known = ", ".join(tool.name for tool in tools) or "none yet"
    return UnknownName(
        f"There is no own profile '{name}'.",
        hint=f"own profiles: {known} (the trade's hand shoes stay)",
        field="name",
    )


def _taken_out(store: JobStore, name: str) -> tuple[Row, tuple[Revision, ...]] | None:
    """The tool of this name that was taken out last: its row as it stands, and its revisions, newest first."""
    shop = store.rows.shop()
    gone = [row for row in store.rows.all_standing(shop, "tool") if row.body is None] if shop else []
    for row in sorted(gone, key=lambda row: row.change, reverse=True):
        revisions = store.history(row.record)
        was = next((r.value for r in revisions if isinstance(r.value, Tool)), None)
        if was is not None and was.name.casefold() == name.casefold():
            return row, revisions
    return None


def _runs_on(store: JobStore, tool: Tool) -> list[str]:
    """The runs of all jobs that are on this tool: 'PH-07 (orchard)'."""
    return [
        f"{kept.value.key} ({job})"
        for job in store.jobs()
        for kept in store.runs(job)
        if (
            kept.value.tool.id == tool.id
            if kept.value.tool
            else kept.value.survey.run.bender.strip().casefold() == tool.name.casefold()
        )
    ]


def _named(store: JobStore, name: str) -> Kept[Tool] | None:
    kept = {one.value.id: one for one in store.tools()}
    called = tools_called([one.value for one in kept.values()])
    return next((kept[tool.id] for known, tool in called.items() if known.casefold() == name.casefold()), None)
