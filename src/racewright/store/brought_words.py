"""What a device brought in, as the lists of changes name it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from racewright.cards.entry_words import said_line
from racewright.records.entry import Entry
from racewright.records.ids import Id
from racewright.records.model import JobRun
from racewright.store.job_rows import Rows, Write
from racewright.store.job_values import value_of

#: So many entries are named each, more by their runs; a change is told in so many letters.
_EACH, _MOST = 3, 200


def brought_words(rows: Rows, writes: Iterable[Write], names: Mapping[Id, str], path: Path) -> str:
    """A change in words: 'brought in: run PH-01, PH-01-1 made: mark 2 bent (Kim)', 'brought in: 5 entries on PH-01
    (Kim)'. `names`: what the records are called; `rows`: before these are written."""
    of = list(writes)
    told = list(dict.fromkeys(names[one.record] for one in of if one.kind != "entry"))
    runs = {one.record: run for one in of if isinstance(run := value_of(one.kind, one.body, path), JobRun)}
    for behind, gone in (("", False), (" taken back", True)):
        here = [one for one in of if one.kind == "entry" and (one.body is None) == gone]
        told += [f"{words}{behind}" for words in _entries(rows, here, runs, path)]
    words = f"brought in: {', '.join(told)}"
    return words if len(words) <= _MOST else f"{words[: _MOST - 1]}…"


def _entries(rows: Rows, writes: list[Write], runs: dict[Id, JobRun], path: Path) -> Iterator[str]:
    """What is said by whom, on which runs."""
    said: dict[str, list[Entry]] = {}
    for one in writes:
        standing = rows.standing(one.record) if one.body is None else None
        value = value_of("entry", one.body or (standing.body if standing else None), path)
        if isinstance(value, Entry):
            said.setdefault(value.by, []).append(value)
    for by, entries in said.items():
        on = {entry.run: _run(rows, entry.run, runs, path) for entry in entries}
        lines = list(dict.fromkeys(_line(entry, on[entry.run]) for entry in entries))
        if len(lines) > _EACH or "" in lines:
            keys = ", ".join(dict.fromkeys(run.key for run in on.values() if run))
            count = f"{len(entries)} entries" if len(entries) > 1 else "1 entry"
            lines = [f"{count}{f' on {keys}' if keys else ''}"]
        yield f"{'; '.join(lines)}{f' ({by})' if by else ''}"


def _run(rows: Rows, record: Id, runs: dict[Id, JobRun], path: Path) -> JobRun | None:
    standing = None if record in runs else rows.standing(record)
    value = runs.get(record) or (value_of("run", standing.body, path) if standing else None)
    return value if isinstance(value, JobRun) else None


def _line(entry: Entry, run: JobRun | None) -> str:
    """What an entry says of its run; '' where that is not there."""
    line = said_line(run, entry) if run else ""
    return line if run is None or line.startswith(run.key) else f"{run.key}: {line}"
