"""A person who measures in mm reads mm (and N), one who measures in inches reads inches (and lb): in every finding,
step, note, forecast, table and refusal of many surveys, those that cannot be planned among them."""

import random
import re
from re import Pattern

import msgspec
import pytest

from racewright.cards.text.bend_card import text_card
from racewright.cli.main import main
from racewright.errors import RacewrightError
from racewright.operations.answer import answer
from racewright.operations.common import Refused
from racewright.plan.plan_run import plan_run
from racewright.store.survey_file import survey_from_text

#: Names and sources keep the unit that they are printed with; the others are read by machines.
NOT_SPOKEN = {"name", "raceway", "source", "citation", "standing", "format", "rule", "unit", "mark_tape"}
NOT_SPOKEN |= {"rule_tape", "exact_tape", "cut_length_tape", "trim_marks", "digest", "digest_before"}
INCHES = re.compile(r"\d\"|\d'|\d ?(?:inch(?:es)?|feet|ft|lbf?|in2|in(?! the air| an? ))\b|lb/ft|\binch")
METRIC = re.compile(r"\d ?(?:mm2?|cm|m|N|kN|N/m)\b|kN/m")
#: A fraction of an inch that stands without its unit; three digits and more of mm that do.
BARE_FRACTION = re.compile(r"(?<![\w/-])(?:\d+ )?\d+/\d+(?![\"/\d°]| deg)")
BARE_MM = re.compile(r"(?<![\w./-])\d{3,}(?![\d.°%)(\w]| (?:mm|N|kcmil|TH|%)|\.\d)")
#: What was written is quoted as it was; names of sizes and articles are no lengths.
NAMES = re.compile(
    r"(?:EMT|IMC|RMC|PVC-\d\d|emt|\bx) ?-?\d+(?:-\d)?(?:/\d+)?|NFPA 70-\d+ [\d.()A-Z]*|\d{3}\.\d+\(|Table \d+"
    r"|\d+ % chance|\bplan [2-9A-Z]{6}\b|cannot take '[^']*'"
    r"|(?:write it like one of these|shoes known|sizes of \S+): .*"
)


def survey_text(unit: str, dice: random.Random) -> str:
    """Any survey: most features, many of them with no room."""

    def length(low: float, high: float) -> str:
        value = dice.randint(int(low * 16), int(high * 16)) / 16
        return f"{value:g}" if unit == "in" else f"{value * 25.4:.0f}"

    def feature() -> str:
        at = length(5, 60)
        return dice.choice(
            [
                f"saddle: {{centre: {at}, over: round, height: {length(0, 6)}}}",
                f"saddle: {{centre: {at}, over: square, height: {length(1, 6)}, width: {length(1, 8)}, bends: '4'}}",
                f"saddle: {{centre: {at}, rise: {length(0, 5)}, bends: '3', angle: 45}}",
                f"saddle: {{centre: {at}, toward: left, reach: {length(1, 5)}, width: {length(1, 3)}}}",
                f"offset: {{rise: {length(0, 9)}, starts_at: {at}}}",
                f"offset: {{rise: {length(0, 9)}, shift: {length(0, 9)}, done_by: {at}}}",
                f"offset: {{rise: {length(0, 9)}, middle_at: {at}, angle: {dice.choice(['30', '60', '22 1/2'])}}}",
                f"offset: {{rise: {length(0, 9)}}}",
                f"box_offset: {{starts_at: {length(0, 8)}}}",
                f"kick: {{rise: {length(0, 9)}, starts_at: {at}}}",
                f"keep_clear: {{centre: {at}, height: {length(1, 4)}, width: {length(1, 4)}}}",
            ]
        )

    kind = dice.choice(["EMT 1/2", "EMT 3/4", "EMT 1", "RMC 1", "IMC 3/4", "PVC-40 1", "EMT 1-1/4", "RMC 3"])
    fitting = {"E": "set-screw", "R": "threaded", "I": "threaded", "P": "socket"}[kind[0]]
    lines = [f"units: {unit}", "run:", "  name: packing shed", f"  raceway: {kind}"]
    lines += [f"  start: {{fitting: {fitting}, height: {length(0, 3)}}}"] if dice.random() < 0.4 else []
    lines += [f"  end: {{name: sorter, fitting: {fitting}, fixed: true}}"]
    for chance, field in (
        (0.95 if kind[0] == "P" else 0.05, f"bend_radius: {length(3, 14)}"),
        (0.5 if kind[0] == "P" else 0.0, "climate: {lowest: -10 C, highest: 40 C, install: 15 C}"),
        (0.3, f"clearance: {length(0, 2)}"),
        (0.3, f"stand_off: {length(0, 2)}"),
        (0.3, f"stock: [{length(20, 130)}]"),
        (0.2, f"offcuts: [{length(8, 60)}]"),
        (0.4, f"wires: ['{dice.randint(1, 6)} x {dice.choice(['12', '8', '2', '4/0', '500'])} THHN']"),
        (0.3, "cut: after"),
        (0.1, f"accuracy: {{mark: {length(0, 1)}, angle: 3}}"),
    ):
        lines += [f"  {field}"] if dice.random() < chance else []
    lines.append("  walk:")
    legs = dice.randint(1, 3)
    for k in range(legs):
        lines.append(f"    - leg: {length(8, dice.choice([20, 60, 300]))}")
        lines += [f"      to: {dice.choice(['wall', 'back', 'inside', 'face'])}"] if dice.random() < 0.3 else []
        things = [feature() for _ in range(dice.choice([0, 0, 1, 1, 2] if legs < 3 else [0, 0, 1]))]
        lines += ["      features:", *(f"        - {thing}" for thing in things)] if things else []
        if k < legs - 1:
            lines.append(f"    - turn: {dice.choice(['left', 'right', 'away', 'toward'])}")
            lines += [f"      gap: {length(0, 3)}"] if dice.random() < 0.2 else []
    return "\n".join(lines) + "\n"


