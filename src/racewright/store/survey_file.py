"""Survey files: YAML (JSON is YAML too) read with every value as text, and the line of each field kept for errors."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec

from racewright.errors import RacewrightError
from racewright.field_words import one_word
from racewright.store.yaml_text import parse_yaml, placed, read_text
from racewright.survey.from_data import survey_from_data
from racewright.survey.model import Survey
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey


class SurveyFile(msgspec.Struct, frozen=True):
    """A survey file that reads well: its name, as written, as measured, and the line of each field."""

    name: str
    written: WrittenSurvey
    survey: Survey
    lines: dict[str, int]

    @contextmanager
    def told_by_line(self) -> Iterator[None]:
        """What is refused about this survey, or a request's survey, inside comes with file, line and field."""
        with _placed(self.name, self.lines):
            yield


def read_survey_file(path: Path | str) -> SurveyFile:
    """Read a survey file. Raises InputError with file, line, field, what was expected and an example."""
    return _file(read_text(path), str(path))


def load_survey(path: Path | str) -> Survey:
    """The survey of a file. Raises InputError as `read_survey_file` does."""
    return read_survey_file(path).survey


def survey_from_text(text: str, *, name: str = "survey") -> Survey:
    """Read a survey from its text; errors call the file `name`."""
    return _file(text, name).survey


def _file(text: str, name: str) -> SurveyFile:
    data, lines = parse_yaml(text, name, empty_hint="start from a file under examples/")
    lines |= {one_word(field): line for field, line in lines.items() if field.endswith(".center")}
    with _placed(name, lines):
        written = survey_from_data(data)
        return SurveyFile(name, written, read_survey(written), lines)


@contextmanager
def _placed(name: str, lines: dict[str, int]) -> Iterator[None]:
    try:
        yield
    except RacewrightError as err:
        err.field = err.field.removeprefix("survey.")
        placed(err, name, lines)
        raise
