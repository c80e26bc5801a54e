"""A whole job as model files: DXF for each run, glTF and IFC for all of it."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from racewright.cautions import cautions_for
from racewright.job.plan_job import plan_job
from racewright.operations.common import Answer, Name, Part
from racewright.operations.jobs import JobRequest, in_areas, left_out, only_area
from racewright.operations.known import Known

ModelKind = Literal["dxf", "gltf", "ifc"]


class JobModelsRequest(JobRequest, frozen=True, kw_only=True):
    """The job, or one `area` of it, as files of these `kinds`. `written_at`: date and time for the head of an IFC file,
    'YYYY-MM-DDThh:mm:ss'."""

    kinds: Annotated[tuple[ModelKind, ...], msgspec.Meta(min_length=1, max_length=3)]
    area: Name = ""
    written_at: Name = ""


class ModelFile(Part, frozen=True, kw_only=True):
    """One file whole. `run`: the run that a DXF file holds, '' for one of the whole job; `name` without an ending."""

    kind: ModelKind
    run: str
    name: str
    data: bytes


class JobModelsAnswer(Answer, frozen=True, kw_only=True):
    """The files, those of the runs in the order of the job's areas."""

    files: tuple[ModelFile, ...]


def job_models(request: JobModelsRequest, _: Known) -> JobModelsAnswer:
    """Plan every run and draw it. Raises UnknownName for an area that no run has, MissingExtra without the library of a
    kind of file."""
    from racewright.exports.models import to_model
    from racewright.exports.tube_view import tubes_of
    from racewright.exports.tubes import TubeModel, set_out

    job = only_area(request.job, request.area)
    planned = list(plan_job(job))
    runs = [tubes_of(run.plan, run.key, run.area) for run in in_areas(job, planned) if run.plan]
    title, *names = file_names([job.head.name, *(run.key for run in runs)])
    files = []
    for kind in request.kinds:
        if kind == "dxf":
            for name, run in zip(names, runs, strict=True):
                data = to_model(TubeModel(run.name, (run,)), kind)
                files.append(ModelFile(kind=kind, run=run.key, name=name, data=data))
        else:
            data = to_model(TubeModel(job.head.name, tuple(set_out(runs))), kind, written_at=request.written_at)
            files.append(ModelFile(kind=kind, run="", name=title, data=data))
    return JobModelsAnswer(files=tuple(files), findings=left_out(planned), cautions=cautions_for())


def file_names(keys: list[str]) -> list[str]:
    """A file name for each key, none twice, also where a disk does not tell capitals from small letters."""
    taken: set[str] = set()
    out = []
    for key in keys:
        stem = "".join(c if c.isalnum() or c in "._-" else "_" for c in key).strip(".") or "run"
        name, k = stem, 2
        while name.casefold() in taken:
            name, k = f"{stem}_{k}", k + 1
        taken.add(name.casefold())
        out.append(name)
    return out
