"""Model files of one run or a whole job: which formats were asked for, and writing them whole."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from racewright.cli.out_files import ending
from racewright.exports.tubes import TubeModel, TubeRun


def add_model_arguments(parser: argparse.ArgumentParser) -> None:
    """--gltf and --ifc: the same for a run and for a job."""
    gltf, ifc = "write the conduit as glTF 2.0, one binary file (.glb)", "write IFC4 for the office's model"
    parser.add_argument("--gltf", metavar="OUT", type=ending(".glb"), help=gltf)
    parser.add_argument("--ifc", metavar="OUT", type=ending(".ifc"), help=f"{ifc} (needs the extra 'ifc')")


def write_dxf(path: Path, title: str, runs: Sequence[TubeRun]) -> None:
    """One DXF file. Raises MissingExtra without ezdxf, InputError where it cannot be written."""
    from racewright.exports.dxf import to_dxf
    from racewright.exports.output_file import write_whole

    write_whole(path, to_dxf(TubeModel(title, tuple(runs))))


def write_models(title: str, runs: Sequence[TubeRun], *, gltf: str | None, ifc: str | None) -> None:
    """The files that were asked for, and a line to stderr for each."""
    from racewright.exports.output_file import write_whole

    model = TubeModel(title, tuple(runs))
    if gltf:
        from racewright.exports.gltf import to_gltf

        write_whole(Path(gltf), to_gltf(model))
        print(f"glTF written to {gltf}", file=sys.stderr)
    if ifc:
        from racewright.exports.ifc import to_ifc

        now = datetime.now().astimezone().replace(microsecond=0)
        write_whole(Path(ifc), to_ifc(model, written_at=now.strftime("%Y-%m-%dT%H:%M:%S")))
        print(f"IFC written to {ifc}", file=sys.stderr)
