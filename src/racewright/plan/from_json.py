"""A plan read back from its JSON: "racewright plan 2", and for a year "racewright plan 1", put into the form of 2."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import radians
from typing import Any

import msgspec

from racewright.assembly.joints import Between, joint_how, joints_of
from racewright.errors import InputError
from racewright.field_words import explained
from racewright.geometry.vector import norm
from racewright.plan.digest import with_digest
from racewright.plan.model import MOST_BENDS, MOST_PIECES, Plan, PlannedPiece
from racewright.sequence.machine import STANCES, Stance
from racewright.sequence.words import line_deg, stance_words

FORMAT = "racewright plan 2"
FORMER = "racewright plan 1"
_AGAIN = "write it again with `racewright plan FILE --json`"
#: What format 1 does not say of a shoe.
_NOT_SAID = {"springback_b0_rad": None, "springback_b1": None, "handle_length_mm": 965.2, "shoe_width_mm": 50.8}
#: What plans written before call a stance.
_STANCE_WAS: dict[str, Stance] = {"on the floor": "floor", "in the air": "upside down"}
_ROUNDING_MM = 1e-6
#: No figure of a run is greater (10 km in mm; our own choice).
MOST_FIGURE = 1e7


def read_plan(data: object) -> Plan:
    """A plan from decoded JSON. Raises InputError with the field's path for what is no plan of format 1 or 2, and for a
    piece whose bends overlap or are not counted from 1, and for figures that no run has."""
    if not isinstance(data, dict):
        raise InputError("this is no plan: a plan's JSON is an object.", hint=_AGAIN)
    given = data.get("format")
    if given not in (FORMAT, FORMER):
        raise InputError(
            f"is a '{str(given)[:60]}', and this version reads '{FORMAT}' and '{FORMER}'.", hint=_AGAIN, field="format"
        )
    new = _told_along(_told_stances(data if given == FORMAT else _from_former(data)))
    if "joints" not in new:
        new = {**new, "joints": _joints(new)}
    _check_figures(new, "")
    try:
        plan = msgspec.convert(new, Plan)
    except msgspec.ValidationError as error:
        raise explained(str(error), new, Plan, see=_AGAIN, whole="the plan") from None
    if not 1 <= len(plan.pieces) <= MOST_PIECES:
        many = f"{len(plan.pieces)} are more than {MOST_PIECES}" if plan.pieces else "there is none"
        raise InputError(f"pieces: {many}.", hint=_AGAIN, field="pieces")
    if plan.tape.denominator not in (1, 2, 4, 8, 16, 32):
        raise InputError("tape.denominator: a tape has 1, 2, 4, 8, 16 or 32.", hint=_AGAIN, field="tape.denominator")
    if plan.bender is not None:
        _check_above_zero(plan.bender.radius_mm, "bender.radius_mm")
    for number, piece in enumerate(plan.pieces):
        _check(piece, f"pieces[{number}]")
    return with_digest(plan)


def _check_figures(here: object, field: str) -> None:
    """Raises InputError for a number in the data that no run has."""
    if isinstance(here, float | int) and not abs(here) <= MOST_FIGURE:
        raise InputError(f"{field}: {here:.3g} is no figure of a run.", hint=_AGAIN, field=field)
    if isinstance(here, dict):
        for name, value in here.items():
            _check_figures(value, f"{field}.{name}".lstrip("."))
    elif isinstance(here, list | tuple):
        for index, value in enumerate(here):
            _check_figures(value, f"{field}[{index}]")


def _check_above_zero(figure: float, field: str) -> None:
    if figure <= 0.0:
        raise InputError(f"{field}: {figure:g} must be more than 0.", hint=_AGAIN, field=field)


def _check(piece: PlannedPiece, field: str) -> None:
    bends = piece.bends
    if len(bends) > MOST_BENDS:
        raise InputError(
            f"{field}.bends: {len(bends)} bends are more than one piece has; at most {MOST_BENDS}.",
            hint=_AGAIN,
            field=f"{field}.bends",
        )
    for name in ("cut_length_mm", "outside_diameter_mm", "bend_radius_mm"):
        if bends:
            _check_above_zero(getattr(piece, name), f"{field}.{name}")
    for name in ("axis", "normal"):
        way = getattr(piece.start, name)
        if abs(norm(way) - 1.0) > _ROUNDING_MM:
            raise InputError(f"{field}.start.{name}: is no direction.", hint=_AGAIN, field=f"{field}.start.{name}")
    for number, bend in enumerate(bends):
        if not 0.0 < bend.angle_deg <= 180.0:
            at = f"{field}.bends[{number}].angle_deg"
            raise InputError(f"{at}: {bend.angle_deg:g}° is no bend; above 0 and up to 180.", hint=_AGAIN, field=at)
    straights = [bends[0].arc_start_mm] if bends else []
    straights += [b.arc_start_mm - a.arc_end_mm for a, b in pairwise(bends)]
    straights.append(piece.cut_length_mm - (bends[-1].arc_end_mm if bends else 0.0))
    counted = [bend.number for bend in bends] == list(range(1, len(bends) + 1))
    if not counted or min(straights) < -_ROUNDING_MM or min(piece.piece.straights_mm()) < -_ROUNDING_MM:
        raise InputError(f"the bends of {piece.label} do not make a piece.", hint=_AGAIN, field=f"{field}.bends")


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


def _joints(data: dict[str, Any]) -> list[Any]:
    """The joints of a plan that was written before they stood in it: by what it says of its ends and couplings. What
    cannot be read so is left out, and the plan's own fields say what is wrong with them."""
    try:
        ends = [piece[name]["fitting"] for piece in data["pieces"] for name in ("end_a", "end_b")]
        places = zip(data["couplings_mm"], ends[1::2], strict=False)
        joints = joints_of(
            float(data["developed_length_mm"]),
            (_kind_in(ends[0]), _kind_in(ends[-1])),
            [Between(float(at), _kind_in(kind)) for at, kind in places],
        )
    except (KeyError, TypeError, ValueError, IndexError):
        return []
    return [msgspec.to_builtins(joint) for joint in joints]


