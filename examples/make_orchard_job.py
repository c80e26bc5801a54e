"""Makes examples/orchard-job.json: the orchard cooperative's three buildings. Every figure is made up for this project.

python3 examples/make_orchard_job.py [OUT]
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from racewright.records.ids import digest
from racewright.records.model import JOB_FORMAT, Job
from racewright.records.parse import job_from_data
from racewright.store.job_file import write_job

OUT = Path(__file__).with_name("orchard-job.json")
PUMP, SHOP, SHED = "Pump house", "Workshop", "Packing shed"
Data = dict[str, Any]


def straight(length: str, *features: Data) -> list[Data]:
    """One leg with what is met on it."""
    return [{"leg": length, "from": "face", "to": "face", "features": list(features)}]


def corner(first: str, turn: str, second: str, *features: Data, to: str = "back", gap: str = "") -> list[Data]:
    """Two legs round a turn, which stands off an edge by a gap; the features are met on the first."""
    return [
        {"leg": first, "from": "face", "to": to, "features": list(features)},
        {"turn": turn, "gap": gap} if gap else {"turn": turn},
        {"leg": second, "from": "back" if to in ("back", "edge") else to, "to": "face"},
    ]


def twice(first: str, turn: str, middle: str, again: str, last: str, *features: Data) -> list[Data]:
    """Three legs, two turns; the features are met on the first."""
    return [
        {"leg": first, "from": "face", "to": "back", "features": list(features)},
        {"turn": turn},
        {"leg": middle, "from": "back", "to": "back"},
        {"turn": again},
        {"leg": last, "from": "back", "to": "face"},
    ]


def offset(rise: str, at: str, angle: str = "30", name: str = "offset") -> Data:
    """Away from the surface by `rise`, beginning at `at`."""
    return {"offset": {"name": name, "rise": rise, "starts_at": at, "angle": angle}}


def roll(rise: str, shift: str, side: str, done: str, name: str = "rolling offset", angle: str = "22.5") -> Data:
    """Away and to a side at once."""
    return {"offset": {"name": name, "rise": rise, "shift": shift, "side": side, "done_by": done, "angle": angle}}


def pipe(centre: str, height: str, name: str = "pipe") -> Data:
    """Over a round thing."""
    return {"saddle": {"name": name, "centre": centre, "over": "round", "height": height}}


def duct(centre: str, height: str, width: str, name: str = "duct") -> Data:
    """Over a square thing."""
    return {"saddle": {"name": name, "centre": centre, "over": "square", "height": height, "width": width}}


def kick(rise: str, way: str, at: str) -> Data:
    """Aside before the turn."""
    return {"kick": {"rise": rise, "toward": way, "starts_at": at}}


# key, raceway, from, to, walk
RUNS: dict[str, list[tuple[str, str, str, str, list[Data]]]] = {
    PUMP: [
        (
            "PH-01",
            "EMT 1/2",
            "disconnect",
            "pump 1 starter",
            straight("56 1/4", pipe("26 1/8", "2 7/8", "suction pipe")),
        ),
        ("PH-02", "EMT 1/2", "disconnect", "pump 2 starter", straight("71 1/4", pipe("31 1/8", "3 1/2", "header"))),
        ("PH-03", "EMT 3/4", "service panel", "pump 1", corner("48 3/8", "away", "33 1/2")),
        ("PH-04", "EMT 3/4", "service panel", "pump 2", corner("62 1/8", "away", "33 1/2", offset("3", "14 1/2"))),
        (
            "PH-05",
            "EMT 1/2",
            "control cabinet",
            "float switch",
            corner("44 1/2", "away", "26", kick("3 1/4", "left", "20 1/2")),
        ),
        (
            "PH-06",
            "EMT 1/2",
            "control cabinet",
            "flow meter",
            straight("60", offset("2 1/4", "21 1/2", "22.5", "past the flange")),
        ),
        ("PH-07", "EMT 1/2", "control cabinet", "valve actuator", twice("30 1/4", "left", "47 3/4", "left", "24 1/8")),
        (
            "PH-08",
            "EMT 1/2",
            "control cabinet",
            "pressure switch",
            corner("37 5/8", "right", "21 3/8", pipe("16 1/2", "1 7/8")),
        ),
        ("PH-09", "RMC 3/4", "meter trough", "service panel", corner("58", "away", "40 1/4", to="back")),
        ("PH-10", "EMT 1/2", "service panel", "lights", straight("92 1/2", duct("45 1/4", "4", "7 1/2", "cable tray"))),
        ("PH-11", "EMT 1/2", "lights", "door switch", corner("81 1/4", "left", "46 1/2")),
        ("PH-12", "EMT 1", "service panel", "feed pump", corner("66 3/4", "away", "38 1/8", offset("4", "18", "30"))),
    ],
    SHOP: [
        ("WS-01", "EMT 3/4", "floor trench", "lathe panel", corner("38 5/8", "away", "29 3/16")),
        ("WS-02", "EMT 1/2", "lathe panel", "lathe lamp", straight("47 1/4", offset("1 1/2", "12", "22.5"))),
        ("WS-03", "EMT 1/2", "receptacle box", "switch box", twice("21 1/2", "left", "52 5/8", "left", "18 1/4")),
        (
            "WS-04",
            "EMT 3/4",
            "panel",
            "welder outlet",
            corner("70 1/2", "right", "45", pipe("30 1/4", "2 5/8", "air line")),
        ),
        (
            "WS-05",
            "RMC 3/4",
            "meter trough",
            "compressor",
            corner("61", "toward", "33 1/2", offset("2 1/2", "14", "15"), to="edge", gap="1 1/4"),
        ),
        ("WS-06", "EMT 1/2", "panel", "drill press", corner("55 3/4", "away", "31 1/4")),
        ("WS-07", "EMT 1/2", "panel", "grinder", corner("84", "left", "27 1/2", offset("3 1/2", "33", "22.5"))),
        (
            "WS-08",
            "EMT 1/2",
            "panel",
            "hoist",
            twice("40 1/2", "right", "66 1/4", "away", "24 1/2", offset("2", "10", "22.5")),
        ),
        (
            "WS-09",
            "EMT 1/2",
            "panel",
            "door opener",
            straight("113", pipe("35", "3", "rain pipe"), offset("2 1/2", "74")),
        ),
        ("WS-10", "EMT 1/2", "junction box", "heater", straight("66 1/2", duct("32", "3 1/2", "6", "beam"))),
        (
            "WS-11",
            "EMT 1",
            "panel",
            "sub-panel",
            corner("97 1/4", "right", "50 3/8", offset("2 3/4", "27 1/2", "22.5")),
        ),
        ("WS-12", "EMT 1/2", "junction box", "lights north", straight("108", offset("4 1/2", "40", "30"))),
        (
            "WS-13",
            "EMT 1/2",
            "junction box",
            "lights south",
            straight("101 1/2", roll("2", "3", "left", "60", "roll to beam")),
        ),
        ("WS-14", "RMC 1", "transformer", "panel", corner("77 1/2", "away", "48 5/8")),
    ],
    SHED: [
        (
            "PS-01",
            "EMT 1/2",
            "control panel",
            "conveyor drive",
            [
                {"leg": "19 3/4", "from": "face", "to": "back"},
                {"turn": "right"},
                {
                    "leg": "78 1/2",
                    "from": "back",
                    "to": "back",
                    "features": [
                        offset("1 3/4", "8 1/2", "22.5", "column offset"),
                        pipe("33 1/4", "3 3/8", "water pipe"),
                        roll("2", "3", "left", "69", "roll to beam"),
                    ],
                },
                {"turn": "away"},
                {"leg": "17 1/8", "from": "back", "to": "face"},
            ],
        ),
        (
            "PS-02",
            "EMT 3/4",
            "junction box",
            "grader",
            straight("97 5/8", duct("46 1/2", "3 3/4", "9 1/2", "return duct")),
        ),
        ("PS-03", "EMT 1/2", "tray drop", "scale", straight("48 1/4", pipe("23 1/2", "2 1/4", "drain"))),
        (
            "PS-04",
            "EMT 3/4",
            "distribution board",
            "wash line",
            corner("376 3/8", "right", "41 1/2", offset("3 1/2", "52"), pipe("200", "6", "drain pipe")),
        ),
        (
            "PS-05",
            "EMT 3/4",
            "distribution board",
            "cold store",
            corner("282 1/2", "left", "60 1/4", offset("3", "70", "30")),
        ),
        ("PS-06", "EMT 1/2", "distribution board", "fan 1", straight("196", pipe("64", "1 15/16", "sprinkler pipe"))),
        ("PS-07", "EMT 1/2", "fan 1", "fan 2", straight("168 1/2", offset("2 1/2", "50", "22.5"))),
        ("PS-08", "EMT 1/2", "fan 2", "fan 3", straight("168 1/2", pipe("90", "1 15/16", "sprinkler pipe"))),
        ("PS-09", "EMT 1/2", "control panel", "label printer", twice("27 1/2", "right", "58 3/4", "left", "33")),
        (
            "PS-10",
            "EMT 1/2",
            "control panel",
            "door switch",
            corner("88 1/2", "away", "39 1/4", offset("2 3/4", "32", "30")),
        ),
        (
            "PS-11",
            "EMT 1",
            "distribution board",
            "forklift charger",
            corner("142", "right", "51", offset("4", "44", "30")),
        ),
        ("PS-12", "EMT 1/2", "junction box", "lights east", straight("144", duct("70", "5", "8", "beam"))),
        ("PS-13", "EMT 1/2", "junction box", "lights west", straight("139 1/2", roll("1 1/2", "4", "left", "84"))),
        (
            "PS-14",
            "RMC 3/4",
            "meter trough",
            "distribution board",
            corner("69 1/4", "away", "43 1/2", offset("2", "18", "15")),
        ),
    ],
}
#: fitting, and the wires of each raceway: size, count, colour
FITTINGS = {
    "EMT 1/2": "set-screw",
    "EMT 3/4": "set-screw",
    "EMT 1": "compression",
    "RMC 3/4": "threaded",
    "RMC 1": "threaded",
}
WIRES = {
    "EMT 1/2": [("12", 1, "black"), ("12", 1, "white"), ("12", 1, "green")],
    "EMT 3/4": [("10", 1, "black"), ("10", 1, "red"), ("10", 1, "white"), ("10", 1, "green")],
    "EMT 1": [("8", 1, "black"), ("8", 1, "red"), ("8", 1, "white"), ("10", 1, "green")],
    "RMC 3/4": [("8", 2, "black"), ("8", 1, "white")],
    "RMC 1": [("6", 2, "black"), ("6", 1, "white")],
}
BOXES = {"junction box": "4 in square box", "lights": "4 in octagon box", "switch": "single-gang box"}
MEASURED: list[tuple[str, Data]] = [
    ("PH-01", {"measured": [{"type": "apex", "rise_mm": 81.0, "number": 2}], "note": "rides 1/16 high, went in"}),
    ("PH-03", {"measured": [{"type": "angle", "number": 1, "angle_rad": 1.553}]}),
]
STATUS = {"PH-01": "in", "PH-02": "bent", "PH-03": "wired"}


def run_data(area: str, row: tuple[str, str, str, str, list[Data]]) -> Data:
    """One run as a job file has it."""
    key, raceway, start, end, walk = row
    fitting = FITTINGS[raceway]
    survey = {
        "racewright": 1,
        "units": "in",
        "run": {
            "name": f"{area}, {start} to {end}",
            "raceway": raceway,
            "clearance": "1/4",
            "start": {"name": start, "fitting": fitting},
            "end": {"name": end, "fitting": fitting},
            "wires": [_wires(wire) for wire in WIRES[raceway]],
            "walk": walk,
        },
    }
    data: Data = {"id": made_id("run", key), "key": key, "area": area, "survey": survey}
    data["wires"] = [
        {"size": size, "count": count, "colour": colour, "insulation": "THHN"} for size, count, colour in WIRES[raceway]
    ]
    data["items"] = [{"item": box} for word, box in BOXES.items() if word in end]
    return data


def made_id(*parts: str) -> str:
    """The same id each time that the demo is made."""
    return digest("orchard", *parts)


def entries_data() -> list[Data]:
    """What was measured on the first runs, and how far these are."""
    entries: list[Data] = [
        {"id": made_id("readings", key), "run": made_id("run", key), "piece": 1, "what": {"kind": "readings", **seen}}
        for key, seen in MEASURED
    ]
    entries += [
        {"id": made_id("status", key), "run": made_id("run", key), "what": {"kind": "status", "status": status}}
        for key, status in STATUS.items()
    ]
    return [{**entry, "by": "Kim"} for entry in entries]


def _wires(wire: tuple[str, int, str]) -> str:
    size, count, colour = wire
    return f"{count} x {size} THHN{' ground' if colour == 'green' else ''}"


def head_data() -> Data:
    """Stock on hand, the demo's own prices, and two people's hands."""
    sticks = [("EMT 1/2", "7.10"), ("EMT 3/4", "11.40"), ("EMT 1", "18.90"), ("RMC 3/4", "31.50"), ("RMC 1", "46.00")]
    stock: list[Data] = [{"raceway": r, "length": "10 ft", "price": p} for r, p in sticks]
    stock += [
        {"raceway": "EMT 1/2", "length": "64 1/2", "count": 2, "offcut": True},
        {"raceway": "EMT 1/2", "length": "41", "count": 1, "offcut": True},
        {"raceway": "EMT 3/4", "length": "87", "count": 1, "offcut": True},
    ]
    return {
        "name": "Orchard cooperative",
        "units": "in",
        "areas": [{"name": PUMP}, {"name": SHOP}, {"name": SHED}],
        "stock": stock,
        "cutting": {"kerf": "1/16", "keep": "24"},
        "wire_slack": "12",
        "wire_waste": 5.0,
        "note": "Made-up demo: figures, prices and people are nobody's.",
    }


def prices_data() -> dict[str, object]:
    """Prices and hours."""
    items = [
        {"item": "wire 12 THHN", "per": "1000 ft", "price": "165"},
        {"item": "wire 10 THHN", "per": "1000 ft", "price": "262"},
        {"item": "4 in square box", "price": "3.85", "labour_h": "0.35"},
        {"item": "4 in octagon box", "price": "3.20", "labour_h": "0.35"},
        {"item": "single-gang box", "price": "2.95", "labour_h": "0.30"},
    ]
    return {"currency": "USD", "items": items, "labour_rate": "48"}


def people_data() -> list[dict[str, object]]:
    """How well they work."""
    sam = {"mark": "1/8", "angle_deg": 1.5, "roll_deg": 2.0, "cut": "1/8"}
    return [{"id": made_id("person", "Kim"), "name": "Kim"}, {"id": made_id("person", "Sam"), "name": "Sam", **sam}]


def make_job() -> Job:
    """The demo job."""
    runs = [run_data(area, row) for area, rows in RUNS.items() for row in rows]
    whole = {"id": made_id("job"), "head": head_data(), "runs": runs, "entries": entries_data()}
    whole |= {"prices": prices_data(), "people": people_data()}
    return job_from_data({"racewright_job": JOB_FORMAT, **whole})


if __name__ == "__main__":
    out = Path(sys.argv[1]) if len(sys.argv) > 1 else OUT
    job = make_job()
    write_job(out, job)
    print(f"{len(job.runs)} runs written to {out}")
