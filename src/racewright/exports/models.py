"""Tubes in space as a model file; the writer of its kind is loaded only when it is asked for."""

from __future__ import annotations

from typing import Literal

from racewright.exports.tubes import TubeModel

ModelKind = Literal["dxf", "gltf", "ifc"]


def to_model(model: TubeModel, kind: ModelKind, *, written_at: str = "") -> bytes:
    """The file's bytes. `written_at`: for the head of an IFC file, 'YYYY-MM-DDThh:mm:ss'. Raises MissingExtra without
    the library of this kind."""
    if kind == "dxf":
        from racewright.exports.dxf import to_dxf

        return to_dxf(model)
    if kind == "gltf":
        from racewright.exports.gltf import to_gltf

        return to_gltf(model)
    from racewright.exports.ifc import to_ifc

    return to_ifc(model, written_at=written_at)
