"""`racewright export FILE`: a surveyed run as DXF, glTF or IFC, for a drawing or the office's model."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, cast

from racewright.cli.out_files import add_model_arguments, ending, now

if TYPE_CHECKING:
    from racewright.operations.export import ExportAnswer, FileKind

HELP = "Write a surveyed run as DXF, glTF or IFC: the conduit along its exact centerline, in mm (glTF: meters)."
_SAID = {"dxf": "DXF", "gltf": "glTF", "ifc": "IFC"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright export`."""
    parser.add_argument("file", metavar="FILE", help="a survey file (YAML); see docs/survey-file.md and examples/")
    parser.add_argument("--dxf", metavar="OUT", type=ending(".dxf"), help="write DXF (needs the extra 'dxf')")
    add_model_arguments(parser)
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's")


def run(args: argparse.Namespace) -> int:
    """Plan and write. Returns 1 where a finding is a problem; the files are written all the same."""
    from pathlib import Path

    from racewright.cli.answers import asked, show
    from racewright.errors import InputError
    from racewright.exports.output_file import write_whole
    from racewright.operations.export import ExportRequest
    from racewright.store.survey_file import read_survey_file

    kinds = cast("list[FileKind]", [kind for kind in _SAID if getattr(args, kind)])
    if not kinds:
        raise InputError("no file to write was named.", hint="say --dxf OUT, --gltf OUT or --ifc OUT")
    file = read_survey_file(args.file)
    request = ExportRequest(survey=file.written, bender_name=args.bender or "", kinds=tuple(kinds), written_at=now())
    with file.told_by_line():
        answer = cast("ExportAnswer", asked("export", request, options={"bender_name": "--bender"}))
    lines = []
    for made in answer.files:
        out = getattr(args, made.kind)
        write_whole(Path(out), made.data)
        lines.append(f"{_SAID[made.kind]} written to {out}")
    return show(answer, lambda _: "\n".join(lines), as_json=False, aside=True)
