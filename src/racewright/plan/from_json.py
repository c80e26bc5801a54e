"""A plan read back from its JSON: "racewright plan 2", and for a year "racewright plan 1", put into the form of 2."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import msgspec

from racewright.errors import InputError
from racewright.field_words import explained
from racewright.plan.model import Plan, PlannedPiece

FORMAT = "racewright plan 2"
FORMER = "racewright plan 1"
_AGAIN = "write it again with `racewright plan FILE --json`"
#: What format 1 does not say of a shoe.
_NOT_SAID = {"springback_b0_rad": None, "springback_b1": None, "handle_length_mm": 965.2, "shoe_width_mm": 50.8}
_ROUNDING_MM = 1e-6


def read_plan(data: object) -> Plan:
    """A plan from decoded JSON. Raises InputError with the field's path for what is no plan of format 1 or 2, and for a
    piece whose bends overlap or are not counted from 1."""
    if not isinstance(data, dict):
        raise InputError("this is no plan: a plan's JSON is an object.", hint=_AGAIN)
    given = data.get("format")
    if given not in (FORMAT, FORMER):
        raise InputError(
            f"is a '{str(given)[:60]}', and this version reads '{FORMAT}' and '{FORMER}'.", hint=_AGAIN, field="format"
        )
    new = data if given == FORMAT else _from_former(data)
    try:
        plan = msgspec.convert(new, Plan)
    except msgspec.ValidationError as error:
        raise explained(str(error), new, Plan, see=_AGAIN, whole="the plan") from None
    for number, piece in enumerate(plan.pieces):
        _check(piece, f"pieces[{number}].bends")
    if not plan.pieces:
        raise InputError("pieces: there is none.", hint=_AGAIN, field="pieces")
    return plan


def _check(piece: PlannedPiece, field: str) -> None:
    bends = piece.bends
    straights = [bends[0].arc_start_mm] if bends else []
    straights += [b.arc_start_mm - a.arc_end_mm for a, b in pairwise(bends)]
    straights.append(piece.cut_length_mm - (bends[-1].arc_end_mm if bends else 0.0))
    counted = [bend.number for bend in bends] == list(range(1, len(bends) + 1))
    if not counted or min(straights) < -_ROUNDING_MM or min(piece.piece.straights_mm()) < -_ROUNDING_MM:
        raise InputError(f"the bends of {piece.label} do not make a piece.", hint=_AGAIN, field=field)


def _from_former(data: dict[str, Any]) -> dict[str, Any]:
    """Format 1 as format 2: `center` in keys and values; it had no dimensions, shapes or springback."""
    new = {"dimensions": [], "shapes": [], **data, "format": FORMAT}
    shoe = data.get("bender")
    if isinstance(shoe, dict):
        center = {"center_mm": shoe["centre_mm"]} if "centre_mm" in shoe else {}
        new["bender"] = {**_NOT_SAID, **center, **shoe}
    if isinstance(data.get("pieces"), list):
        new["pieces"] = [_piece(piece) for piece in data["pieces"]]
    return new


def _piece(piece: Any) -> Any:
    if not isinstance(piece, dict) or not isinstance(piece.get("bends"), list):
        return piece
    return {**piece, "bends": [_bend(bend) for bend in piece["bends"]]}


def _bend(bend: Any) -> Any:
    if not isinstance(bend, dict):
        return bend
    new = dict(bend)
    if new.get("reference") == "centre":
        new["reference"] = "center"
    if isinstance(new.get("role"), str):
        new["role"] = new["role"].replace("centre", "center")
    if isinstance(new.get("all_marks_mm"), dict):
        new["all_marks_mm"] = {str(k).replace("centre", "center"): v for k, v in new["all_marks_mm"].items()}
    return new
