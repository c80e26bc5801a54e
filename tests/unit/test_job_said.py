"""Entries of a job in words, its lists as tables, and how many runs a door takes, asked as a page asks."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from racewright import browser
from racewright.cards.csv_text import csv_bytes, csv_text
from racewright.cards.takeoff_tables import (
    Table,
    batch_tables,
    bill_tables,
    cut_tables,
    kit_tables,
    label_tables,
    left_out_table,
)
from racewright.exports.tables import xlsx_bytes
from racewright.operations.answer import answer
from racewright.operations.batch import JobBatchAnswer
from racewright.operations.common import Answer, Refused
from racewright.operations.kits import JobKitsAnswer
from racewright.operations.materials import JobBillAnswer, JobCutAnswer
from racewright.operations.piece_labels import JobLabelsAnswer
from racewright.operations.said import JobSaidAnswer
from racewright.units.tape import style_of

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMO: dict[str, Any] = json.loads((EXAMPLES / "orchard-job.json").read_text(encoding="utf-8"))


def some_runs(count: int) -> dict[str, Any]:
    runs = DEMO["runs"][:count]
    ids = {run["id"] for run in runs}
    return DEMO | {"runs": runs, "entries": [entry for entry in DEMO["entries"] if entry["run"] in ids]}


def asked(operation: str, **request: Any) -> Answer:
    told = answer(operation, request)
    assert not isinstance(told, Refused), told
    return told


def test_each_entry_says_what_it_says_on_its_tape() -> None:
    told = asked("job_said", job=some_runs(3))
    assert isinstance(told, JobSaidAnswer)
    assert [one.entry for one in told.said] == [entry["id"] for entry in some_runs(3)["entries"]]
    words = [one.words for one in told.said]
    assert words[0] == 'PH-01-1 measured: rise under mark 2: 3 3/16"; rides 1/16 high, went in'
    assert set(words[2:]) == {"in place", "bent", "wired"}


def test_a_made_bend_names_its_plan_and_tool() -> None:
    job = some_runs(1)
    made = {"run": job["runs"][0]["id"], "piece": 1, "what": {"kind": "made", "bends": [{"number": 2}]}}
    pins = {"run": 3, "marks": "4K7WQX", "tool": "blue half", "engine": "0.1"}
    told = asked("job_said", job=job | {"entries": [made | {"pins": pins}]})
    assert isinstance(told, JobSaidAnswer)
    assert (told.said[0].words, told.said[0].made_with) == (
        "PH-01-1 made: mark 2 bent",
        "revision 3, plan 4K7WQX, blue half, Racewright 0.1",
    )


def test_new_marks_that_were_kept_are_said_with_what_was_measured() -> None:
    job = some_runs(1)
    anew = {"marks": [{"number": 2, "mark_mm": 682.625, "angle_rad": 0.7679449}], "in_hand_mm": 3048.0}
    what = {"kind": "made", "bends": [{"number": 1, "angle_rad": 0.4363323}], "anew": anew}
    told = asked("job_said", job=job | {"entries": [{"run": job["runs"][0]["id"], "piece": 1, "what": what}]})
    assert isinstance(told, JobSaidAnswer)
    assert told.said[0].words == (
        'PH-01-1 made: mark 1 bent to 25°; new marks for the rest: mark 2 26 7/8": bend it until'
        ' it has 44° after letting go (conduit in hand 120")'
    )


@pytest.mark.parametrize(
    ("pieces", "copy", "called"),
    [(1, None, "PH-01#1"), (1, 14, "PH-01#14"), (3, 14, "PH-01-1#14"), (3, None, "PH-01-1#1")],
)
def test_a_piece_is_called_as_on_its_label(pieces: int, copy: int | None, called: str) -> None:
    job = some_runs(1)
    run = job["runs"][0]
    made = {"run": run["id"], "piece": 1, "what": {"kind": "made", "bends": [{"number": 2}]}}
    whole = job | {"runs": [run | {"times": 20}], "entries": [made | ({"copy": copy} if copy else {})]}
    told = asked("job_said", job=whole, pieces={run["id"]: pieces})
    assert isinstance(told, JobSaidAnswer)
    assert told.said[0].words == f"{called} made: mark 2 bent"


@pytest.mark.parametrize("operation", ["job_bill", "job_cut", "job_batch", "job_labels", "job_kits"])
def test_a_list_comes_as_the_tables_of_its_files_where_they_are_asked_for(operation: str) -> None:
    job = some_runs(6)
    told: Any = asked(operation, job=job, as_tables=True)
    tables = tables_of(told)
    assert [(one.name, one.header) for one in told.tables] == [(table.name, table.header) for table in tables]
    for one, table in zip(told.tables, tables, strict=True):
        assert one.rows == tuple(tuple("" if cell is None else str(cell) for cell in row) for row in table.rows)
    assert told.tables[0].rows
    without: Any = asked(operation, job=job)
    assert without.tables == ()


@pytest.mark.parametrize("operation", ["job_bill", "job_cut", "job_batch", "job_labels", "job_kits"])
def test_a_list_comes_as_files_what_it_leaves_out_first(operation: str) -> None:
    told: Any = asked(operation, job=some_runs(6), as_files=("xlsx", "csv"))
    tables = tables_of(told)
    whole = tables if operation == "job_labels" else (left_out_table(told.not_included), *tables)
    assert [(file.form, file.data) for file in told.files] == [("xlsx", xlsx_bytes(whole)), ("csv", csv_bytes(whole))]
    assert told.files[1].data.decode("utf-8-sig") == csv_text(whole)


def tables_of(told: Answer) -> tuple[Table, ...]:
    style = style_of("in")
    if isinstance(told, JobBillAnswer):
        return bill_tables(told.bill)
    if isinstance(told, JobCutAnswer):
        return cut_tables(told.cuts, style)
    if isinstance(told, JobBatchAnswer):
        return batch_tables(told.bench)
    if isinstance(told, JobKitsAnswer):
        return kit_tables(told.kits, style)
    assert isinstance(told, JobLabelsAnswer)
    return label_tables(DEMO["head"]["name"], told.labels)


def many(count: int) -> dict[str, Any]:
    run = {key: value for key, value in DEMO["runs"][0].items() if key != "id"}
    return {"racewright_job": 3, "head": {"name": "many"}, "runs": [run | {"key": f"R-{i}"} for i in range(count)]}


def test_a_server_takes_60_runs_at_once_and_the_browsers_own_engine_more() -> None:
    refused = answer("job_said", {"job": many(61)})
    assert isinstance(refused, Refused)
    assert refused.error.limit == 60
    assert json.loads(browser.ask_json("job_said", json.dumps({"job": many(61)}))) == {
        "findings": [],
        "not_included": [],
        "cautions": [],
        "said": [],
    }
    told = json.loads(browser.ask_json("job_said", json.dumps({"job": many(1001)})))
    assert told["error"]["limit"] == 1000