def spoken(data: object) -> list[str]:
    if isinstance(data, dict):
        return [text for key, value in data.items() if key not in NOT_SPOKEN for text in spoken(value)]
    if isinstance(data, list | tuple):
        return [text for value in data for text in spoken(value)]
    return [data] if isinstance(data, str) else []


def said_by(text: str) -> tuple[list[str], bool]:
    """Everything that a person reads of this survey, and whether it could be planned."""
    try:
        plan = plan_run(survey_from_text(text).survey)
    except RacewrightError as err:
        return [str(err)], False
    card = " ".join(text_card(plan).split())
    return [*spoken(msgspec.to_builtins(plan)), card], True


@pytest.mark.parametrize(
    ("unit", "other", "bare"), [("mm", INCHES, BARE_MM), ("in", METRIC, BARE_FRACTION)], ids=["mm", "inches"]
)
def test_everything_speaks_in_the_unit_of_the_tape(unit: str, other: Pattern[str], bare: Pattern[str]) -> None:
    planned = 0
    for seed in range(220):
        text = survey_text(unit, random.Random(f"{unit} {seed}"))
        texts, whole = said_by(text)
        planned += whole
        for line in texts:
            line = NAMES.sub("", line)
            assert not other.search(line), (other.search(line), line, text)
            if not line.count("exact, "):  # a table says its unit in its head
                assert not bare.search(line), (bare.search(line), line, text)
    assert 30 < planned < 200


def test_a_run_that_cannot_be_split_is_told_in_mm() -> None:
    text = "units: mm\nrun:\n  name: rack\n  raceway: EMT 3/4\n  stock: [800]\n  walk:\n" + "    - turn: left\n".join(
        f"    - leg: {length}\n" for length in (450, 360, 360, 450)
    )
    texts, _ = said_by(text)
    said = next(line for line in texts if "there is no split" in line)
    assert re.search(r"The run is \d+ mm long", said)
    assert not INCHES.search(said)


def test_a_pull_is_told_in_newtons_to_who_measures_in_mm() -> None:
    text = "units: mm\nrun:\n  name: long\n  raceway: EMT 2\n  wires: ['3 x 4/0 THHN']\n  bend_radius: 300\n  walk:\n"
    text += "    - turn: left\n".join(["    - leg: 20000\n"] * 4)
    texts, _ = said_by(text)
    assert any(re.search(r"about \d+ N at the far end", line) for line in texts)
    assert any(re.search(r"\d\.\d\d kN/m", line) for line in texts)


@pytest.mark.parametrize(
    "words",
    [
        ["offset", "--rise", "10", "--angle", "60"],
        ["offset", "--rise", "150", "--angle", "30", "--room", "90"],
        ["stub", "--height", "60"],
        ["saddle", "--rise", "30", "--angle", "60"],
        ["kick", "--rise", "30", "--travel", "10"],
        ["back-to-back", "--distance", "60"],
        ["four-bend-saddle", "--rise", "60", "--flat", "30", "--room", "100"],
        ["segmented", "--radius", "20"],
        ["offset", "--rise", "-5"],
        ["offset", "--rise", "150 parsec"],
    ],
    ids=" ".join,
)
def test_the_shape_command_refuses_in_the_unit_that_was_asked(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["shape", *words, "--unit", "mm"])
    err = capsys.readouterr().err
    assert not INCHES.search(NAMES.sub("", err)), err
    main(["shape", *words, "--unit", "in"])
    assert not METRIC.search(capsys.readouterr().err.replace(", 795 mm", ""))


def test_a_request_is_refused_in_its_own_unit() -> None:
    for unit, other in (("mm", INCHES), ("in", METRIC)):
        refused = answer("shape", {"shape": {"name": "offset", "rise": "0"}, "unit": unit})
        assert isinstance(refused, Refused)
        assert not other.search(f"{refused.error.message} {refused.error.hint}")
