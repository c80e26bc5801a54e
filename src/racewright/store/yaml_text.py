"""YAML (JSON is YAML too) as plain dicts, lists and text, with the line of each field; bounded, so that no file that is
nested deep, full of aliases or very long takes the program down."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from racewright.errors import InputError, MissingExtra, RacewrightError, with_path

#: No file that a person writes is nested deeper, or holds more fields, or is longer.
MOST_DEPTH = 30
MOST_FIELDS = 20_000
MOST_BYTES = 1_000_000


class Parsed(NamedTuple):
    """The data, and the line on which each field (by its path: 'run.walk[0].leg') is written."""

    data: object
    lines: dict[str, int]


def read_bytes(path: Path | str, *, most_bytes: int) -> bytes:
    """What stands in a file. Raises InputError that names it."""
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(most_bytes + 1)
    except (OSError, ValueError) as err:  # ValueError: a name with a zero byte
        why = err.strerror if isinstance(err, OSError) and err.strerror else "this is no file's name"
        raise InputError(f"{path}: cannot be read: {why}.", hint="check the name and the folder") from None
    if len(raw) > most_bytes:
        raise InputError(
            f"{path}: is longer than {most_bytes:,} bytes, the most taken.", hint="is this the right file?"
        )
    return raw


def read_text(path: Path | str, *, most_bytes: int = MOST_BYTES) -> str:
    """A text file in UTF-8. Raises InputError that names it."""
    try:
        return read_bytes(path, most_bytes=most_bytes).decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise InputError(
            f"{path}: is not a text file in UTF-8 (byte {err.start}).", hint="save it as UTF-8 text"
        ) from None


def parse_yaml(text: str, name: str, *, empty_hint: str) -> Parsed:
    """The data of a YAML text, every value as text. Raises InputError that calls the file `name`."""
    import yaml  # a library at the edge: loaded only when a file is read

    class Bounded(yaml.BaseLoader):
        depth = count = 0

        def compose_node(self, parent: Any, index: Any) -> Any:
            self.depth += 1
            self.count += 1
            if self.depth > MOST_DEPTH or self.count > MOST_FIELDS:
                raise _too_much(name, self.peek_event().start_mark.line + 1, deep=self.depth > MOST_DEPTH)  # type: ignore[no-untyped-call]
            node = super().compose_node(parent, index)
            self.depth -= 1
            return node

    loader = None
    try:
        loader = Bounded(text)
        node = loader.get_single_node()
    except yaml.YAMLError as err:
        mark = getattr(err, "problem_mark", None)
        raise _not_yaml(name, mark.line + 1 if mark else None, getattr(err, "problem", None) or "not YAML") from None
    except (ValueError, OverflowError):  # the library's own slips, where a number says a letter or the version
        line = loader.line + 1 if loader else None
        raise _not_yaml(name, line, "a number stands for no letter here, or is too long") from None
    if node is None:
        raise InputError(f"{name}: the file is empty.", hint=empty_hint)
    return _Builder(name).parsed(node)


class _Builder:
    def __init__(self, name: str) -> None:
        self.name = name
        self.lines: dict[str, int] = {}
        self.count = 0

    def parsed(self, node: Any) -> Parsed:
        return Parsed(self.build(node, "", 0), self.lines)

    def build(self, here: Any, path: str, depth: int) -> object:
        """The data of a node; an alias is built again at each of its places, and counts there."""
        line = here.start_mark.line + 1
        self.count += 1
        if depth > MOST_DEPTH or self.count > MOST_FIELDS:
            raise _too_much(self.name, line, deep=depth > MOST_DEPTH)
        self.lines.setdefault(path, line)
        if here.id == "sequence":
            return [self.build(item, f"{path}[{i}]", depth + 1) for i, item in enumerate(here.value)]
        if here.id != "mapping":
            return self.text(here.value, path, line)
        out: dict[str, object] = {}
        for key, value in here.value:
            at = key.start_mark.line + 1
            if key.id != "scalar":
                raise self.refused("a field's name must be a plain word.", "", at, path)
            name = self.text(key.value, path, at)
            sub = f"{path}.{name}".lstrip(".")
            if name in out:
                raise self.refused(f"{sub} is written twice.", "keep one of the two", at, sub)
            self.lines[sub] = at
            out[name] = self.build(value, sub, depth + 1)
        return out

    def text(self, value: str, path: str, line: int) -> str:
        """The text with the two halves of a letter, as JSON writes one beyond U+FFFF, made one letter."""
        try:
            return value.encode("utf-16-le", "surrogatepass").decode("utf-16-le")
        except UnicodeDecodeError:
            raise self.refused("half a character stands here.", "write the letter itself", line, path) from None

    def refused(self, message: str, hint: str, line: int, field: str) -> InputError:
        return InputError(f"{self.name}, line {line}: {message}", hint=hint, field=field, line=line)


def _not_yaml(name: str, line: int | None, why: str) -> InputError:
    where = f"{name}, line {line}" if line else name
    return InputError(
        f"{where}: the file's layout cannot be read: {why}.",
        hint="indent with spaces, one space after each colon, and put text that has a colon in quotes",
        line=line,
    )


def _too_much(name: str, line: int, *, deep: bool) -> InputError:
    what = f"nested deeper than {MOST_DEPTH} levels" if deep else f"here the file holds more than {MOST_FIELDS} fields"
    return InputError(f"{name}, line {line}: {what}.", hint="is this the right file?", line=line)


def placed(err: RacewrightError, name: str, lines: dict[str, int], called: Callable[[str], str] = lambda _: "") -> None:
    """Put file, line and field, and before the field what it is `called` in words, in front of an error about the file;
    leave one that has its line already, or that is about something else (an option of the command, a library that is
    missing)."""
    option = err.field.startswith("--") and err.field not in lines
    if err.line is not None or option or isinstance(err, MissingExtra):
        return
    err.line = line_of(err.field, lines)
    where = f"{name}, line {err.line}" if err.line else name
    words = called(err.field)
    err.message = f"{where}: {f'{words}: ' if words else ''}{with_path(err.message, err.field)}"


@contextmanager
def told_by_line(
    name: str, lines: dict[str, int], within: str = "", called: Callable[[str], str] = lambda _: ""
) -> Iterator[None]:
    """What is refused inside about the file `name` comes with the file, the line and the field (`placed`). `within`:
    how the file's fields begin in a request."""
    try:
        yield
    except RacewrightError as err:
        err.field = err.field.removeprefix(within)
        placed(err, name, lines, called)
        raise


def json_lines(raw: bytes) -> dict[str, int]:
    """The line of each field of a JSON text, found when something in it is refused; none where the text is too long."""
    try:
        return parse_yaml(raw.decode("utf-8-sig"), "", empty_hint="").lines if len(raw) <= MOST_BYTES else {}
    except (InputError, UnicodeDecodeError):
        return {}


def line_of(field: str, lines: dict[str, int]) -> int | None:
    """The line of a field, or of the nearest one that it lies in."""
    while field and field not in lines:
        cut = max(field.rfind("."), field.rfind("["))
        field = field[:cut] if cut > 0 else ""
    return lines.get(field)
