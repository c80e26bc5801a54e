"""One question, three doors: what is asked of the command, of the server and of the browser's engine.

Each list below is one area; `REQUESTS` is all of them. Run as a program it prints them as JSON for the browser's tests.
"""

from __future__ import annotations

import json
from pathlib import Path
from shlex import split
from typing import Any, NamedTuple

from ask_samples import example_data, saddle_survey

from racewright.operations.operations import OPERATIONS

ROOT = Path(__file__).resolve().parents[2]


class Asked(NamedTuple):
    """`command`: what is typed after `racewright`, without --json, files named from the project's folder. `part`: the
    field of the answer that the command prints as JSON; '' for the whole answer."""

    operation: str
    request: dict[str, Any]
    command: tuple[str, ...]
    part: str = ""


def example(name: str) -> dict[str, Any]:
    """A survey of examples/ as data."""
    data: dict[str, Any] = example_data(ROOT / "examples" / f"{name}.yaml")
    return data


_EXAMPLES = (
    "pump-house-saddle",
    "pump-house-kick",
    "workshop-bench-u",
    "packing-shed-column",
    "packing-shed-two-turns",
)

PLANS = [
    Asked("plan", {"survey": example(name), "pictures": []}, ("plan", f"examples/{name}.yaml"), "plan")
    for name in _EXAMPLES
]

CHECKS = [
    *(Asked("check", {"survey": example(name)}, ("check", f"examples/{name}.yaml")) for name in _EXAMPLES[:4]),
    Asked(
        "check",
        {"survey": example(_EXAMPLES[0]), "worst": True},
        ("check", f"examples/{_EXAMPLES[0]}.yaml", "--worst"),
    ),
    Asked(
        "plan",
        {"survey": example(_EXAMPLES[0]), "bender_name": "lost-shoe"},
        ("plan", f"examples/{_EXAMPLES[0]}.yaml", "--bender", "lost-shoe"),
        "plan",
    ),
]


def _remark(name: str, *made: str, **more: Any) -> Asked:
    """Bends that are made, each '1: angle 24, mark 19 15/16', asked in words of the command and as data."""
    called = {"angle": "angle_deg", "roll": "roll_off_deg", "mark": "mark", "start": "start"}
    data = []
    for text in made:
        number, _, said = text.partition(":")
        one: dict[str, Any] = {"number": int(number)}
        for word, _, value in (part.strip().partition(" ") for part in said.split(",") if part.strip()):
            one[called[word]] = float(value) if called[word].endswith("deg") else value
        data.append(one)
    options = [word for text in made for word in ("--made", text)]
    options += ["--have", more["stock"]] if "stock" in more else []
    request = {"survey": example(name), "made": data, **more}
    return Asked("remark", request, ("remark", f"examples/{name}.yaml", *options))


def _tweak(name: str, measured: list[dict[str, Any]], *options: str, **more: Any) -> Asked:
    request = {"survey": example(name), "measured": measured, **more}
    return Asked("tweak", request, ("tweak", f"examples/{name}.yaml", *options))


def _off(way: str, off: str, **more: str) -> dict[str, Any]:
    return {"what": "off", "way": way, "off": off, **more}


def _finished() -> dict[str, Any]:
    """The request of examples/finished/orchard-three-pieces.yaml."""
    data: dict[str, Any] = example_data(ROOT / "examples" / "finished" / "orchard-three-pieces.yaml")
    pieces = []
    for piece in data["pieces"]:
        measured: list[dict[str, Any]] = []
        for line in piece["measured"]:
            if "angle" in line:
                measured.append({"what": "angle", "number": int(line["bend"]), "angle_deg": float(line["angle"])})
            elif "rise" in line:
                measured.append({"what": "rise", "number": int(line["bend"]), "rise": line["rise"]})
            elif "lean" in line:
                measured.append({"what": "lean", "way": line["leg"], "lean_deg": float(line["lean"])})
            else:
                measured.append(
                    _off(line.get("end", "up"), line.get("off", line.get("daylight")), station=line.get("at", ""))
                )
        pieces.append(
            {"survey": example(Path(piece["plan"]).stem), "name": piece.get("name", ""), "measured": measured}
        )
    return {"pieces": pieces, "causes": data["causes"], "unit": data["units"], "doubt_length": data["doubt"]["length"]}


