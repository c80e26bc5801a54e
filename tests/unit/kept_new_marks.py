"""New marks that are kept of the pump house saddle, for the tests that hold what is told of them and what follows."""

import json
import re
from html import unescape
from math import radians
from pathlib import Path
from typing import Any

from typed import kept

from racewright.drawing.scene import Page, Text
from racewright.operations.answer import answer, ask_json
from racewright.operations.remark import RemarkAnswer
from racewright.records.entry import Made, MadeEntry
from racewright.records.ids import new_id
from racewright.store.job_file import job_to_data

SADDLE = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")


def last() -> Made:
    return [one.what for one in kept().entries if isinstance(one.what, Made)][-1]


def remark(*made: dict[str, Any], **more: Any) -> RemarkAnswer:
    survey = job_to_data(kept())["runs"][0]["survey"]
    told = answer("remark", {"survey": survey, "made": list(made), **more})
    assert isinstance(told, RemarkAnswer)
    return told


def marked(number: int, **more: Any) -> dict[str, Any]:
    return {"id": new_id(), "what": {"kind": "made", "bends": [{"number": number, **more}]}}


def remarked_or_refused(record: list[dict[str, Any]], *made: dict[str, Any]) -> Any:
    survey = job_to_data(kept())["runs"][0]["survey"]
    return answer("remark", {"survey": survey, "record": record, "made": list(made)})


def kept_with(*made: dict[str, Any], roll_deg: float = 0.0, **more: Any) -> dict[str, Any]:
    """New marks as the plan has them for the bends that are not made, the planes of these turned."""
    plan = remark({"number": 1}).anew
    assert plan is not None
    marks = [
        {
            "number": bend.number,
            "mark_mm": bend.mark_mm,
            "angle_rad": radians(bend.angle_deg),
            "hook": bend.hook,
            "reference": bend.reference,
            "roll_rad": radians(bend.roll_deg + roll_deg),
        }
        for bend in plan.bends
        if bend.number not in {one["number"] for one in made}
    ]
    return {"id": new_id(), "what": {"kind": "made", "bends": made, "anew": {"marks": marks, **more}}}


TRIMMED = {
    "racewright": 1,
    "units": "in",
    "run": {
        "name": "pump house, along the floor",
        "raceway": "EMT 1/2",
        "cut": "after",
        "surface": "floor",
        "start": {"name": "pump", "fitting": "set-screw"},
        "end": {"name": "box", "fitting": "set-screw"},
        "walk": [
            {
                "leg": "26 3/4",
                "from": "face",
                "to": "back",
                "features": [
                    {"offset": {"rise": "5", "angle": 30, "shift": "1 3/16", "side": "right", "middle_at": "13 3/4"}}
                ],
            },
            {"turn": "left", "angle": 22.5},
            {"leg": "55 5/8", "from": "inside", "to": "face"},
        ],
    },
}


def words_of(page: Page) -> str:
    return " ".join(" ".join(item.text for item in page.items if isinstance(item, Text)).split())


#: Of the saddle, whose bend 1 has 25°: its new marks in words, and the sentence that says them.
MARKS = (
    'mark 2 26 13/16": bend to 44°, read after letting go, center mark, hook toward A, do not rotate: line stays up, '
    'bender upside down, handle on the floor; then mark 3 36 1/2": bend to 19°, read after letting go, arrow, hook '
    "toward A, rotate 180°: line down, bender upside down, handle on the floor"
)
BY_ITS_CARD = "PH-01: the rest is bent by new marks, not by those of its card:"
NUMBERED = f"{BY_ITS_CARD} 1. M{MARKS[1:].replace('; then m', '. 2. M')}."


def record() -> list[MadeEntry]:
    return [MadeEntry(id=one.id, what=one.what) for one in kept().entries if isinstance(one.what, Made)]


def sheet(what: str, data: dict[str, Any] | None = None) -> str:
    """The words of a sheet of the job's one run, with its record; of another job file, where one is given."""
    data = data or job_to_data(kept())
    asked_for = {"survey": data["runs"][0]["survey"], "job": data, "what": what}
    pages = json.loads(ask_json("card", json.dumps(asked_for)))["pages"]
    return " ".join(unescape(" ".join(re.findall(r"<text[^>]*>([^<]*)", " ".join(pages)))).split())
