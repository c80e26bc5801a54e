"""Surveys that make much work: at the edges of what the format admits, and a little beyond what a hand bends.

Named ones, as a person in a hurry may write them, and random ones by seed. All are runs of the orchard's buildings.
"""

from __future__ import annotations

import random
from typing import Any

Walk = list[dict[str, Any]]
WAYS = ("right", "away", "left", "toward")


def survey(name: str, walk: Walk, **run: Any) -> dict[str, Any]:
    """A survey as plain data, in inches; 1/2 EMT unless told."""
    return {"racewright": 1, "units": "in", "run": {"name": name, "raceway": "EMT 1/2", **run, "walk": walk}}


def turns(count: int, leg: float | str, *, ways: tuple[str, ...] = ("right", "left"), angle: float = 90.0) -> Walk:
    """So many turns, a leg before, between and behind them."""
    walk: Walk = [{"leg": leg}]
    for k in range(count):
        turn: dict[str, Any] = {"turn": ways[k % len(ways)]}
        walk += [turn if angle == 90.0 else {**turn, "angle": angle}, {"leg": leg}]
    return walk


def saddles(count: int, apart: float, **saddle: Any) -> Walk:
    """One leg over so many pipes."""
    features = [{"saddle": {"center": apart * (k + 1), **saddle}} for k in range(count)]
    return [{"leg": apart * (count + 1), "features": features}]


def crossed(centers: list[float], height: str) -> list[dict[str, Any]]:
    """Things to keep clear of, all as high as this."""
    return [{"keep_clear": {"center": at, "height": height, "width": "2 5/8"}} for at in centers]


NAMED: dict[str, dict[str, Any]] = {
    "40 turns on one stick": survey("pump house, zigzag", turns(40, 13.5), stock=["55 ft"]),
    "40 turns, 10 ft sticks": survey("pump house, zigzag", turns(40, 13.5)),
    "40 turns of 10 degrees": survey("pump house, slow curve", turns(40, 5.5, angle=10.0), stock=["30 ft"]),
    "40 turns round a box": survey("packing shed, closed loop", turns(40, 26, ways=("right",)), stock=["100 ft"]),
    "40 saddles": survey("packing shed, pipe rack", saddles(40, 38, height="1 7/8", width="2 1/8")),
    "40 saddles on one stick": survey(
        "packing shed, pipe rack", saddles(40, 38, height="1 7/8", width="2 1/8"), stock=["150 ft"]
    ),
    "2,000 ft": survey("workshop to pump house", turns(40, "46 ft", ways=WAYS)),
    "nine hopeless bends": survey("workshop, corner", turns(9, 10.5, ways=("right", "away")), stock=["20 ft"]),
    "nine bends, cut after": survey(
        "workshop, corner", turns(9, 10.5, ways=("right", "away")), stock=["20 ft"], cut="after"
    ),
    "eight offcuts": survey(
        "packing shed, long wall",
        turns(20, "8 ft", ways=WAYS, angle=30.0),
        offcuts=["31", "43 1/2", "52", "57 1/4", "66", "71 3/8", "83", "97 1/2"],
    ),
    "short sticks past beams": survey(
        "packing shed, beams",
        [
            {"leg": 270, "features": crossed([28, 84, 131, 186, 238], "4 1/8")},
            {"turn": "right"},
            {"leg": 190, "features": crossed([44, 122], "3 1/4")},
            {"turn": "toward", "angle": 45},
            {"leg": 140, "features": [{"offset": {"rise": "3 1/8", "done_by": 52}}]},
        ],
        raceway="IMC 1",
        stock=["5 ft", "7 ft", "10 ft"],
        clearance="1/4",
    ),
}


def random_survey(seed: int) -> dict[str, Any]:
    """Many turns, tiny legs, many things on the way, closed loops, odd sticks."""
    rng = random.Random(seed)
    walk: Walk = []
    left = 40
    for k in range(rng.choice((3, 8, 15, 25, 40))):
        if k:
            turn: dict[str, Any] = {"turn": rng.choice(WAYS if seed % 2 else ("right", "left"))}
            if rng.random() < 0.5:
                turn["angle"] = rng.choice((10, 22.5, 30, 45, 60))
            walk.append(turn)
        features = []
        at = leg = 0.0
        for _ in range(min(left, rng.choice((0, 0, 0, 1, 2, 5)))):
            at += round(rng.uniform(28.0, 60.0))
            saddle = {"center": at, "height": rng.choice((1.0, 2.25, 4.5)), "width": 2.0}
            features.append({rng.choice(("saddle", "keep_clear")): saddle})
            left -= 1
        leg = at + rng.choice((9.0, 15.0, 22.0, 30.0, 60.0, 400.0)) + (15.0 if features else 0.0)
        walk.append({"leg": leg, **({"features": features} if features else {})})
    run: dict[str, Any] = {"raceway": rng.choice(("EMT 1/2", "EMT 3/4", "IMC 1", "RMC 1/2"))}
    if rng.random() < 0.5:
        run["stock"] = rng.choice((["20 ft"], ["5 ft", "10 ft"], ["200 ft"]))
    if rng.random() < 0.3:
        run["offcuts"] = [round(rng.uniform(20.0, 110.0)) for _ in range(rng.choice((1, 4, 9)))]
    if rng.random() < 0.3:
        run["cut"] = "after"
    return survey(f"orchard, hard run {seed}", walk, **run)
