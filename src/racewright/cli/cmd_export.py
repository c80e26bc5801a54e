"""`racewright export FILE`: a surveyed run as DXF, glTF or IFC, for a drawing or the office's model."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from racewright.cli.model_out import add_model_arguments, write_dxf, write_models
from racewright.cli.out_files import ending

HELP = "Write a surveyed run as DXF, glTF or IFC: the conduit along its exact centreline, in mm (glTF: metres)."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright export`."""
    parser.add_argument("file", metavar="FILE", help="a survey file (YAML); see docs/survey-file.md and examples/")
    parser.add_argument("--dxf", metavar="OUT", type=ending(".dxf"), help="write DXF (needs the extra 'dxf')")
    add_model_arguments(parser)
    parser.add_argument("--bender", metavar="NAME", help="use this bender instead of the survey's")


def run(args: argparse.Namespace) -> int:
    """Plan and write. Returns 1 where a finding is a problem; the files are written all the same."""
    from racewright.cautions import DECIDES
    from racewright.errors import InputError
    from racewright.exports.tube_view import tubes_of
    from racewright.store.bender_file import find_bender
    from racewright.store.survey_file import plan_file

    if not (args.dxf or args.gltf or args.ifc):
        raise InputError("no file to write was named.", hint="say --dxf OUT, --gltf OUT or --ifc OUT")
    plan = plan_file(args.file, bender_name=args.bender or "", find=find_bender)
    run = tubes_of(plan)
    if args.dxf:
        write_dxf(Path(args.dxf), plan.name, [run])
        print(f"DXF written to {args.dxf}", file=sys.stderr)
    write_models(plan.name, [run], gltf=args.gltf, ifc=args.ifc)
    problems = [f for f in plan.findings if f.severity == "problem"]
    for finding in problems:
        print(f"PROBLEM: {finding.message}", file=sys.stderr)
    print(DECIDES, file=sys.stderr)
    return 1 if problems else 0
