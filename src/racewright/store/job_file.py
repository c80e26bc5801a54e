"""A whole job as one plain JSON file, out and in: readable, comparable line by line, complete."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import msgspec

from racewright.errors import InputError, RacewrightError
from racewright.exports.output_file import write_whole
from racewright.printable import plain_json
from racewright.records.entry import Entry
from racewright.records.model import JOB_FORMAT, Job, JobRun
from racewright.records.parse import job_from_data
from racewright.store.yaml_text import json_lines, placed, read_bytes
from racewright.survey.written import WrittenSurvey

#: 4,000 runs take about 6 MB.
MOST_BYTES = 200_000_000


def job_to_data(job: Job) -> dict[str, Any]:
    """The job as plain data, with format and units always written out."""
    data: dict[str, Any] = msgspec.to_builtins(job)
    return {
        "racewright_job": JOB_FORMAT,
        "id": job.id,
        "head": {"name": job.head.name, "units": job.head.units, **data["head"]},
        "runs": [_run_data(run) for run in job.runs],
        "entries": [_entry_data(entry) for entry in job.entries],
        "tools": data.get("tools", []),
        "prices": data.get("prices", {}),
        "people": data.get("people", []),
    }


def job_to_json(job: Job) -> str:
    """The job as indented JSON text, ending with a new line."""
    return plain_json(job_to_data(job)) + "\n"


def job_from_json(text: str | bytes, *, name: str = "job") -> Job:
    """A job from its JSON text; errors call the file `name`. Raises InputError."""
    try:
        raw = text.encode() if isinstance(text, str) else text
        data = msgspec.json.decode(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as err:
        raise _not_json(name, raw[: err.start], "is not text in UTF-8", "save it as UTF-8 text") from None
    except UnicodeError:
        raise InputError(f"{name}: half a character stands in it.", hint="write the letter itself") from None
    except (msgspec.DecodeError, RecursionError) as err:
        found = re.fullmatch(r"(?:JSON is malformed: )?(.*) \(byte (\d+)\)", str(err))
        why = found[1] if found else "it is cut off" if "truncated" in str(err) else str(err)
        before = raw[: int(found[2])] if found else raw.rstrip()
        raise _not_json(name, before, f"is not JSON: {why}", "`racewright job export` writes such files") from None
    try:
        return job_from_data(data)
    except RacewrightError as err:
        placed(err, name, json_lines(raw))
        raise


def _not_json(name: str, before: bytes, why: str, hint: str) -> InputError:
    """About the line that ends these bytes."""
    line = before.count(b"\n") + 1
    return InputError(f"{name}, line {line}: {why}.", hint=hint, line=line)


def load_job(path: Path | str) -> Job:
    """Read a job file. Raises InputError with the field's path."""
    return job_from_json(read_bytes(path, most_bytes=MOST_BYTES), name=str(path))


def write_job(path: Path | str, job: Job) -> None:
    """Write a job file, whole or not at all. Raises InputError."""
    write_whole(Path(path), job_to_json(job).encode())


def survey_to_json(survey: WrittenSurvey) -> str:
    """A survey as indented JSON text, which `racewright job add` reads again."""
    return plain_json(_survey_data(survey))


def _survey_data(survey: WrittenSurvey) -> dict[str, Any]:
    return {"racewright": survey.racewright, "units": survey.units, **msgspec.to_builtins(survey)}


def _run_data(run: JobRun) -> dict[str, Any]:
    data: dict[str, Any] = msgspec.to_builtins(run)
    return {"id": run.id, "key": run.key, "area": run.area, **data, "survey": _survey_data(run.survey)}


def _entry_data(entry: Entry) -> dict[str, Any]:
    data: dict[str, Any] = msgspec.to_builtins(entry)
    return {"id": entry.id, "run": entry.run, "by": entry.by, "at": entry.at, **data}
