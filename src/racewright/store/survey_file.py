"""Survey files: YAML (JSON is YAML too) read with every value as text, and the line of each field kept for errors."""

from __future__ import annotations

from pathlib import Path

from racewright import schema
from racewright.errors import InputError
from racewright.survey.model import Survey
from racewright.survey.read import read_survey

#: No survey that a person writes is larger; a larger file is a mistake.
MOST_BYTES = 1_000_000
MOST_DEPTH = 30
MOST_FIELDS = 20_000


def load_survey(path: Path | str) -> Survey:
    """Read a survey file. Raises InputError with file, line, field, what was expected and an example."""
    path = Path(path)
    try:
        raw = path.read_bytes()
    except OSError as err:
        raise InputError(f"{path}: cannot be read: {err.strerror}.", hint="check the name and the folder") from None
    if len(raw) > MOST_BYTES:
        raise InputError(
            f"{path}: is {len(raw)} bytes long; the most taken for a survey is {MOST_BYTES}.",
            hint="is this the right file?",
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise InputError(
            f"{path}: is not a text file in UTF-8 (byte {err.start}).", hint="save it as UTF-8 text"
        ) from None
    return survey_from_text(text, name=str(path))


def survey_from_text(text: str, *, name: str = "survey") -> Survey:
    """Read a survey from its text; errors call the file `name`."""
    data, lines = _parse(text, name)
    try:
        return read_survey(schema.survey_from_data(data))
    except InputError as err:
        line = _line_of(err.field, lines)
        where = f"{name}, line {line}: " if line else f"{name}: "
        raise InputError(
            where + err.message,
            hint=err.hint,
            field=err.field,
            line=line,
            expected=err.expected,
            example=err.example,
        ) from None


def _line_of(field: str, lines: dict[str, int]) -> int | None:
    while field and field not in lines:
        cut = max(field.rfind("."), field.rfind("["))
        field = field[:cut] if cut > 0 else ""
    return lines.get(field)


def _parse(text: str, name: str) -> tuple[object, dict[str, int]]:
    import yaml  # a library at the edge: loaded only when a file is read

    try:
        node = yaml.compose(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError as err:
        mark = getattr(err, "problem_mark", None)
        line = mark.line + 1 if mark else None
        where = f"{name}, line {line}" if line else name
        raise InputError(
            f"{where}: the file's layout cannot be read: {getattr(err, 'problem', None) or 'not YAML'}.",
            hint="indent with spaces, one space after each colon, and put text that has a colon in quotes",
            line=line,
        ) from None
    lines: dict[str, int] = {}
    count = 0

    def build(here: yaml.Node, path: str, depth: int) -> object:
        nonlocal count
        count += 1
        if count > MOST_FIELDS:
            raise InputError(f"{name}: holds more than {MOST_FIELDS} fields.", hint="is this the right file?")
        if depth > MOST_DEPTH:
            raise InputError(f"{name}: nested deeper than {MOST_DEPTH} levels.", hint="see docs/survey-file.md")
        lines.setdefault(path, here.start_mark.line + 1)
        if isinstance(here, yaml.MappingNode):
            out: dict[str, object] = {}
            for key, value in here.value:
                if not isinstance(key, yaml.ScalarNode):
                    raise InputError(f"{name}, line {key.start_mark.line + 1}: a field's name must be a plain word.")
                sub = f"{path}.{key.value}".lstrip(".")
                if key.value in out:
                    raise InputError(
                        f"{name}, line {key.start_mark.line + 1}: {sub} is written twice.",
                        hint="keep one of the two",
                        field=sub,
                        line=key.start_mark.line + 1,
                    )
                lines[sub] = key.start_mark.line + 1
                out[key.value] = build(value, sub, depth + 1)
            return out
        if isinstance(here, yaml.SequenceNode):
            return [build(item, f"{path}[{i}]", depth + 1) for i, item in enumerate(here.value)]
        return str(here.value)

    if node is None:
        raise InputError(f"{name}: the file is empty.", hint="start from a file under examples/")
    return build(node, "", 0), lines