CORRECTIONS = [
    _remark("pump-house-saddle", "1: angle 20"),
    _remark("pump-house-saddle", "2: angle 38"),
    _remark("pump-house-saddle", "1: angle 24, mark 19 15/16", "2: angle 47", stock="10 ft"),
    _remark("pump-house-saddle", "1: angle 42"),
    _remark("pump-house-saddle", "1: angle 24", "2: angle 52", "3:"),
    _remark("pump-house-saddle", "1: angle 60", stock="58 7/8"),
    _remark("pump-house-saddle", "1: start 17, roll 2"),
    _remark("pump-house-saddle", "9: angle 20"),
    _remark("pump-house-saddle", "1: angle 20", "1: mark 18"),
    _remark("pump-house-kick", "2: angle 91"),
    _remark("pump-house-kick", "1: angle 20"),
    _remark("workshop-bench-u", "1: angle 88", "4: angle 91"),
    _remark("packing-shed-two-turns", "9: angle 88, roll 2", "4:", "1:", stock="120"),
    _remark("packing-shed-column", "1: angle 20"),
    _remark("workshop-rigid-corner", "1: angle 40"),
    _tweak("pump-house-saddle", [_off("up", "3/8")], "--end-up", "3/8"),
    _tweak("pump-house-saddle", [_off("right", "1/4")], "--end-right", "1/4"),
    _tweak(
        "pump-house-saddle",
        [_off("up", "0"), {"what": "rise", "rise": "2-15/16"}],
        "--end-up",
        "0",
        "--rise",
        "2-15/16",
    ),
    _tweak("pump-house-saddle", [{"what": "angle", "number": 2, "angle_deg": 47}], "--angle", "2=47"),
    _tweak("pump-house-saddle", [{"what": "angle", "number": 2, "angle_deg": 54}], "--angle", "2=54"),
    _tweak("pump-house-saddle", [_off("up", "1/4", station="50")], "--daylight", "50=1/4"),
    _tweak("pump-house-saddle", [_off("up", "1/4", station="500")], "--daylight", "500=1/4"),
    _tweak("pump-house-kick", [_off("short", "1/32")], "--end-short", "1/32"),
    _tweak("workshop-bench-u", [_off("up", "3/8")], "--end-up", "3/8", "--may-turn", may_spin=True),
    _tweak("workshop-bench-u", [{"what": "rise", "rise": "6"}], "--rise", "6"),
    _tweak("packing-shed-column", [{"what": "lean", "way": "down", "lean_deg": 1.5}], "--lean-down", "1.5"),
    _tweak("pump-house-saddle", [_off("up", "1")], "--end-up", "1", "--piece", "3", piece=3),
    Asked("diagnose", _finished(), ("diagnose", "examples/finished/orchard-three-pieces.yaml")),
]


def _shape(command: str, request: dict[str, Any] | None = None, **readings: Any) -> Asked:
    words = command.split()
    return Asked("shape", {"shape": {"name": words[0], **readings}, **(request or {})}, ("shape", *words))


