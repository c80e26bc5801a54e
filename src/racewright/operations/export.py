"""A surveyed run as files: card, bench page and mark strip to print, DXF, glTF and IFC for a drawing or a model."""

from __future__ import annotations

from typing import Annotated, Literal, cast

import msgspec

from racewright.cautions import cautions_for
from racewright.drawing.svg import to_svg
from racewright.operations.common import Answer, Known, Name, Paper, Part
from racewright.operations.jobs import SheetRequest, with_record
from racewright.operations.plan import Sheets, printed
from racewright.operations.planned import paper_of, planned
from racewright.plan.model import Plan

FileKind = Literal["card.pdf", "card.svg", "bench.pdf", "bench.svg", "strip.pdf", "strip.svg", "dxf", "gltf", "ifc"]


class ExportRequest(SheetRequest, frozen=True, kw_only=True):
    """A run as files of these `kinds`. `paper` left out: letter for inches, a4 for mm. `written_at`: date and time for
    the head of an IFC file, 'YYYY-MM-DDThh:mm:ss'."""

    kinds: Annotated[tuple[FileKind, ...], msgspec.Meta(min_length=1, max_length=9)]
    paper: Paper | None = None
    written_at: Name = ""


class RunFile(Part, frozen=True, kw_only=True):
    """One file whole."""

    kind: FileKind
    data: bytes


class ExportAnswer(Answer, frozen=True, kw_only=True):
    """The files in the order asked for, and the plan that they show. The findings: the open ones; the plan has all."""

    files: tuple[RunFile, ...]
    plan: Plan


def export(request: ExportRequest, known: Known) -> ExportAnswer:
    """Plan the run and write it. Raises MissingExtra without the library of a kind of file."""
    made = with_record(request, planned(request, known))
    paper = paper_of(request.paper, made)
    files = tuple(RunFile(kind=kind, data=_data(kind, made, paper, request.written_at)) for kind in request.kinds)
    open_findings = tuple(f for f in made.findings if f.severity != "info")
    return ExportAnswer(files=files, plan=made, findings=open_findings, cautions=cautions_for())


def _data(kind: FileKind, made: Plan, paper: Paper, written_at: str) -> bytes:
    if kind in ("dxf", "gltf", "ifc"):
        from racewright.exports.tubes import TubeModel, to_model, tubes_of

        return to_model(TubeModel(made.name, (tubes_of(made),)), kind, written_at=written_at)
    sheets, _, ending = kind.partition(".")
    scene = printed(cast("Sheets", sheets), made, paper)
    if ending == "svg":
        return to_svg(scene).encode()
    from racewright.exports.pdf import to_pdf

    return to_pdf(scene)
