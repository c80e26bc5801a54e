"""Files to write: the ending must say what will be in them, and none is a file that the command reads."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from racewright.errors import InputError

_WHAT = {
    ".pdf": "PDF",
    ".svg": "SVG",
    ".dxf": "DXF",
    ".glb": "glTF (binary)",
    ".ifc": "IFC",
    ".csv": "CSV",
    ".xlsx": "XLSX",
    ".json": "JSON",
}


class OutName(str):
    """The name of a file that a command writes."""

    __slots__ = ()


def ending(*allowed: str, dash: bool = False) -> Callable[[str], str]:
    """The type of an argument that names a file to write. The name comes back as an OutName; raises InputError where it
    does not end with one of `allowed`. '-' stands for printing where `dash` says so; where only one kind is written, a
    name under /dev needs no ending."""

    def check(name: str) -> str:
        if (dash and name == "-") or Path(name).suffix.lower() in allowed:
            return OutName(name)
        if len(allowed) == 1 and name.startswith("/dev/"):
            return OutName(name)
        kinds = " or ".join(_WHAT[end] for end in allowed)
        ends = " or ".join(allowed)
        raise InputError(
            f"'{name}' cannot be written: {kinds} goes into a file whose name ends with {ends}.",
            hint=f"for example: {Path(name).stem or 'run'}{allowed[0]}",
            expected=ends,
            example=f"{Path(name).stem or 'run'}{allowed[0]}",
        )

    return check


def check_outputs(args: argparse.Namespace) -> None:
    """Raises InputError where a file to write is one that the command reads, the shop file, or written twice."""
    refuse_loss(args, [Path(value) for value in vars(args).values() if isinstance(value, OutName) and value != "-"])


def refuse_loss(args: argparse.Namespace, outs: Sequence[Path]) -> None:
    """The same for files whose names are known later: those that go into a folder. Raises InputError."""
    for number, out in enumerate(outs):
        if any(_one_file(out, read) for read in _read(args)):
            raise InputError(
                f"{out}: is read by this command, and would be lost.", hint="give the file to write a name of its own"
            )
        if any(_one_file(out, other) for other in outs[:number]):
            raise InputError(f"{out}: would be written twice.", hint="give each file to write a name of its own")


def _read(args: argparse.Namespace) -> Iterator[Path]:
    if hasattr(args, "shop"):
        from racewright.cli.job.common import shop_path

        yield shop_path(args)
    for name in [getattr(args, "file", None), *getattr(args, "files", ())]:
        if name is not None and not isinstance(name, OutName):
            yield Path(name)


def _one_file(one: Path, other: Path) -> bool:
    """Whether both names are of one file, there or not; what is printed to, a pipe or a device, is none."""
    if one.exists() and other.exists():
        return one.is_file() and os.path.samefile(one, other)
    return os.path.normcase(os.path.realpath(one)) == os.path.normcase(os.path.realpath(other))


def add_model_arguments(parser: argparse.ArgumentParser) -> None:
    """--gltf and --ifc: the same for a run and for a job."""
    gltf, ifc = "write the conduit as glTF 2.0, one binary file (.glb)", "write IFC4 for the office's model"
    parser.add_argument("--gltf", metavar="OUT", type=ending(".glb"), help=gltf)
    parser.add_argument("--ifc", metavar="OUT", type=ending(".ifc"), help=f"{ifc} (needs the extra 'ifc')")


def now() -> str:
    """Date and time here, for the head of an IFC file."""
    return datetime.now().astimezone().strftime("%Y-%m-%dT%H:%M:%S")