SHAPES = [
    _shape("stub --height 13 --leg 30", height="13", leg="30"),
    _shape("stub --height 4", height="4"),
    _shape("back-to-back --distance 48 --stub 12 --to center", distance="48", stub="12", to="center"),
    _shape("kick --rise 10 --travel 20", rise="10", travel="20"),
    _shape("kick --rise 5-1/4 --angle 22.5 --beside-90", rise="5-1/4", angle="22.5", beside_90=True),
    _shape("offset --rise 6 --angle 30 --at 30", rise="6", angle="30", at="30"),
    _shape(
        "offset --rise 150 --unit mm --bender emt-3/4 --at 800 --room 320",
        {"unit": "mm", "bender_name": "emt-3/4"},
        rise="150",
        at="800",
        room="320",
    ),
    _shape("box-offset --rise 1/2 --fraction 32", {"fraction": 32}, rise="1/2"),
    _shape("rolling-offset --rise 6 --shift=-8 --at 40", rise="6", shift="-8", at="40"),
    _shape("saddle --rise 2-3/4 --center 24 --length 52", rise="2-3/4", center="24", length="52"),
    _shape(
        "saddle --obstacle square --height 2-1/4 --width 7 --rise 2-1/4 --centre 33 --angle 30",
        obstacle="square",
        height="2-1/4",
        width="7",
        rise="2-1/4",
        centre="33",
        angle="30",
    ),
    _shape("four-bend-saddle --rise 2 --flat 5 --centre 9 --length 60", rise="2", flat="5", centre="9", length="60"),
    _shape("parallel-offset --rise 6 --spacing 2", rise="6", spacing="2"),
    _shape("parallel-kick --rise 6 --gap 1 --sizes 1/2,3/4", rise="6", gap="1", sizes="1/2,3/4"),
    _shape("concentric --spacing 2 --count 4", spacing="2", count=4),
    _shape("segmented --radius 20 --stub 30", radius="20", stub="30"),
    _shape(
        "offset --rise 6 --raceway PVC-40 --size 1 --bend-radius 6",
        {"raceway": "PVC-40", "size": "1", "bend_radius": "6"},
        rise="6",
    ),
]

_BEND = {"angle": "90", "stub": "12", "leg": "30", "cut": "39 3/8", "mark": "7"}
_WORDS = "angle=90 stub=12 leg=30 cut=39 3/8 mark=7"

BENDERS = [
    Asked("bender", {"bender_name": "emt-3/4"}, ("bender", "show", "emt-3/4")),
    Asked("bender", {"bender_name": "EMT-1", "unit": "mm"}, ("bender", "show", "EMT-1", "--unit", "mm")),
    Asked("bender", {"bender_name": "nobody"}, ("bender", "show", "nobody")),
    Asked(
        "calibrate",
        {"bender_name": "emt-1/2", "bends": [_BEND]},
        ("bender", "calibrate", "emt-1/2", "--bend", _WORDS),
    ),
    Asked(
        "calibrate",
        {
            "bender_name": "shop",
            "raceway": "EMT",
            "size": "1/2",
            "bends": [_BEND, _BEND | {"angle": "45", "stub": "8 1/2", "pointer": "47"}],
        },
        (
            *("bender", "calibrate", "shop", "--raceway", "EMT", "--size", "1/2", "--bend", _WORDS),
            *("--bend", "angle=45 stub=8 1/2 leg=30 cut=39 3/8 mark=7 pointer=47"),
        ),
    ),
]


def _wires(command: str, **request: Any) -> Asked:
    words = split(command)
    return Asked(words[0] if words[0] == "pull" else f"wires_{words[1]}", request, tuple(words))


