"""Shop files before version 5, whose jobs held copies of the tools that they used, under names that surveys say: the
copies become tools of the shop, and every revision of a run names its tool as it stood then.

No history is lost: each revision stays under its number in its own change, the tools come in one change at the end.
One name for the same conduit is one tool; other figures under it are its next revision, in the order in which they
came. The ids are made from names, so that two copies of one file, each brought up to date for itself, agree."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import NamedTuple, TypeVar

import msgspec

from racewright.records.before import HeadBefore, on_tool, tool_before
from racewright.records.ids import Id, digest, new_id
from racewright.records.model import JobRun
from racewright.records.tool import Tool, ToolAt
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_sums import change_digest, data_digest, refused_digest, revision_digest

T = TypeVar("T")


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
            head = _read(row.body, HeadBefore, path)
            tools.add(row.job, row.change, head)
            if head.benders:
                new[row.id] = _text(head.now())
    if not tools.every:
        return
    end = db.execute("SELECT coalesce(max(id), 0) FROM change").fetchone()[0] + 1
    for row in rows:
        if kinds[row.id] == "run" and row.body is not None:
            run = _read(row.body, JobRun, path)
            pinned = tools.of(row.job, run, later.get(row.id, end))
            if pinned != run:
                new[row.id] = _text(pinned)
    db.executemany("UPDATE revision SET body = ? WHERE id = ?", [(body, number) for number, body in new.items()])
    _carry_refused(db, path, tools, end)
    _sum_up(db)
    _write_tools(db, tools)


def _carry_refused(db: sqlite3.Connection, path: Path, tools: _Tools, end: int) -> None:
    rows = db.execute(
        "SELECT id, job, kind, body FROM refused WHERE kind IN ('job', 'run') AND body IS NOT NULL"
    ).fetchall()
    for number, job, kind, body in rows:
        said = _read(body, HeadBefore, path).now() if kind == "job" else tools.of(job, _read(body, JobRun, path), end)
        db.execute("UPDATE refused SET body = ? WHERE id = ?", (_text(said), number))


def _sum_up(db: sqlite3.Connection) -> None:
    """Every digest and checksum of what is in the file, anew."""
    jobs = {number: (record, key) for number, record, key in db.execute("SELECT id, record, key FROM job")}
    own: dict[int, list[str]] = {}
    sums = []
    for number, job, kind, record, revision, base, change, body in db.execute(
        "SELECT id, job, kind, record, number, base, change, body FROM revision ORDER BY id"
    ):
        data = data_digest(kind, body)
        checksum = revision_digest(jobs[job][0], kind, record, revision, base, change, data)
        own.setdefault(change, []).append(checksum)
        sums.append((data, checksum, number))
    db.executemany("UPDATE revision SET digest = ?, checksum = ? WHERE id = ?", sums)
    before, chain = "", []
    for number, job, kind, target, at, by, what in db.execute(
        "SELECT id, job, kind, target, at, by, what FROM change ORDER BY id"
    ):
        before = change_digest(before, number, jobs[job], kind, target, at, by, what, own.get(number, []))
        chain.append((before, number))
    db.executemany("UPDATE change SET checksum = ? WHERE id = ?", chain)
    refused = []
    for number, job, kind, record, base, found, at, by, body in db.execute(
        "SELECT id, job, kind, record, base, found, at, by, body FROM refused"
    ):
        data = data_digest(kind, body)
        refused.append((data, refused_digest(jobs[job][0], kind, record, base, found, at, by, data), number))
    db.executemany("UPDATE refused SET digest = ?, checksum = ? WHERE id = ?", refused)


def _write_tools(db: sqlite3.Connection, tools: _Tools) -> None:
    """The tools, in one change of the shop, by who and when the file was written last."""
    number, before, at = db.execute("SELECT id, checksum, at FROM change ORDER BY id DESC LIMIT 1").fetchone()
    shop = db.execute("SELECT id, record FROM job WHERE key = ''").fetchone()
    if shop is None:
        (first,) = db.execute("SELECT checksum FROM change WHERE id = 1").fetchone()
        shop_id = digest("shop", first) if first else new_id()
        shop = (db.execute("INSERT INTO job (key, record) VALUES ('', ?)", (shop_id,)).lastrowid, shop_id)
    rows, sums = [], []
    there = {record for (record,) in db.execute("SELECT DISTINCT record FROM revision WHERE kind = 'tool'")}
    for tool_id, revisions in tools.every.items():
        assert tool_id not in there  # those that devices made have ids of chance
        for tool in revisions:
            body = _text(Tool(id=tool.id, name=tool.name, profile=tool.profile))
            data = data_digest("tool", body)
            base = tool.revision - 1
            sums.append(revision_digest(shop[1], "tool", tool.id, tool.revision, base, number + 1, data))
            rows.append((shop[0], "tool", tool.id, tool.revision, base, number + 1, body, data, sums[-1]))
    what = "tools that the jobs held"
    checksum = change_digest(before, number + 1, (shop[1], ""), "save", None, at, "", what, sums)
    db.execute(
        "INSERT INTO change (id, job, kind, target, at, by, what, checksum) VALUES (?, ?, 'save', NULL, ?, '', ?, ?)",
        (number + 1, shop[0], at, what, checksum),
    )
    db.executemany(
        "INSERT INTO revision (job, kind, record, number, base, change, body, digest, checksum)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        rows,
    )


def _read(body: str, kind: type[T], path: Path) -> T:
    try:
        return msgspec.json.decode(body, type=kind)
    except msgspec.DecodeError as err:
        raise StoreTrouble(
            f"{path}: cannot be brought up to date, for something in it cannot be read by this Racewright: {err}.",
            hint="open it with the Racewright that wrote it; the file was left untouched",
        ) from None


def _text(value: msgspec.Struct) -> str:
    return msgspec.json.encode(value).decode()
