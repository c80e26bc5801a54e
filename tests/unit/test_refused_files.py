"""A refused file says which file, which line, which field, and in the trade's words what would do."""

import json
import re
import time
from pathlib import Path
from typing import Any

import pytest

from racewright.cli.main import main
from racewright.store.survey_file import read_survey_file

HEAD = "racewright: 1\nunits: in\nrun:\n  name: packing shed, panel to sorter\n"

WALK = "  walk:\n    - leg: 64\n    - turn: left\n    - leg: 40\n"

EMT = "  raceway: EMT 3/4\n"

LONG = "  walk:\n    - leg: 64\n      features:\n"

#: What was written; the line and the field that are named; words that help.
REFUSED = {
    "trade size that no table has": (EMT.replace("3/4", "7/8") + WALK, 5, "run.raceway", "sizes of EMT"),
    "raceway type that no table has": (EMT.replace("EMT", "EMTT") + WALK, 5, "run.raceway", "EMT"),
    "size before type": (EMT.replace("EMT 3/4", "3/4 EMT") + WALK, 5, "run.raceway", "write it like this: EMT 3/4"),
    "size and inch before type": (EMT.replace("EMT 3/4", "1 1/4 in RMC") + WALK, 5, "run.raceway", "RMC 1 1/4"),
    "fitting": (EMT + "  start: {name: panel, fitting: glue}\n" + WALK, 6, "run.start.fitting", "set-screw"),
    "fitting at the far end": (EMT + WALK + "  end:\n    fitting: glue\n", 11, "run.end.fitting", "set-screw"),
    "bender": (EMT + "  bender: lost-shoe\n" + WALK, 6, "run.bender", "benders known here"),
    "no shoe for plastic": (EMT.replace("EMT 3/4", "PVC-40 1") + WALK, 5, "run.raceway", "`bend_radius: 6 in`"),
    "radius": (EMT + "  bend_radius: 1/8\n" + WALK, 6, "run.bend_radius", "radius"),
    "bender of another size": (EMT + "  bender: emt-1\n" + WALK, 6, "run.bender", "for this raceway"),
    "bender and radius": (
        EMT + "  bender: emt-3/4\n  bend_radius: 10\n" + WALK,
        7,
        "run.bend_radius",
        "leave one of the two out",
    ),
    "wires": (EMT + '  wires: ["2 x 12 THHN", "2 x 12 CHEESE"]\n' + WALK, 6, "run.wires[1]", "insulations"),
    "wire size": (EMT + '  wires:\n    - "2 x 13 THHN"\n' + WALK, 7, "run.wires[0]", "sizes"),
    "an offset with no room": (
        EMT + LONG + "        - offset: {rise: 9, done_by: 8}\n",
        9,
        "run.walk[0].features[0].offset",
        "room",
    ),
    "a kick that cannot be reached": (
        EMT + LONG + "        - kick: {rise: 9, starts_at: 60}\n    - turn: left\n    - leg: 40\n",
        9,
        "run.walk[0].features[0].kick",
        "earlier",
    ),
    "a leg shorter than its bends": (
        EMT + "  walk:\n    - leg: 30\n    - turn: left\n    - leg: 2\n    - turn: left\n    - leg: 30\n",
        10,
        "run.walk[3]",
        "apart",
    ),
    "features out of order": (
        EMT + LONG + "        - saddle: {centre: 45, height: 2}\n        - offset: {rise: 3, starts_at: 10}\n",
        10,
        "run.walk[0].features[1].offset",
        "in the order in which you meet them",
    ),
    "up on a wall": (EMT + WALK.replace("left", "up"), 8, "run.walk[1].turn", "a run going right turns up by left"),
    "text for a list": (EMT + "  walk: yes\n", 6, "run.walk", "a list, each item with a dash of its own"),
    "a list for fields": (EMT + "  start: [panel]\n" + WALK, 6, "run.start", "name: value"),
    "a word for yes or no": (
        EMT + "  end: {fixed: perhaps}\n" + WALK,
        6,
        "run.end.fixed",
        "true or false",
    ),
    "a number for yes or no": (EMT + "  coupled: 1\n" + WALK, 6, "run.coupled", "yes and no will do"),
    "a field that looks like an option": (EMT + WALK + "--unit: mm\n", 10, "--unit", "units"),
    "a newer format": (EMT + WALK + "racewright_: 2\n", 10, "racewright_", "did you mean racewright?"),
}

