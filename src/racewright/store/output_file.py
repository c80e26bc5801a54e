"""Drawings to files: written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from racewright.drawing.scene import Scene
from racewright.errors import InputError


def write_scene(path: Path, scene: Scene, kind: str) -> None:
    """Write a scene as 'pdf' or 'svg'. Raises InputError for another kind or a folder that cannot be written."""
    if kind == "pdf":
        from racewright.drawing.pdf import to_pdf

        data = to_pdf(scene)
    elif kind == "svg":
        from racewright.drawing.svg import to_svg

        data = to_svg(scene).encode()
    else:
        raise InputError(f"{path}: drawings are written as .pdf or .svg.", hint="end the name with .pdf or .svg")
    write_whole(path, data)


def write_whole(path: Path, data: bytes) -> None:
    """Write bytes beside the target and move them into place, so that no half file is ever left under its name."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent or Path(), prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as out:
                out.write(data)
                out.flush()
                os.fsync(out.fileno())
            os.chmod(name, 0o644)
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as err:
        raise InputError(f"{path}: cannot be written: {err.strerror}.", hint="check the folder") from None