_LONG = "straight 170, pull point, straight 250, bend 90 r 20, straight 40 up"
_METRIC = "straight 52 m, bend 90 r 508 mm, straight 12 m up"
WIRES = [
    _wires('wires size --raceway EMT "3 x 8 THHN" "1 x 10 bare"', raceway="EMT", wires=["3 x 8 THHN", "1 x 10 bare"]),
    _wires('wires size --raceway RMC "6 x 6 RHH" --nipple "18 in"', raceway="RMC", wires=["6 x 6 RHH"], nipple="18 in"),
    _wires('wires size --raceway EMT "3 x 13 THHN"', raceway="EMT", wires=["3 x 13 THHN"]),
    _wires(
        'wires fit --raceway EMT --size 3/4 "3 x 12 THHN" --more "12 THHN"',
        raceway="EMT",
        size="3/4",
        wires=["3 x 12 THHN"],
        more="12 THHN",
    ),
    _wires('wires fit --raceway EMT --size 1/2 "9 x 8 THHN"', raceway="EMT", size="1/2", wires=["9 x 8 THHN"]),
    _wires('wires ampacity "10 XHHW-2" --carrying 25 --device 20', wire="10 XHHW-2", carrying=25, device_a=20),
    _wires(
        'wires ampacity "4 THWN-2" --wet --ambient-f 104 --circuit "2 x 2-wire" --circuit "3 phases" --load 60',
        wire="4 THWN-2",
        wet=True,
        ambient_f=104,
        circuits=["2 x 2-wire", "3 phases"],
        load_a=60,
    ),
    _wires('wires ampacity "12 THHN" --terminals 80', wire="12 THHN", terminals_c=80),
    _wires('wires drop --current 20 --length "100 ft" --volts 120', current_a=20, length="100 ft", volts=120),
    _wires(
        "wires drop --wire-size 350 --current 290 --length '98 m' --volts 480 --system three --power-factor 0.88"
        " --raceway PVC",
        wire_size="350",
        current_a=290,
        length="98 m",
        volts=480,
        system="three",
        power_factor=0.88,
        raceway="PVC",
    ),
    _wires("wires drop --current 20 --length 85 --volts 120", current_a=20, length="85", volts=120),
    _wires("wires ground --device 40 --needed-size 8 --used-size 6", device_a=40, needed_size="8", used_size="6"),
    _wires(
        'wires box --wire "8 x 12" --ground "4 x 12" --device "1 x 12" --box "4 x 1 1/2 square"',
        wires=["8 x 12"],
        grounds=["4 x 12"],
        devices=["1 x 12"],
        box="4 x 1 1/2 square",
    ),
    _wires(
        'wires pullbox --pull "straight left 2 -> right 2" --pull "angle left 3 -> bottom 3" --width "24 in"',
        pulls=["straight left 2 -> right 2", "angle left 3 -> bottom 3"],
        width="24 in",
    ),
    _wires(
        f'pull --raceway EMT --size 2 --wires "3 x 4/0 XHHW, 1 x 4 THHN" --path "{_LONG}" --friction 0.35',
        raceway="EMT",
        size="2",
        wires=["3 x 4/0 XHHW", "1 x 4 THHN"],
        path=_LONG,
        friction=0.35,
    ),
    _wires(
        f'pull --raceway RMC --size 2 --wires "3 x 4/0 XHHW" --path "{_METRIC}" --metal al --sidewall-limit 500'
        " --feed-tension 20 --grip --capstan",
        raceway="RMC",
        size="2",
        wires=["3 x 4/0 XHHW"],
        path=_METRIC,
        metal="al",
        sidewall_limit_lb_per_ft=500,
        feed_tension_lb=20,
        grip=True,
        capstan=True,
    ),
    _wires(
        'pull --raceway EMT --size 2 --wires "3 x 4/0 XHHW" --path "straight 9" --friction 3',
        raceway="EMT",
        size="2",
        wires=["3 x 4/0 XHHW"],
        path="straight 9",
        friction=3,
    ),
]


RUN_IDS = {"PH-1": "1" * 32, "PH-2": "2" * 32, "WS-1": "3" * 32}


def job_data(units: str = "in") -> dict[str, Any]:
    """Three runs: one to cut, one that is bent, one that has no plan."""
    lost = example("workshop-panel-stub")
    lost["run"] = {**lost["run"], "bend_radius": "40 ft"}
    return {
        "racewright_job": 3,
        "id": "0" * 32,
        "head": {
            "name": "Orchard cooperative",
            "units": units,
            "areas": [{"name": "Pump house"}],
            "stock": [{"raceway": "EMT 1/2", "length": "10 ft", "price": "7.10"}],
            "prices": {"currency": "USD", "labour_rate": "50", "items": [{"item": "EMT 1/2 strap", "price": "0.40"}]},
        },
        "runs": [
            {"id": RUN_IDS["PH-1"], "key": "PH-1", "area": "Pump house", "survey": example("pump-house-saddle")},
            {"id": RUN_IDS["PH-2"], "key": "PH-2", "area": "Pump house", "survey": example("pump-house-kick")},
            {"id": RUN_IDS["WS-1"], "key": "WS-1", "survey": lost, "note": "ask for the radius"},
        ],
        "entries": [{"id": "4" * 32, "run": RUN_IDS["PH-2"], "what": {"kind": "status", "status": "bent"}}],
    }


