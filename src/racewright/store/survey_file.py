"""Survey files: YAML (JSON is YAML too) read with every value as text, and the line of each field kept for errors; and
plans that were written as JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.field_words import one_word
from racewright.store.yaml_text import json_lines, parse_yaml, placed, read_text, told_by_line
from racewright.survey.draft import place_in_words
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

    def told_by_line(self) -> AbstractContextManager[None]:
        """What is refused about this survey, or a request's survey, inside comes with file, line and field."""
        return told_by_line(self.name, self.lines, within="survey.", called=_words_of(self.written))


def read_survey_file(path: Path | str) -> SurveyFile:
    """Read a survey file. Raises InputError with file, line, field, what was expected and an example."""
    return survey_from_text(read_text(path), str(path))


def survey_from_text(text: str, name: str = "survey") -> SurveyFile:
    """Read a survey from its text; errors call the file `name`. Raises as `read_survey_file`."""
    written, lines = _written(text, name)
    with told_by_line(name, lines, called=_words_of(written)):
        return SurveyFile(name, written, read_survey(written), lines)


def read_as_far(path: Path | str, *, unfinished: bool) -> tuple[WrittenSurvey, SurveyFile | None]:
    """A survey as written, with the file where it reads well. Raises InputError with file, line and field for what is
    no survey, and unless it may be `unfinished` for a reading that cannot be taken."""
    text = read_text(path)
    try:
        file = survey_from_text(text, str(path))
    except InputError:
        if not unfinished:
            raise
        return _written(text, str(path))[0], None
    return file.written, file


def _written(text: str, name: str) -> tuple[WrittenSurvey, dict[str, int]]:
    data, lines = parse_yaml(text, name, empty_hint="start from a file under examples/")
    lines |= {one_word(field): line for field, line in lines.items() if field.endswith(".center")}
    with told_by_line(name, lines, called=partial(place_in_words, data)):
        return survey_from_data(data), lines


def _words_of(survey: WrittenSurvey) -> Callable[[str], str]:
    """What a field of it is called: 'leg 2, suction pipe'."""
    return lambda field: place_in_words(msgspec.to_builtins(survey), field)


_MOST_BYTES = 5_000_000


class PlannedFile(msgspec.Struct, frozen=True):
    """One of the two, as written: `survey`, or `plan` as data; the other is None. `lines`: the line of each field."""

    name: str
    survey: WrittenSurvey | None
    plan: dict[str, Any] | None
    lines: dict[str, int]

    @contextmanager
    def told_by_line(self, at: str = "") -> Iterator[None]:
        """What is refused inside about the survey or the plan of a request comes with the file, the line and the field.
        `at` is where they stand in the request ('pieces[0].')."""
        try:
            yield
        except RacewrightError as err:
            part = f"{at}{'survey' if self.plan is None else 'plan'}"
            if err.field == part or err.field.startswith((f"{part}.", f"{part}[")):
                bare = err.field.removeprefix(part).removeprefix(".")
                if bare:
                    err.message = err.message.replace(err.field, bare)
                err.field = bare
                called = _words_of(self.survey) if self.survey is not None else lambda _: ""
                placed(err, self.name, self.lines or self._plan_lines(), called)
            raise

    def _plan_lines(self) -> dict[str, int]:
        return json_lines(read_text(self.name, most_bytes=_MOST_BYTES).encode())


def read_planned_file(path: Path | str) -> PlannedFile:
    """Read a survey or a plan. Raises InputError for a file that is neither."""
    if Path(path).suffix.lower() == ".json":
        text = read_text(path, most_bytes=_MOST_BYTES)
        if '"racewright plan' in text:
            try:
                return PlannedFile(str(path), None, msgspec.json.decode(text, type=dict[str, Any]), {})
            except (msgspec.MsgspecError, UnicodeError, RecursionError):
                raise InputError(
                    f"{path}: is no whole plan: it was cut off or changed.",
                    hint="write it again with `racewright plan FILE --json`",
                ) from None
    file = read_survey_file(path)
    return PlannedFile(str(path), file.written, None, file.lines)