def _kind_in(fitting: str) -> str:
    """'pump (set-screw)' and 'set-screw fitting' are of the kind 'set-screw'; a bare name is that of a free end."""
    kind = fitting.removesuffix(" fitting").rstrip(")").rpartition("(")[2]
    try:
        joint_how(kind)
    except LookupError:
        return "none"
    return kind


def _piece(piece: Any) -> Any:
    return _with_bends(piece, _bend)


def _with_bends(piece: Any, change: Callable[[dict[str, Any]], dict[str, Any]]) -> Any:
    if not isinstance(piece, dict) or not isinstance(piece.get("bends"), list):
        return piece
    return {**piece, "bends": [change(b) if isinstance(b, dict) else b for b in piece["bends"]]}


def _told_along(data: dict[str, Any]) -> dict[str, Any]:
    """Plans written before had the tables of other angles among their notes, as blocks without lines, and where
    couplings and straps go as a block of that title."""
    notes = data.get("notes")
    if not isinstance(notes, list) or "along" in data:
        return data
    kept = [b for b in notes if not isinstance(b, dict) or b.get("lines") != []]
    along = [b for b in kept if isinstance(b, dict) and b.get("title") == "Along the run"]
    lines = along[0].get("lines", []) if along else []
    return {**data, "notes": [b for b in kept if b not in along], "along": lines}


def _told_stances(data: dict[str, Any]) -> dict[str, Any]:
    """Plans written before had the stance in words alone."""
    if not isinstance(data.get("pieces"), list):
        return data
    return {**data, "pieces": [_told_line(_with_bends(piece, _told_stance)) for piece in data["pieces"]]}


def _told_line(piece: Any) -> Any:
    """Nor did they say where the line along the conduit faces; that follows from rolls and stances."""
    bends = piece.get("bends") if isinstance(piece, dict) else None
    told = isinstance(bends, list) and all(
        isinstance(b, dict)
        and isinstance(b.get("roll_deg"), int | float)
        and isinstance(b.get("order"), int)
        and b.get("stance") in STANCES
        and "line_deg" not in b
        for b in bends
    )
    if not told or not bends:
        return piece
    first = min(bends, key=lambda b: b["order"])
    lines = [line_deg(radians(first["roll_deg"]), first["stance"], radians(b["roll_deg"]), b["stance"]) for b in bends]
    return {**piece, "bends": [{**b, "line_deg": line} for b, line in zip(bends, lines, strict=True)]}


def _told_stance(bend: dict[str, Any]) -> dict[str, Any]:
    stance = bend.get("stance")
    key = _STANCE_WAS.get(stance) if isinstance(stance, str) else None
    return bend if key is None else {"stance_words": stance_words(key), **bend, "stance": key}


def _bend(bend: dict[str, Any]) -> dict[str, Any]:
    new = dict(bend)
    if new.get("reference") == "centre":
        new["reference"] = "center"
    if isinstance(new.get("role"), str):
        new["role"] = new["role"].replace("centre", "center")
    if isinstance(new.get("all_marks_mm"), dict):
        new["all_marks_mm"] = {str(k).replace("centre", "center"): v for k, v in new["all_marks_mm"].items()}
    return new