WALK_AT = ("survey", "run", "walk")

PROGRAMMERS = re.compile(r"\b(object|array|str|int|float|bool|null|NoneType|msgspec|Struct|dict)\b|\$\.|<=|>=|`\$|None")


@pytest.mark.parametrize(("text", "line", "field", "words"), REFUSED.values(), ids=REFUSED)
def test_a_refused_survey_names_file_line_and_field(
    text: str, line: int, field: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    assert main(["plan", str(path)]) in (2, 3)
    said = capsys.readouterr().err
    assert f"shed.yaml, line {line}: " in said
    assert field in said
    assert words in said
    assert not PROGRAMMERS.search(said), said


@pytest.mark.parametrize("command", ["plan", "check", "export", "tweak"])
def test_every_command_that_reads_a_survey_names_the_line(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(HEAD + REFUSED["trade size that no table has"][0], encoding="utf-8")
    more = {"export": ["--dxf", str(tmp_path / "x.dxf")], "tweak": ["--end-up", "1/4"]}.get(command, [])
    assert main([command, str(path), *more]) == 2
    assert "shed.yaml, line 5: run.raceway" in capsys.readouterr().err


def test_a_refused_file_of_finished_pieces_names_line_and_field(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "shed.yaml").write_text(HEAD + EMT + WALK, encoding="utf-8")
    path = tmp_path / "made.yaml"
    piece = "pieces:\n  - plan: shed.yaml\n    measured:"
    for written, line, field in (
        (f"{piece} []\n    piece: '7'\n", 4, "pieces[0].piece"),
        (f"{piece}\n      - {{bend: 1, angle: wide}}\n", 4, "pieces[0].measured[0].angle"),
        (f"{piece} none\n", 3, "pieces[0].measured"),
        (f"{piece}\n      - {{end: up, off: 1/8}}\n      - {{bend: 8, angle: 44}}\n", 5, "pieces[0].measured[1].bend"),
        (f"{piece}\n      - {{at: 40 ft, daylight: 1/8}}\n", 4, "pieces[0].measured[0].at"),
        ("units: feet\npieces: []\n", 1, "units"),
    ):
        path.write_text(written, encoding="utf-8")
        assert main(["diagnose", str(path)]) == 2
        said = capsys.readouterr().err
        assert f"made.yaml, line {line}: " in said
        assert field in said
        assert not PROGRAMMERS.search(said), said


def test_a_refused_job_file_names_line_and_field(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "orchard.json"
    survey = {"run": {"name": "a", "raceway": "EMT 1/2", "walk": [{"leg": "44"}]}}
    run = {"key": "PS-1", "survey": survey, "wire_slack": "441/2"}
    text = json.dumps({"racewright_job": 1, "head": {"name": "x"}, "runs": [run]}, indent=1)
    path.write_text(text, encoding="utf-8")
    assert main(["job", "import", str(path), "--shop", str(tmp_path / "s.rwshop")]) == 2
    said = capsys.readouterr().err
    assert f"orchard.json, line {1 + text[: text.index('441/2')].count(chr(10))}: " in said
    assert "run PS-1: runs[0].wire_slack: " in said
    assert "did you mean 44 1/2?" in said


#: Where in a job file something else is written, what, and how the refusal begins behind file and line.
IN_A_JOB: dict[str, tuple[tuple[str | int, ...], object, str]] = {
    "way": (
        ("runs", 0, *WALK_AT, 1, "turn"),
        "up",
        "run PS-1, turn 1: runs[0].survey.run.walk[1].turn is 'up': expected",
    ),
    "angle": (
        ("runs", 0, *WALK_AT, 1, "angle"),
        [1],
        "run PS-1, turn 1: runs[0].survey.run.walk[1].angle: expected a n",
    ),
    "slip": (
        ("runs", 0, *WALK_AT, 2, "lenght"),
        "4",
        "run PS-1, leg 2: runs[0].survey.run.walk[2].lenght: no such field",
    ),
    "thing": (
        ("runs", 0, *WALK_AT, 2, "features"),
        [{"kick": {}}, {"saddle": {"name": "pipe", "center": "1", "centre": "2"}}],
        "run PS-1, leg 2, pipe: runs[0].survey.run.walk[2].features[1].saddle.center: is given twice",
    ),
    "end": (
        ("runs", 0, *WALK_AT[:2], "start"),
        {"fixed": "so"},
        "run PS-1, end A: runs[0].survey.run.start.fixed is 'so'",
    ),
    "raceway": (("runs", 0, *WALK_AT[:2]), {"name": "a"}, "run PS-1: runs[0].survey.run.raceway: is missing"),
    "times": (("runs", 0, "times"), 5000, "run PS-1: runs[0].times is '5000': expected a whole number, at most 1000"),
    "limit": (("runs", 0, "wire_slack"), "400 ft", "run PS-1: runs[0].wire_slack: '400 ft' is 400 ft; the most is 50"),
    "the job's own": (
        ("head", "cutting"),
        {"kerf": "3"},
        'head.cutting.kerf: no saw cuts 3" (76.2 mm) wide; the most is',
    ),
    "tool": (("tools", 0, "profile", "take_up"), "wide", "tool blue: tools[0].profile.take_up: cannot take 'wide'"),
    "price": (
        ("prices", "items", 0, "price"),
        "much",
        "item box: prices.items[0].price: cannot take 'much' as an amount",
    ),
    "person": (
        ("people", 0, "mark"),
        "2 ft",
        "person Sam: people[0].mark: cannot take '2 ft' as how far a hand is off",
    ),
    "no letter": (("people", 0, "name"), "", "person 1: people[0].name is '': expected text of at least 1 letter."),
    "entry": (("entries", 0, "run"), "0" * 32, "entry 1: entries[0].run: no run of this job has this id"),
}


@pytest.mark.parametrize("what", IN_A_JOB)
def test_a_refused_job_file_says_whose_field_in_words_and_the_path_once(
    what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where, written, begins = IN_A_JOB[what]
    walk = [{"leg": "44"}, {"turn": "left"}, {"leg": "40"}]
    job: Any = {
        "racewright_job": 4,
        "head": {"name": "x"},
        "runs": [{"id": "1" * 32, "key": "PS-1", "survey": {"run": {"name": "a", "raceway": "EMT 1/2", "walk": walk}}}],
        "entries": [{"run": "1" * 32, "what": {"kind": "note", "note": "n"}}],
        "tools": [{"id": "2" * 32, "revision": 1, "name": "blue", "profile": {"raceway": "EMT", "size": "1/2"}}],
        "prices": {"items": [{"item": "box"}]},
        "people": [{"name": "Sam"}],
    }
    job["tools"][0]["profile"] |= {"take_up": "5", "gain": "2 5/8"}
    holder = job
    for step in where[:-1]:
        holder = holder[step]
    holder[where[-1]] = written
    path = tmp_path / "orchard.json"
    path.write_text(json.dumps(job, indent=1), encoding="utf-8")
    assert main(["job", "import", str(path), "--shop", str(tmp_path / "s.rwshop")]) in (2, 3)
    said = capsys.readouterr().err
    assert re.search(rf"orchard\.json, line \d+: {re.escape(begins)}", said), said
    assert said.count("walk[") == begins.count("walk[")
    assert said.count("].") == begins.count("].")
    assert not PROGRAMMERS.search(said), said
    if "survey" in where or "survey" in begins:  # and so the survey file alone, which is its run's
        alone = tmp_path / "shed.yaml"
        alone.write_text(json.dumps(job["runs"][0]["survey"], indent=1), encoding="utf-8")
        assert main(["plan", str(alone)]) in (2, 3)
        begins = begins.removeprefix("run PS-1, ").removeprefix("run PS-1: ").replace("runs[0].survey.", "")
        said = capsys.readouterr().err
        assert re.search(rf"shed\.yaml, line \d+: {re.escape(begins)}", said), said
        assert said.count("walk[") == begins.count("walk[")


@pytest.mark.parametrize(
    ("raw", "line", "words"),
    [
        (b'{"racewright_job": 1,\n "head": {"name": "shed"},\n "runs": [}\n', 3, "is not JSON: invalid character"),
        (b'{"racewright_job": 1,\n "head": {"name": "shed"},\n "runs": [\n', 3, "it is cut off"),
        (b'{"racewright_job": 1,\n "head": {"name": "s\xe9d"}}', 2, "is not text in UTF-8"),
    ],
)
def test_a_broken_job_file_names_the_line(
    raw: bytes, line: int, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.json"
    path.write_bytes(raw)
    assert main(["job", "import", str(path), "--shop", str(tmp_path / "s.rwshop")]) == 2
    said = capsys.readouterr().err
    assert f"shed.json, line {line}: " in said
    assert words in said
    assert not PROGRAMMERS.search(said), said


@pytest.mark.parametrize(
    "words",
    [
        ["add", "sorter feed 3.yaml"],
        ["add", "shed.yaml", "--key", "sorter feed"],
        ["new", "sorter feed"],
        ["new", "shed", "--area", ""],
        ["new", "shed", "--name", "n" * 300],
    ],
)
def test_a_key_or_name_that_a_job_cannot_take_is_told_in_plain_words(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("sorter feed 3.yaml", "shed.yaml"):
        Path(name).write_text(HEAD + EMT + WALK, encoding="utf-8")
    assert main(["job", "new", "orchard"]) == 0
    assert main(["job", *words]) == 2
    said = capsys.readouterr().err
    assert not PROGRAMMERS.search(said), said
    assert "letter" in said
    assert "regex" not in said


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('# mine\n[benders."a\\tb"]\nraceway = "EMT"\n', 2),
        ('[benders]\n\n"a\\u0009b" = {raceway = "EMT"}\n', 3),
        ('[benders.shop]\nraceway = "EMT"\nsize = "1/2"\n\nradius = "4 feet 13/12"\n', 5),
        ('benders.shop.raceway = "EMT"\nbenders.shop.size = "1/2"\nbenders.shop.take_up = "wide"\n', 3),
        ('[benders."shop"]  # ours\nraceway = "EMT"\nsize = "1/2"\nhook = "2 in"\n', 4),
    ],
    ids=["tab in a name", "tab in a row", "radius", "dotted", "unknown field"],
)
def test_a_bender_file_is_refused_by_its_line_however_the_name_is_written(
    text: str, line: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    (tmp_path / "benders.toml").write_text(text, encoding="utf-8")
    assert main(["bender"]) == 2
    assert f"benders.toml, line {line}: " in capsys.readouterr().err


def test_a_refused_bender_file_names_line_and_field(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    (tmp_path / "benders.toml").write_text('[benders.shop]\nraceway = "EMT"\nsize = "1/2"\ntake_up = 5\n')
    assert main(["bender"]) == 2
    said = capsys.readouterr().err
    assert "benders.toml, line 4: " in said
    assert "take_up is '5': expected text" in said


@pytest.mark.parametrize(
    "text",
    [
        "[" * 900 + "]" * 900,
        "run: " + "{a: " * 900 + "1" + "}" * 900,
        "\n".join(" " * k + "a:" for k in range(900)),
        "a: &a [*a]",
        "a: &a [1, 2, 3, 4, 5, 6, 7, 8, 9]\nb: &b [*a, *a, *a, *a, *a, *a, *a]\nc: &c [*b, *b, *b, *b, *b, *b]\n"
        "d: &d [*c, *c, *c, *c, *c, *c, *c, *c]\ne: [*d, *d, *d, *d, *d, *d, *d, *d]",
        "- 1\n" * 200_000,
        '{"run": {"name": "\\ud800"}}',
        "\x00",
        "",
        "%YAML 9\n---\n",
        "{? [a]: 1}",
    ],
    ids=["lists", "fields", "lines", "own alias", "bomb", "long", "half a letter", "zero", "empty", "version", "key"],
)
@pytest.mark.parametrize("command", ["plan", "diagnose"])
def test_a_deep_long_or_broken_file_is_refused_at_once(
    command: str, text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "deep.yaml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    started = time.process_time()
    assert main([command, str(path)]) == 2
    assert time.process_time() - started < 4.0
    assert "deep.yaml" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (HEAD.replace("panel", '"\\UFFFFFFFE"').replace("packing shed, ", "") + EMT + WALK, 4),
        (HEAD + EMT + '  strap: "a\\U00110001"\n' + WALK, 6),
        ("# shed\n%YAML 1." + "7" * 6000 + "\n---\n" + HEAD, 2),
    ],
    ids=["far beyond the letters", "just beyond", "version"],
)
@pytest.mark.parametrize("command", ["plan", "diagnose"])
def test_a_number_that_stands_for_no_letter_or_version_is_refused_by_line(
    command: str, text: str, line: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(text, encoding="utf-8")
    assert main([command, str(path)]) == 2
    assert f"shed.yaml, line {line}: the file's layout cannot be read" in capsys.readouterr().err


def test_a_letter_that_json_writes_in_two_halves_is_one_letter(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = {"name": "pump \U0001f527 house", "raceway": "EMT 1/2", "walk": [{"leg": "64"}]}
    path = tmp_path / "run.json"
    path.write_text(json.dumps({"run": run}), encoding="ascii")
    assert "\\ud83d\\udd27" in path.read_text(encoding="ascii")
    assert read_survey_file(path).survey.name == "pump \U0001f527 house"
    path.write_text(json.dumps({"run": run}).replace("\\ud83d\\udd27", "\\udd27\\ud83d"), encoding="ascii")
    assert main(["plan", str(path)]) == 2
    assert "line 1: half a character stands here" in capsys.readouterr().err


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00r", "run: é".encode("latin-1"), b"\x80" * 50, "a: b".encode("utf-16")])
def test_other_encodings_are_named(raw: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shed.yaml"
    path.write_bytes(raw)
    assert main(["plan", str(path)]) == 2
    assert "UTF-8" in capsys.readouterr().err


def test_a_byte_order_mark_does_no_harm(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "shed.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + EMT + WALK).encode())
    assert main(["plan", str(path)]) == 0


@pytest.mark.parametrize("price", ["1E+400000000", "1E-400000000", "1e999", "NaN", "-1", "9" * 50, 10**4000])
def test_a_price_that_nobody_pays_is_refused_at_once(
    price: int | str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "orchard.json"
    prices = {"items": [{"item": "EMT 1/2", "per": "ft", "price": price}]}
    head = {"name": "orchard", "prices": prices}
    path.write_text(json.dumps({"racewright_job": 1, "head": head, "runs": []}), encoding="utf-8")
    started = time.process_time()
    assert main(["job", "import", str(path), "--shop", str(tmp_path / "s.rwshop")]) == 2
    assert time.process_time() - started < 2.0
    assert "price" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "line", "field", "most"),
    [
        (EMT + WALK.replace("leg: 40", "leg: 40\n      note: WORD"), 10, "run.walk[2].note", 4000),
        (EMT + "  start: {name: WORD}\n" + WALK, 6, "run.start.name", 200),
        (EMT + "  end: {fitting: WORD}\n" + WALK, 6, "run.end.fitting", 200),
        (EMT + "  bender: WORD\n" + WALK, 6, "run.bender", 200),
        (EMT + "  wires: [3 x 12 THHN, WORD]\n" + WALK, 6, "run.wires[1]", 200),
        (EMT + LONG + "        - saddle: {centre: 40, height: 2, name: WORD}\n", 9, "saddle.name", 200),
    ],
    ids=["note", "end", "fitting", "bender", "wires", "saddle"],
)
def test_a_name_longer_than_a_card_holds_is_refused_by_line_and_field(
    text: str, line: int, field: str, most: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "shed.yaml"
    path.write_text(HEAD + text.replace("WORD", "w" * 5700), encoding="utf-8")
    assert main(["plan", str(path)]) == 2
    said = capsys.readouterr().err
    assert f"shed.yaml, line {line}: " in said
    assert field in said
    assert f"expected text of at most {most} letters" in said


def test_a_file_that_is_a_folder_or_no_name_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", str(tmp_path)]) == 2
    assert main(["plan", "a\0b.yaml"]) == 2
    assert main(["diagnose", str(tmp_path)]) == 2
    assert main(["job", "list", "--shop", "s" * 300]) == 2
    assert "cannot be read" in capsys.readouterr().err
