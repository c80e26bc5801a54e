"""The file `benders.toml`, in which a person's own tools stood before they were records of a shop file: read, and taken
into the person's own shop file once.

    [benders."pump-house-half"]
    raceway = "EMT"
    size = "1/2"
    take_up = "5 in"
    gain = "2 5/8 in"
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.field_words import explained, one_spelling
from racewright.records.ids import digest
from racewright.records.tool import Tool
from racewright.store.current_job import login_name
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_reader import Kept
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.store.places import own_shop
from racewright.tools.benders import raceway_of
from racewright.tools.written import BenderRecord, check_name, profile_of

FILE_NAME = "benders.toml"


def take_in(shop: Path) -> tuple[Tool, ...]:
    """Take the file beside a person's own shop file into that one, and set it aside as `.taken-in`; of another shop
    file nothing is done. A name that is there with other figures gets these as its next revision. Killed at any moment,
    the next look goes on. Returns the tools where they could not be kept, () where nothing is left to do. Raises
    InputError for a file that cannot be read."""
    old = shop.with_name(FILE_NAME)
    if shop != own_shop() or not old.exists():
        return ()
    records = load_records(old)
    tools = tuple(
        Tool(id=digest("tool", name, msgspec.json.encode(record).decode()), name=name, profile=record)
        for name, record in records.items()
    )
    try:
        with JobStore.open(shop, create=True) as store, store.rows.writing():
            stand = _same_tools(tools, store.tools())
            writes = []
            for tool in tools:
                same = stand.get(tool.name)
                if same is not None and same.value.profile == tool.profile:
                    continue
                number = same.revision if same else 0
                now = msgspec.structs.replace(tool, id=same.value.id if same else tool.id)
                if same is None and (gone := store.rows.standing(tool.id)):
                    number = gone.number
                writes.append(Write("tool", now.id, store.rows.numbers.after(number), number, body_of(now)))
            if writes:
                rows = store.rows
                rows.write_change(rows.begin_shop(), writes, by=login_name(), what=f"taken in from {FILE_NAME}")
        os.replace(old, old.with_name(f"{FILE_NAME}.taken-in"))
    except (StoreTrouble, OSError):
        return tools  # a folder that cannot be written: they serve from where they are
    return ()


def _same_tools(tools: Sequence[Tool], kept: Sequence[Kept[Tool]]) -> dict[str, Kept[Tool]]:
    """By the names of the file's tools those that are kept already: named just so, else in other letters. Each is one
    only: where the file has `blue` and `Blue`, the other is a tool of its own."""
    found: dict[str, Kept[Tool]] = {}
    left = list(kept)
    for letters in (str, str.casefold):
        for tool in tools:
            alike = [one for one in left if letters(one.value.name) == letters(tool.name)]
            if alike and tool.name not in found:
                found[tool.name] = alike[0]
                left.remove(alike[0])
    return found


def load_records(where: Path) -> dict[str, BenderRecord]:
    """The records of the file by name; {} where there is none. Raises InputError with line or field for a bad file."""
    try:
        text = where.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return {}
    except UnicodeDecodeError as error:
        raise InputError(f"{where}: not UTF-8 text (byte {error.start}).", hint="save the file as UTF-8") from error
    except OSError as error:
        raise InputError(f"{where}: cannot be read ({error.strerror}).") from error
    import tomllib  # most people have no such file

    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: TOML's own errors, and numbers of thousands of digits
        why = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "nested too deep, or a number too long"
        found = re.search(r"line (\d+)", why)
        raise InputError(
            f"{where}: not a TOML file: {why}.",
            hint='put text in double quotes, and a unit inside them: take_up = "5 in"',
            line=int(found.group(1)) if found else None,
        ) from error
    unknown = sorted(set(data) - {"benders"})
    table = data.get("benders", {})
    if unknown or not isinstance(table, dict):
        name = unknown[0] if unknown else "benders"
        raise InputError(
            f"{where}: '{name}' does not belong here.",
            hint='every profile is a table of its own: [benders."my-half-inch"]',
            field=name,
            line=_line_of(text, name),
        )
    return {name: _record(where, text, name, value) for name, value in table.items()}


def _record(where: Path, text: str, name: str, value: Any) -> BenderRecord:
    try:
        check_name(name)
        record = msgspec.convert(one_spelling(value), BenderRecord)
        raceway_of(profile_of(name, record))
    except (msgspec.ValidationError, RacewrightError) as wrong:
        error = wrong if isinstance(wrong, RacewrightError) else explained(str(wrong), value, BenderRecord, see=_SEE)
        field, reason = error.field, error.message
        line = _line_of(text, name, field)
        place = f"{where}, line {line}" if line else str(where)
        raise InputError(
            f"{place}: profile '{name}': {reason}", hint=error.hint or _SEE, field=field, line=line
        ) from error
    return record


_SEE = f'lengths are text in quotes, "5 in"; fields: {", ".join(BenderRecord.__struct_fields__)}'


def _line_of(text: str, name: str, field: str = "") -> int | None:
    """Line of a field of the profile `name`, else of its first line, else None."""
    head = None
    table: list[str] = []
    for number, line in enumerate(text.split("\n"), 1):
        keys = _keys(line.strip())
        if line.lstrip().startswith("["):
            table, keys = keys, []
        path = [*table, *keys]
        path = path[1:] if path[0:1] == ["benders"] and len(path) > 1 else path
        if path[0:1] == [name]:
            if field and field in path[1:]:
                return number
            head = head or number
    return head


def _keys(line: str) -> list[str]:
    """The names before the equals sign of a line, or in its square brackets, read as TOML does; [] where none are."""
    import tomllib

    try:
        data: Any = tomllib.loads(line if line.startswith("[") else f"{line.partition('=')[0]} = 0")
    except (ValueError, RecursionError):
        return []
    keys = []
    while isinstance(data, dict) and data:
        keys.append(next(iter(data)))
        data = data[keys[-1]]
    return keys
