"""A job as files to hand over: the pack as one document, and models (DXF for each run, glTF and IFC for all)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

import msgspec

from racewright.cards.back_pages import shared_findings
from racewright.cards.pack import RunCards, build_pack
from racewright.cards.pack_model import Pack, PackDocument
from racewright.cautions import cautions_for
from racewright.drawing.svg import to_svg_pages
from racewright.errors import Finding, Severity
from racewright.job.materials import billed
from racewright.job.plan_job import plan_job
from racewright.operations.common import Answer, Known, Name, Paper, Part
from racewright.operations.jobs import JobRequest, about_records, in_areas, left_out, of_runs, only_area, problems_of
from racewright.records.naming import told_apart
from racewright.takeoff.on_hand import offcuts_twice

_OPEN: tuple[Severity, ...] = ("problem", "caution")


class JobPackRequest(JobRequest, frozen=True, kw_only=True):
    """The pack of a job, or of one `area`. `paper` left out: letter for inches, a4 for mm. `cards`: of each
    run its bench page, its whole card, or none. `made_by`, `made_on` are printed on the cover, which leaves room to
    write what is not told."""

    area: Name = ""
    paper: Paper | None = None
    cards: RunCards = "bench"
    made_by: Name = ""
    made_on: Name = ""
    form: Literal["pdf", "svg"] = "pdf"


class JobPackAnswer(Answer, frozen=True, kw_only=True):
    """`pages`: how many; the document as one PDF with outline and links, or as one SVG document a page. The findings
    are the open ones, each once with the runs that have it; the document holds all."""

    title: str
    pages: int
    pdf: bytes
    svg: tuple[str, ...]


def job_pack(request: JobPackRequest, _: Known) -> JobPackAnswer:
    """Plan every run and lay the pack out. Raises UnknownName for an area that no run has, MissingExtra for PDF without
    its library."""
    whole = told_apart(request.job)
    job = only_area(whole, request.area)
    runs = in_areas(job, list(plan_job(job)))
    pack = Pack(
        job=job,
        runs=runs,
        made_on=request.made_on,
        made_by=request.made_by,
        bill=billed(job, runs) if any(run.plan for run in runs) else None,
        only=runs[0].area if request.area else "",
        elsewhere=len(whole.runs) - len(job.runs),
    )
    paper = request.paper or ("letter" if job.head.units == "in" else "a4")
    document = build_pack(pack, paper, cards=request.cards)
    return JobPackAnswer(
        title=document.scene.title,
        pages=len(document.scene.pages),
        pdf=_pdf(document) if request.form == "pdf" else b"",
        svg=to_svg_pages(document.scene) if request.form == "svg" else (),
        findings=(
            *about_records(request.job),
            *left_out(runs),
            *offcuts_twice(pack.cuts, pack.tape),
            *pack.prices_of_another_measure,
            *_open(pack),
        ),
        not_included=pack.not_included,
        cautions=cautions_for(),
    )


def _open(pack: Pack) -> Iterator[Finding]:
    for severity in _OPEN:
        for finding, keys in shared_findings(pack, severity):
            yield of_runs(finding, keys)


def _pdf(document: PackDocument) -> bytes:
    from racewright.exports.pdf import to_pdf

    return to_pdf(document.scene, document.outline, document.links)


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
    from racewright.exports.tubes import TubeModel, set_out, to_model, tubes_of

    job = only_area(told_apart(request.job), request.area)
    planned = list(plan_job(job))
    runs = [tubes_of(run.plan, run.key, run.area, run.run.alike) for run in in_areas(job, planned) if run.plan]
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
    return JobModelsAnswer(
        files=tuple(files), findings=(*about_records(request.job), *problems_of(planned)), cautions=cautions_for()
    )


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
