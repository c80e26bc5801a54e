"""The user's own bender profiles: one readable TOML file in the user's config folder.

    [benders."pump-house-half"]
    raceway = "EMT"
    size = "1/2"
    take_up = "5 in"
    gain = "2 5/8 in"

Lengths stay as the user wrote them. The file is rewritten whole, beside the old one, and put in its place in one step.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import cached_property
from pathlib import Path
from typing import Any

import msgspec

from racewright.errors import InputError, RacewrightError, UnknownName
from racewright.exports.output_file import write_whole
from racewright.field_words import explained, one_spelling
from racewright.tools.benders import BenderProfile, as_written, raceway_of
from racewright.tools.profile_checks import refuse_impossible
from racewright.tools.written import FILE_NAME, BenderRecord, check_name, profile_of

_HEADER = """# Own bender profiles of Racewright. Lengths are text: "5 in", "2 5/8 in", "127 mm".
# Comments of your own are lost when a profile is added or removed by the program.
"""


def config_folder() -> Path:
    """RACEWRIGHT_HOME; else `racewright` in %APPDATA% (Windows), in XDG_CONFIG_HOME or in ~/.config."""
    own = os.environ.get("RACEWRIGHT_HOME")
    if own:
        return Path(own)
    if sys.platform == "win32" and os.environ.get("APPDATA"):
        return Path(os.environ["APPDATA"]) / "racewright"
    base = os.environ.get("XDG_CONFIG_HOME")
    return (Path(base) if base else Path.home() / ".config") / "racewright"


def bender_file() -> Path:
    """Where the user's own profiles are kept; the file need not exist."""
    return config_folder() / FILE_NAME


def load_records(path: Path | None = None) -> dict[str, BenderRecord]:
    """The user's records by name; {} where there is no file. Raises InputError with line or field for a bad file."""
    where = path or bender_file()
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


class OwnBenders(Mapping[str, BenderProfile]):
    """The user's profiles by name, letter case aside: the file is read when they are first looked into, a profile is
    worked out when it is asked for. Raises InputError then, naming file, line and field."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path

    @cached_property
    def _records(self) -> dict[str, BenderRecord]:
        return load_records(self._path)

    def __getitem__(self, name: str) -> BenderProfile:
        return profile_of(name, self._records[name])

    def __iter__(self) -> Iterator[str]:
        return iter(self._records)

    def __len__(self) -> int:
        return len(self._records)


def own_record(name: str) -> BenderRecord | None:
    """The user's record of this name, letter case aside. Raises InputError for a bad file."""
    records = load_records()
    return records.get(as_written(name, records) or "")


@contextmanager
def changing(path: Path | None = None) -> Iterator[dict[str, BenderRecord]]:
    """The user's records, to be changed in place; what they are at the block's end is saved, unless it raises.

    Two commands at once wait for each other (not on Windows, where the last one wins). Raises InputError.
    """
    where = path or bender_file()
    with suppress(OSError):  # else saving says why
        where.parent.mkdir(parents=True, exist_ok=True)
    with _alone_in(Path(os.path.realpath(where)).parent):
        records = load_records(where)
        yield records
        save_records(records, where)


def keep(name: str, record: BenderRecord, *, replace: bool) -> Path:
    """Keep a record under its name, in place of one of the same name (letter case aside) where `replace`. Raises
    InputError for a name that is taken, or figures that no shoe can have."""
    refuse_impossible(profile_of(check_name(name), record))
    with changing() as records:
        same = as_written(name, records)
        if same is not None and not replace:
            raise InputError(
                f"There is a profile '{same}' already.",
                hint="add --replace to write over it, or choose another name",
                field="name",
            )
        records.pop(same or "", None)
        records[name] = record
    return bender_file()


def forget(name: str) -> str:
    """Forget a record; its name as it was written. Raises UnknownName."""
    with changing() as records:
        same = as_written(name, records)
        if same is None:
            raise UnknownName(
                f"No own profile '{name}' to remove.",
                hint=f"own profiles: {', '.join(records) or 'none yet'} (the trade's hand shoes stay)",
                field="name",
            )
        del records[same]
    return same


@contextmanager
def _alone_in(folder: Path) -> Iterator[None]:
    try:
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        yield
        return
    try:
        with suppress(OSError):  # a disk without locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def save_records(records: dict[str, BenderRecord], path: Path | None = None) -> Path:
    """Write all records: a temporary file in the same folder, flushed to the disk, then put in place in one step."""
    where = path or bender_file()
    for name in records:
        check_name(name)
    hint = "check the disk's room, or set RACEWRIGHT_HOME to a folder of yours"
    try:
        where.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{where}: cannot be written: {error.strerror}.", hint=hint) from error
    write_whole(where, _toml(records).encode(), hint=hint)
    return where


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


def _toml(records: dict[str, BenderRecord]) -> str:
    parts = [_HEADER]
    for name, record in records.items():
        lines = [f"[benders.{_quoted(name)}]"]
        for field, value in msgspec.to_builtins(record).items():
            lines.append(f"{field} = {_quoted(value) if isinstance(value, str) else repr(float(value))}")
        parts.append("\n".join(lines) + "\n")
    return "\n".join(parts)


def _quoted(text: str) -> str:
    """A TOML text in quotes; JSON escapes all that TOML does but the last control character."""
    return msgspec.json.encode(text).decode().replace("\x7f", "\\u007F")
