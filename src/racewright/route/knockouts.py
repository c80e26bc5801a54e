"""Which knockout a box offset meets, and by how much it has to move the run.

Notation (mm): heights are of the axis above the surface that carries the leg. A box offset with a rise of its own is
left alone. Without one it takes out the difference at one end of the run:

    at end A    start.height -> the strap's height (whatever offset stands before or after it on the leg)
    at end B    the height where the run lies there -> end.height

The last box offset of the last leg meets end B where `end.height` is given, the first one of the first leg end A where
`start.height` is; so a lone one between two given heights takes the run from the one knockout to the other.
"""

from __future__ import annotations

from typing import Literal

from racewright.errors import InputError
from racewright.route.lies import GIVE_MM
from racewright.survey.model import Leg, Offset, Survey

#: A straight conduit is sprung into a knockout that it misses by up to this (mm; 3/4 in, common practice, no source).
SPRUNG_MM = 19.05


def box_offset_ends(survey: Survey) -> dict[str, Literal["start", "end"]]:
    """The end of the run that each box offset without a rise meets, by the offset's field."""
    ends: dict[str, Literal["start", "end"]] = {}
    first, last = _box_offsets(survey.legs[0]), _box_offsets(survey.legs[-1])
    if survey.start.height_mm is not None and first:
        ends[first[0].field] = "start"
    if survey.end.height_mm is not None and last:
        ends[last[-1].field] = "end"
    return ends


def box_rise_mm(
    offset: Offset, survey: Survey, ends: dict[str, Literal["start", "end"]], *, height_mm: float, strap_mm: float
) -> float:
    """How far a box offset without a rise moves the run off the surface (signed).

    `height_mm`: where the run lies before it, `strap_mm`: the strap's height. Raises InputError where no knockout's
    height is known for it, or where there is nothing to take out.
    """
    which = ends.get(offset.field)
    if which is None:
        raise InputError(
            f"{offset.field}: no knockout's height is given for this box offset, so its rise cannot be worked out.",
            hint="give start.height (first leg) or end.height (last leg), the knockout's middle above the surface;"
            " or write its rise; away from a box use an offset",
            field=offset.field,
            expected="start.height, end.height or rise",
            example="rise: 3/8",
        )
    if which == "end":
        assert survey.end.height_mm is not None
        rise = survey.end.height_mm - height_mm
    else:
        assert survey.start.height_mm is not None
        rise = strap_mm - survey.start.height_mm
    if abs(rise) <= GIVE_MM:
        raise InputError(
            f"{offset.field}: the conduit already lies at the {'knockout' if which == 'end' else 'strap'}'s height,"
            " so there is nothing to offset.",
            hint="leave the box offset out, check start.height and end.height (the knockout's middle above the"
            " surface), or give a rise",
            field=offset.field,
        )
    return rise


def _box_offsets(leg: Leg) -> list[Offset]:
    return [f for f in leg.features if isinstance(f, Offset) and f.box]
