"""Fittings: how far the conduit goes in, and the outline that must find room.

The face is the mouth of the fitting, where the conduit disappears; for a locknut at a wall it is the wall's outer side.
Figures are editable defaults, few with a standard behind them: measure the fitting in hand.
"""

from __future__ import annotations

from functools import cache

import msgspec

from racewright.catalogue.raceways import Raceway, inches_to_mm, read_rows
from racewright.errors import UnknownName
from racewright.units.tape import MM_PER_INCH

_ALIASES = {
    "": "none",
    "free": "none",
    "free end": "none",
    "locknut": "threaded",
    "threaded hub": "hub",
    "setscrew": "set-screw",
    "set screw": "set-screw",
    "set-screw connector": "set-screw",
    "set screw connector": "set-screw",
    "set screw coupling": "set-screw coupling",
    "setscrew coupling": "set-screw coupling",
    "compression connector": "compression",
    "pvc socket": "socket",
    "male adapter": "socket",
}


class Fitting(msgspec.Struct, frozen=True, kw_only=True):
    """One fitting on one raceway. `insertion_mm`: how far the conduit's end goes past the face. `length_mm` and
    `outside_diameter_mm`: the outline."""

    kind: str
    raceway_type: str
    trade_size: str
    insertion_mm: float
    length_mm: float
    outside_diameter_mm: float
    source: str
    standing: str

    @property
    def gap_mm(self) -> float:
        """What a coupling leaves between the two ends in it."""
        return max(0.0, self.length_mm - 2.0 * self.insertion_mm)


@cache
def all_fittings() -> tuple[Fitting, ...]:
    """Every fitting of the table."""
    return tuple(
        Fitting(
            kind=row["kind"],
            raceway_type=row["raceway_type"],
            trade_size=row["trade_size"],
            insertion_mm=inches_to_mm(row["insertion_in"]),
            length_mm=inches_to_mm(row["length_in"]),
            outside_diameter_mm=inches_to_mm(row["outside_diameter_in"]),
            source=row["source"],
            standing=row["standing"],
        )
        for row in read_rows("fittings.csv")
    )


def fitting_kinds(raceway: Raceway) -> tuple[str, ...]:
    """Kinds that the table has for a raceway, with 'none' first."""
    return ("none", *(kind for kind, family, size in _index() if (family, size) == _key(raceway)))


def find_fitting(kind: str, raceway: Raceway) -> Fitting:
    """The fitting of a kind on a raceway; 'none' is a free end (insertion 0, the conduit's own outline).

    Kinds: 'set-screw', 'compression', 'threaded' (through a knockout, held by locknuts), 'hub' (into a threaded
    hub), 'socket' (PVC), each also as '... coupling', and
    'slip coupling' (no stop). Raises UnknownName with the kinds that exist for this raceway.
    """
    name = kind.strip().lower()
    name = _ALIASES.get(name, name)
    if name == "none":
        return Fitting(
            kind="none",
            raceway_type=raceway.type,
            trade_size=raceway.trade_size,
            insertion_mm=0.0,
            length_mm=0.0,
            outside_diameter_mm=raceway.outside_diameter_mm,
            source="free end",
            standing="arithmetic",
        )
    found = _index().get((name, *_key(raceway)))
    if found is None:
        raise _unknown(kind, name, raceway)
    return found


def expansion_fitting(raceway: Raceway, travel_mm: float) -> Fitting:
    """The expansion fitting for a travel, its piston all the way in: a barrel and a piston with a socket each. Its
    length is what that needs and an inch for seal and collar (own estimate, common practice, no source; measure the
    one in hand). Raises UnknownName for a raceway that is not cemented."""
    socket = find_fitting("socket coupling", raceway)
    return Fitting(
        kind="expansion fitting",
        raceway_type=raceway.type,
        trade_size=raceway.trade_size,
        insertion_mm=socket.insertion_mm,
        length_mm=2.0 * socket.insertion_mm + travel_mm + float(MM_PER_INCH),
        outside_diameter_mm=socket.outside_diameter_mm,
        source="common practice, no source",
        standing=f"insertion as in a socket ({socket.standing}); length: common practice, no source",
    )


@cache
def _index() -> dict[tuple[str, str, str], Fitting]:
    return {(f.kind, f.raceway_type, f.trade_size): f for f in all_fittings()}


def _key(raceway: Raceway) -> tuple[str, str]:
    return raceway.type, raceway.trade_size


def _unknown(asked: str, name: str, raceway: Raceway) -> UnknownName:
    from difflib import get_close_matches

    kinds = fitting_kinds(raceway)
    near = get_close_matches(name, kinds, n=1, cutoff=0.4)
    return UnknownName.among(
        f"No fitting '{asked}' for {raceway.name} in the table.",
        "kinds for it",
        kinds,
        field="fitting",
        example=kinds[-1],
        more=f"; nearest: {near[0]}" if near else "",
    )
