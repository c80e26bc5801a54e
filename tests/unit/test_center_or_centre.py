"""The survey file, the command line and the requests take `center` and `centre`; both at once are refused."""

import json
from pathlib import Path

import jsonschema
import pytest

from racewright.cli.cmd_bender import bend_readings
from racewright.cli.main import main
from racewright.errors import InputError
from racewright.operations.answer import ask_json
from racewright.store.job_file import job_from_json
from racewright.store.survey_file import survey_from_text
from racewright.survey.from_data import survey_json_schema

RUN = {
    "name": "workshop lathe",
    "raceway": "EMT 3/4",
    "saddle_method": "centre-outward",
    "walk": [
        {"leg": "70", "to": "centre", "features": [{"saddle": {"centre": "31", "height": "2 1/4", "name": "centre"}}]},
        {"turn": "left"},
        {
            "leg": "52",
            "from": "centre",
            "features": [{"keep_clear": {"centre": "20", "height": "2", "width": "2", "side": "14"}}],
        },
    ],
}
WRITTEN = json.dumps({"run": RUN})
AMERICAN = WRITTEN.replace("centre", "center").replace('"name": "center"', '"name": "centre"')
BOTH = WRITTEN.replace('"centre": "31"', '"centre": "31", "center": "31"')


def test_a_survey_reads_the_same_in_either_spelling() -> None:
    assert survey_from_text(AMERICAN).survey == survey_from_text(WRITTEN).survey


def test_both_at_once_are_refused_with_the_line() -> None:
    with pytest.raises(InputError, match="given twice, as center and as centre") as caught:
        survey_from_text(BOTH, name="lathe.yaml")
    assert caught.value.field == "run.walk[0].features[0].saddle.center"
    assert caught.value.line == 1


def test_a_wrong_reading_is_found_in_either_spelling() -> None:
    head = "run:\n  name: a\n  raceway: EMT 1/2\n  walk:\n    - leg: 60\n      features:\n        - saddle:\n"
    text = f"{head}            height: 2\n            center: far\n"
    with pytest.raises(InputError) as caught:
        survey_from_text(text)
    assert caught.value.line == 9


def test_the_schema_takes_either_and_not_both() -> None:
    check = jsonschema.Draft202012Validator(survey_json_schema())
    assert check.is_valid(json.loads(WRITTEN))
    assert check.is_valid(json.loads(AMERICAN))
    assert not check.is_valid(json.loads(BOTH))
    assert not check.is_valid(json.loads(WRITTEN.replace('"centre": "31", ', "")))


def test_requests_and_jobs_take_either() -> None:
    answers = [
        json.loads(ask_json("plan", json.dumps({"survey": json.loads(text), "pictures": []})))
        for text in (WRITTEN, AMERICAN)
    ]
    assert answers[0] == answers[1]
    assert "error" not in answers[0]
    assert json.loads(ask_json("plan", json.dumps({"survey": json.loads(BOTH)})))["error"]["field"].endswith("center")
    jobs = [
        job_from_json(json.dumps({"racewright_job": 1, "head": {"name": "x"}, "runs": [{"key": "a", "survey": s}]}))
        for s in (json.loads(WRITTEN), json.loads(AMERICAN))
    ]
    assert jobs[0] == jobs[1]


def test_the_command_line_takes_either(capsys: pytest.CaptureFixture[str]) -> None:
    printed = []
    for word in ("center", "centre"):
        assert main(["shape", "saddle", "--rise", "2 1/4", f"--{word}", "31"]) == 0
        assert main(["shape", "stub", "--height", "14", "--to", word]) == 0
        printed.append(capsys.readouterr().out)
    assert printed[0] == printed[1]
    assert main(["shape", "saddle", "--rise", "2 1/4", "--center", "31", "--centre", "31"]) == 2
    assert "given twice" in capsys.readouterr().err


def test_bender_readings_and_files_take_either(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    bends = [bend_readings(f"angle=90 stub=12 mark=7 at={word}") for word in ("center", "centre")]
    assert bends[0] == bends[1]
    monkeypatch.setenv("RACEWRIGHT_HOME", str(tmp_path))
    for word in ("center", "centre"):
        (tmp_path / "benders.toml").write_text(
            f'[benders.shop]\nraceway = "EMT"\nsize = "1/2"\nradius = "4 1/4 in"\n{word} = "2 in"\n', encoding="utf-8"
        )
        assert main(["bender", "show", "shop"]) == 0
        assert '2.000"' in capsys.readouterr().out
