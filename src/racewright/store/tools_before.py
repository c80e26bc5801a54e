"""Shop files before version 5, whose jobs held copies of the tools that they used, under names that surveys say: the
copies become tools of the shop, and every revision of a run names its tool as it stood then.

No history is lost: each revision stays under its number in its own change, the tools come in one change at the end.
One name for the same conduit is one tool; other figures under it are its next revision, in the order in which they
came. The ids are made from names, so that two copies of one file, each brought up to date for itself, agree."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import NamedTuple

from racewright.records.before import HeadBefore, on_tool, tool_before
from racewright.records.ids import Id
from racewright.records.model import JobRun
from racewright.records.tool import Tool, ToolAt
from racewright.store.carried import as_text, read, sum_up, write_of_shop


class _Row(NamedTuple):
    """One revision of a head or a run."""

    id: int
    job: int
    record: Id
    change: int
    body: str


class _Tools:
    """The tools of all jobs, and which of them each job held after each change of its head."""

    def __init__(self) -> None:
        self.every: dict[Id, list[ToolAt]] = {}
        self.held: dict[int, list[tuple[int, tuple[ToolAt, ...]]]] = {}

    def add(self, job: int, change: int, head: HeadBefore) -> None:
        """What a job's head held from this change on."""
        tools = []
        for profile in head.benders:
            first = tool_before(profile)
            known = self.every.setdefault(first.id, [])
            same = next((tool for tool in known if (tool.name, tool.profile) == (first.name, first.profile)), None)
            if same is None:
                same = tool_before(profile, len(known) + 1)
                known.append(same)
            tools.append(same)
        self.held.setdefault(job, []).append((change, tuple(tools)))

    def of(self, job: int, run: JobRun, until: int) -> JobRun:
        """The run of a revision that stood before change `until`, on the tool that its plan was made for last: as the
        job held it then; where it came in later, as it came."""
        before = [tools for change, tools in self.held.get(job, []) if change < until]
        after = [tools for change, tools in self.held.get(job, []) if change >= until]
        for tools in (*reversed(before), *after):
            pinned = on_tool(run, tools)
            if pinned.tool is not None:
                return pinned
        return run


def carry(db: sqlite3.Connection, path: Path) -> None:
    """Bring what the file holds from version 4 to 5. Raises StoreTrouble where this Racewright cannot read it."""
    tools = _Tools()
    rows = [
        _Row(*row)
        for row in db.execute(
            "SELECT id, job, record, change, body FROM revision WHERE kind IN ('job', 'run') ORDER BY id"
        )
    ]
    kinds = dict(db.execute("SELECT id, kind FROM revision"))
    later: dict[int, int] = {}  # revision -> the change that the record's next one came in
    last: dict[Id, int] = {}
    for row in rows:
        if row.record in last:
            later[last[row.record]] = row.change
        last[row.record] = row.id
    new: dict[int, str] = {}
    for row in rows:
        if kinds[row.id] == "job" and row.body is not None:
            head = read(row.body, HeadBefore, path)
            tools.add(row.job, row.change, head)
            if head.benders:
                new[row.id] = as_text(head.of_three())
    if not tools.every:
        return
    end = db.execute("SELECT coalesce(max(id), 0) FROM change").fetchone()[0] + 1
    for row in rows:
        if kinds[row.id] == "run" and row.body is not None:
            run = read(row.body, JobRun, path)
            pinned = tools.of(row.job, run, later.get(row.id, end))
            if pinned != run:
                new[row.id] = as_text(pinned)
    db.executemany("UPDATE revision SET body = ? WHERE id = ?", [(body, number) for number, body in new.items()])
    _carry_refused(db, path, tools, end)
    sum_up(db)
    _write_tools(db, tools)


def _carry_refused(db: sqlite3.Connection, path: Path, tools: _Tools, end: int) -> None:
    rows = db.execute(
        "SELECT id, job, kind, body FROM refused WHERE kind IN ('job', 'run') AND body IS NOT NULL"
    ).fetchall()
    for number, job, kind, body in rows:
        said = (
            read(body, HeadBefore, path).of_three() if kind == "job" else tools.of(job, read(body, JobRun, path), end)
        )
        db.execute("UPDATE refused SET body = ? WHERE id = ?", (as_text(said), number))


def _write_tools(db: sqlite3.Connection, tools: _Tools) -> None:
    there = {record for (record,) in db.execute("SELECT DISTINCT record FROM revision WHERE kind = 'tool'")}
    assert not there & tools.every.keys()  # those that devices made have ids of chance
    bodies = {
        tool_id: [as_text(Tool(id=tool.id, name=tool.name, profile=tool.profile)) for tool in revisions]
        for tool_id, revisions in tools.every.items()
    }
    write_of_shop(db, [("tool", one, told) for one, told in bodies.items()], "tools that the jobs held")