def shops(folder: Path) -> None:
    """Shop files for the commands that read one: 'orchard.rwshop', 'metric.rwshop'."""
    from racewright.records.parse import job_from_data
    from racewright.store.job_store import JobStore

    for name, units in (("orchard", "in"), ("metric", "mm")):
        with JobStore.open(folder / f"{name}.rwshop", create=True) as store:
            store.create_job(name, job_from_data(job_data(units)))


def _shop(action: str, name: str, *more: str) -> tuple[str, ...]:
    return ("job", action, "--shop", f"{{shops}}/{name}.rwshop", *more)


JOBS = [
    Asked("jobs", {"jobs": {"orchard": job_data()}}, _shop("list", "orchard")),
    Asked(
        "job_status",
        {"job": job_data(), "revisions": dict.fromkeys(RUN_IDS.values(), 1)},
        _shop("status", "orchard"),
    ),
    Asked("job_bill", {"job": job_data()}, _shop("bill", "orchard")),
    Asked("job_bill", {"job": job_data("mm")}, _shop("bill", "metric")),
    Asked("job_kits", {"job": job_data()}, _shop("kits", "orchard")),
    Asked("job_batch", {"job": job_data()}, _shop("batch", "orchard")),
    Asked("job_batch", {"job": job_data("mm"), "through": True}, _shop("batch", "metric", "--through")),
    Asked("job_cut", {"job": job_data()}, _shop("cut", "orchard")),
    Asked("job_cut", {"job": job_data("mm"), "all": True}, _shop("cut", "metric", "--all")),
    Asked(
        "job_cut",
        {"job": job_data(), "all": True, "raceway": "emt 1/2", "least": "length", "effort": 0},
        _shop("cut", "orchard", "--all", "--raceway", "emt 1/2", "--least", "length", "--effort", "0"),
    ),
    Asked("job_run", {"job": job_data(), "run": "PH-2"}, _shop("show", "orchard", "ph-2")),
    Asked("job_run", {"job": job_data(), "run": "WS-1"}, _shop("show", "orchard", "WS-1")),
]

REQUESTS: list[Asked] = [*PLANS, *CHECKS, *SHAPES, *BENDERS, *WIRES, *JOBS, *CORRECTIONS]


def one_of_each() -> dict[str, dict[str, Any]]:
    """Operation -> a request that it answers."""
    job = {"racewright_job": 1, "head": {"name": "Orchard"}, "runs": [{"key": "A", "survey": saddle_survey()}]}
    asked = {each.operation: each.request for each in reversed(REQUESTS)}
    return (
        {name: {} for name in OPERATIONS}
        | asked
        | {
            "plan": {"survey": saddle_survey()},
            "sketch": {"survey": saddle_survey()},
            "practice_grade": {"survey": saddle_survey(), "readings": [{"key": "rise 2", "reads": "3 1/2"}]},
            "practice_class": {"people": ["Learner A"], "results": []},
            "corner": {"survey": saddle_survey(), "corner": 2},
            "card": {"survey": saddle_survey()},
            "export": {"survey": saddle_survey(), "kinds": ["gltf", "card.svg", "strip.svg"]},
            "parse_length": {"text": "1"},
            "tweak": {"survey": saddle_survey(), "measured": [{"what": "angle", "number": 2, "angle_deg": 44}]},
            "remark": {"survey": saddle_survey(), "made": [{"number": 1, "angle_deg": 23}]},
            "practice": {"count": 2},
            "read_job": {"job": saddle_survey()},
            "jobs": {"jobs": {"orchard": job}},
            "job_run": {"job": job, "run": "a"},
            "job_record": {"job": job, "run": "A", "measured": [{"what": "off", "way": "up", "off": "1/8"}]},
            "job_settings": {"head": {"name": "Orchard"}, "change": {"set": "wire", "wire_slack": "18"}},
            "job_pack": {"job": job, "form": "svg"},
            "job_labels": {"job": job},
            "job_models": {"job": job, "kinds": ["gltf"]},
            **{name: {"job": job} for name in ("job_status", "job_plan", "job_said", "job_bill", "job_cut")},
        }
    )


if __name__ == "__main__":
    print(json.dumps({"doors": [asked._asdict() for asked in REQUESTS], "each": one_of_each()}))
