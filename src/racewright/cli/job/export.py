"""`racewright job models`: the whole job as DXF (one file a run), glTF or IFC."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from racewright.cli.model_out import add_model_arguments, write_dxf, write_models

HELP = "the job as DXF (a file for each run), glTF or IFC4, for a drawing or the office's model"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The action's options."""
    parser.add_argument("--dxf", metavar="FOLDER", help="write a DXF file for each run (needs the extra 'dxf')")
    add_model_arguments(parser)
    parser.add_argument("--area", metavar="NAME", help="only the runs of this area")


def run(args: argparse.Namespace) -> int:
    """Plans every run and writes what was asked for; 1 where a run has no plan and is left out."""
    from racewright.cautions import DECIDES
    from racewright.cli.job.pack import in_areas, only_area
    from racewright.cli.job.takeoff import load_job, planned_runs
    from racewright.errors import InputError
    from racewright.exports.tube_view import tubes_of
    from racewright.exports.tubes import set_out

    if not (args.dxf or args.gltf or args.ifc):
        raise InputError("no file to write was named.", hint="say --dxf FOLDER, --gltf OUT or --ifc OUT")
    job = only_area(load_job(args), args.area)
    planned, missing = planned_runs(job)
    runs = [tubes_of(p.plan, p.run.key, p.run.area) for p in in_areas(job, planned) if p.plan is not None]
    if args.dxf:
        folder = Path(args.dxf)
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as err:
            raise InputError(f"{folder}: cannot be made: {err.strerror}.", hint="name a folder") from None
        for name, tubes in zip(file_names([run.key for run in runs]), runs, strict=True):
            write_dxf(folder / f"{name}.dxf", tubes.name, [tubes])
        print(f"{len(runs)} DXF files written to {folder}", file=sys.stderr)
    write_models(job.head.name, list(set_out(runs)), gltf=args.gltf, ifc=args.ifc)
    print(DECIDES, file=sys.stderr)
    return 1 if missing else 0


models_job = run


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
