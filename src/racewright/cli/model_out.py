"""Model files of one run or a whole job: which formats are asked for, and when."""

from __future__ import annotations

import argparse
from datetime import datetime

from racewright.cli.out_files import ending


def add_model_arguments(parser: argparse.ArgumentParser) -> None:
    """--gltf and --ifc: the same for a run and for a job."""
    gltf, ifc = "write the conduit as glTF 2.0, one binary file (.glb)", "write IFC4 for the office's model"
    parser.add_argument("--gltf", metavar="OUT", type=ending(".glb"), help=gltf)
    parser.add_argument("--ifc", metavar="OUT", type=ending(".ifc"), help=f"{ifc} (needs the extra 'ifc')")


def now() -> str:
    """Date and time here, for the head of an IFC file."""
    return datetime.now().astimezone().strftime("%Y-%m-%dT%H:%M:%S")
