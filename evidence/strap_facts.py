"""Straps of a plan: where they stand, and whether they keep the article's spacing or a finding says so."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from typing import Any

from held import TIGHT_MM, Held
from rebuilt import Part, coupling_places, dot, less
from tape_words import Run

#: First support and spacing, ft: 358.30, 342.30, 344.30, 352.30 of NFPA 70-2023 and their tables (figures).
SPACING_FT = {"EMT": (3, 10), "RMC": (3, 10), "IMC": (3, 10), "PVC-40": (3, 3), "PVC-80": (3, 3)}
WIDE_FT = {"1/2": 10, "3/4": 10, "1": 12}
FOOT = 304.8
#: A strap takes up this much (common practice, no source).
STRAP_GIVE_MM = 0.5
#: Half a strap's width lies on the straight too, but for where a surface ends at an edge.
STRAP_HALF_MM = 10.0

#: Two straps nearer than this are both needed (own choice, said in the docs).
NEAR_MM = 150.0


def lying(run: Run, plan: dict[str, Any], parts: Sequence[Part]) -> list[tuple[float, float]]:
    """Stretches of the run (stations) where the conduit lies straight at strap height on its surface."""
    out: list[tuple[float, float]] = []
    shapes = [b["shape"] for p in plan["pieces"] for b in p["bends"]]
    features = {f.name for leg in run.legs for f in leg.features}
    leg = 0
    for part in parts:
        if part.radius:
            leg += shapes[part.bend] not in features
            continue
        here = run.legs[leg]
        over = dot(less(part.point, here.begin), here.up) + here.over_mm
        if abs(dot(part.axis, here.up)) > 1e-9 or abs(over - run.lie_mm) > STRAP_GIVE_MM:
            continue
        low, high = 0.0, part.length
        # round an outside corner each of the two surfaces ends at their edge
        if leg and run.turns[leg - 1].way == "toward":
            low = max(low, run.edge_mm(leg - 1)[1] - dot(less(part.point, here.begin), here.along))
        if leg < len(run.turns) and run.turns[leg].way == "toward":
            high = min(high, dot(less(here.end, part.point), here.along) - run.edge_mm(leg)[0])
        if low <= high:
            out.append((part.station + low, part.station + high))
    return out


def hold_straps(held: Held, run: Run, plan: dict[str, Any], parts: Sequence[Part]) -> None:
    """Straps stand where the conduit lies on its surface, as close as the article says, or a finding tells."""
    if plan["checks"] is None:
        return
    straps, length = plan["checks"]["straps_mm"], plan["developed_length_mm"]
    places = lying(run, plan, parts)
    for s in straps:
        good = any(a + STRAP_HALF_MM <= s <= b - STRAP_HALF_MM for a, b in places)
        held.true("strap place: off its surface", good, f"{s:.1f} mm along the run is no straight at strap height")
        off = min((abs(s - c) for c in coupling_places(plan)), default=inf)
        held.true("strap place: at a coupling", off > 20.0, f"{s:.1f} mm is {off:.1f} mm from a coupling")
    kind, size = run.written["raceway"].split()
    first, apart = (ft * FOOT for ft in SPACING_FT[kind])
    wide = WIDE_FT[size] * FOOT if kind in ("RMC", "IMC") else apart
    # past a coupling the run goes on to another's strap: no box, so no nearness asked
    limits = [apart if "coupling" in run.written.get(end, {}).get("fitting", "") else first for end in ("start", "end")]
    hold_apart(held, plan, limits, apart)
    said = [f for f in plan["findings"] if f["rule"] == "run.supports" and f["severity"] != "info"]
    if straps:
        short = straps[0] > limits[0] + TIGHT_MM or length - straps[-1] > limits[1] + TIGHT_MM
        short |= any(b - a > wide + TIGHT_MM for a, b in pairwise(straps))
    else:
        short = True
    if short:
        held.words.add("straps short and said")
        held.true("strap spacing: kept", bool(said), f"straps at {[round(s) for s in straps]} of {length:.0f} mm")
    elif said:
        held.true("strap spacing: said", False, f"a finding though straps at {[round(s) for s in straps]} keep it")
    else:
        held.words.add("straps kept")
    if said and _could(places, coupling_places(plan), length, limits, apart):
        held.true("strap spacing: possible", False, f"places exist, and it is said: {said[0]['message']}")


def hold_apart(held: Held, plan: dict[str, Any], limits: Sequence[float], apart: float) -> None:
    """Of two straps near each other each is needed: without it a distance would be too great that is not so with it.
    `limits`: to the run's two ends; `apart`: between two straps. A strap that alone holds its part is needed."""
    straps, length = plan["checks"]["straps_mm"], plan["developed_length_mm"]
    stops = [0.0, *straps, length]

    def far(i: int, j: int) -> bool:
        most = limits[0] if i == 0 else limits[1] if j == len(stops) - 1 else apart
        return bool(stops[j] - stops[i] > most + TIGHT_MM)

    near = {i for i in range(1, len(straps)) if stops[i + 1] - stops[i] < NEAR_MM - TIGHT_MM}
    for i in sorted(near | {i + 1 for i in near}):
        needed = far(i - 1, i + 1) and not far(i - 1, i) and not far(i, i + 1)
        alone = stops[i] in plan["checks"]["fast_mm"]
        held.true("strap near another: needed", needed or alone, f"{stops[i]:.0f} of {[round(s) for s in straps]}")


def _could(
    places: list[tuple[float, float]], couplings: list[float], length: float, limits: list[float], apart: float
) -> bool:
    """Whether straps could stand as the article asks with 70 mm of room to every bend, end and coupling."""
    room = 70.0
    free: list[tuple[float, float]] = []
    for a, b in places:
        cuts = [c for c in couplings if a - room < c < b + room]
        edges = [a + room, *(x for c in cuts for x in (c - room, c + room)), b - room]
        free += [(x, y) for x, y in zip(edges[::2], edges[1::2], strict=True) if y >= x]
    at, reach = -inf, limits[0]
    while True:
        stand = max((min(y, reach) for x, y in free if x <= reach), default=-inf)
        if stand <= at:
            return False
        if length - stand <= limits[1]:
            return True
        at, reach = stand, stand + apart
