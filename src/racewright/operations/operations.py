"""The list of operations. Each is one module of this folder with its request, its answer and one function."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from importlib import import_module
from typing import Any, cast, get_type_hints

import msgspec

from racewright.operations.common import Answer, Known, Request


class Operation:
    """One thing that can be asked: `name`, what it is `about`, and its function `module.name` in this folder, which
    is loaded when it is first asked. The function's own annotations are the types of request and answer."""

    def __init__(self, name: str, function: str, about: str) -> None:
        self.name, self.about = name, about
        self._function = function

    @cached_property
    def work_out(self) -> Callable[[Any, Known], Answer]:
        """The function, loaded."""
        module, _, name = self._function.partition(".")
        return cast(Callable[[Any, Known], Answer], getattr(import_module(f"racewright.operations.{module}"), name))

    @cached_property
    def _types(self) -> dict[str, Any]:
        return get_type_hints(self.work_out)

    @property
    def request(self) -> type[Request]:
        """The type of its request."""
        return cast(type[Request], next(iter(self._types.values())))

    @property
    def answer(self) -> type[Answer]:
        """The type of its answer."""
        return cast(type[Answer], self._types["return"])


_ALL = (
    Operation("catalogue", "forms.catalogue", "raceways, benders, units to choose from"),
    Operation("plan", "plan.plan", "plan a surveyed run, with pictures"),
    Operation("corner", "corner.corner", "a surveyed run drawn in the room, from one of its four corners"),
    Operation("sketch", "sketch.sketch", "the run as measured so far, for a picture"),
    Operation("check", "planned.check", "a surveyed run against the code's articles"),
    Operation("export", "export.export", "a surveyed run as files to print, or as a model"),
    Operation("card", "plan.card", "pages of the bend card or the 1:1 strip"),
    Operation("parse_length", "forms.length", "read a length as a person writes it"),
    Operation("benders", "bender.benders", "the benders that can be named"),
    Operation("bender", "bender.bender", "what a bender's numbers mean, and what a check says"),
    Operation("calibrate", "bender.calibrated", "a bender's constants from test bends"),
    Operation("shape", "shape.shape", "one bend shape: exact marks, the rule of thumb beside them"),
    Operation("tweak", "tweak.tweak", "the bent piece is off: what to correct"),
    Operation("remark", "remark.remark", "some bends are made: new marks for the rest"),
    Operation("diagnose", "diagnose.diagnose", "several finished pieces: what the shoe or the tape does wrong"),
    Operation("practice", "practice.sheet", "problems with worked answers"),
    Operation("practice_grade", "practice_grade.grade", "a finished practice piece, graded, with likely causes"),
    Operation("practice_class", "practice_class.class_sheet", "the results of a class, as a sheet and as CSV"),
    Operation("read_job", "jobs.read_job", "a job file of the page, checked"),
    Operation("wires_size", "wires_room.size", "smallest trade size for a set of wires"),
    Operation("wires_fit", "wires_room.fit", "do wires fit a raceway, and how many more"),
    Operation("wires_ampacity", "wires_current.ampacity", "how much current a wire may carry in a raceway"),
    Operation("wires_drop", "wires_current.drop", "voltage lost along a circuit, or the size that keeps a limit"),
    Operation("wires_ground", "wires_current.ground", "equipment grounding conductor for an overcurrent device"),
    Operation("wires_box", "wires_room.box", "room that wires and devices need in a box"),
    Operation("wires_pullbox", "wires_room.pullbox", "least size of a pull box"),
    Operation("pull", "pull.pull", "how hard one wire pull is, and which end to feed from"),
    Operation("jobs", "job_status.jobs", "how far each of several jobs is"),
    Operation("job_status", "job_status.job_status", "how far every run of a job is"),
    Operation("job_plan", "job_status.job_plan", "every run of a job planned"),
    Operation("job_run", "job_run.job_run", "one run of a job, with its card"),
    Operation("job_said", "said.job_said", "what was seen and done on the runs of a job, in words"),
    Operation("job_record", "job_record.job_record", "what was measured on a bent piece, added to its run"),
    Operation("job_settings", "job_settings.job_settings", "one change of a job's prices, people, sticks, wire, items"),
    Operation("job_bill", "materials.job_bill", "what a job needs"),
    Operation("job_cut", "materials.job_cut", "the cut list of a job"),
    Operation("job_batch", "batch.job_batch", "what of a job is to be bent, by tool and angle"),
    Operation("job_labels", "piece_labels.job_labels", "labels for the pieces of a job"),
    Operation("job_kits", "kits.job_kits", "what of a job goes to each room"),
    Operation("job_pack", "job_files.job_pack", "a job as one document to hand over"),
    Operation("job_models", "job_files.job_models", "a job as model files"),
    Operation("schema", "forms.schema", "the JSON Schema of a survey file"),
)

OPERATIONS: dict[str, Operation] = {operation.name: operation for operation in _ALL}


def prepare() -> None:
    """Load every operation and the types that it reads. A server does so before its threads answer: msgspec works out
    a type's fields when it first reads one, and two threads that do so at once end the process."""
    for operation in _ALL:
        msgspec.json.Decoder(operation.request)
        msgspec.json.Decoder(operation.answer)
