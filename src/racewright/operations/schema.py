"""The JSON Schema of a survey file."""

from __future__ import annotations

from typing import Any

from racewright.operations.common import (
    Answer,
    Request,
)
from racewright.operations.known import Known
from racewright.survey.from_data import survey_json_schema


class SchemaRequest(Request, frozen=True, kw_only=True):
    """The JSON Schema of a survey file."""


class SchemaAnswer(Answer, frozen=True, kw_only=True):
    """JSON Schema, draft 2020-12."""

    survey: dict[str, Any]


def schema(_: SchemaRequest, __: Known) -> SchemaAnswer:
    """The JSON Schema of a survey file."""
    return SchemaAnswer(survey=survey_json_schema())
