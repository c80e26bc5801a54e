"""Names of files to write: the ending must say what will be in them."""

from __future__ import annotations

from collections.abc import Callable
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


def ending(*allowed: str, dash: bool = False) -> Callable[[str], str]:
    """The type of an argument that names a file to write. The name comes back as given; raises InputError where it
    does not end with one of `allowed`. '-' stands for printing where `dash` says so; where only one kind is written, a
    name under /dev needs no ending."""

    def check(name: str) -> str:
        if (dash and name == "-") or Path(name).suffix.lower() in allowed:
            return name
        if len(allowed) == 1 and name.startswith("/dev/"):
            return name
        kinds = " or ".join(_WHAT[end] for end in allowed)
        ends = " or ".join(allowed)
        raise InputError(
            f"'{name}' cannot be written: {kinds} goes into a file whose name ends with {ends}.",
            hint=f"for example: {Path(name).stem or 'run'}{allowed[0]}",
            expected=ends,
            example=f"{Path(name).stem or 'run'}{allowed[0]}",
        )

    return check
