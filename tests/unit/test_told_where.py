"""What is refused is told at the place that a person wrote, on the tape that the person reads."""

from pathlib import Path
from typing import Any

import msgspec
import pytest
from ask_samples import EXAMPLES, example_data, saddle_survey

from racewright.cli.answers import asked
from racewright.cli.main import main
from racewright.errors import InputError, RacewrightError
from racewright.operations.answer import answer
from racewright.operations.bent import bent
from racewright.operations.common import NOTHING_KNOWN, Known, Refused, Trouble
from racewright.operations.diagnose import MeasuredPiece
from racewright.operations.tweak import TweakRequest
from racewright.operations.which_tool import bender_for
from racewright.records.model import OffReading
from racewright.store.job_store import JobStore
from racewright.store.shop_tools import keep_tool
from racewright.survey.from_data import survey_from_data
from racewright.tools.benders import default_bender
from racewright.tools.written import BenderRecord, record_of

OFFSET = {"offset": {"rise": "4", "starts_at": "20"}}


def refused(operation: str, data: dict[str, Any]) -> Trouble:
    told = answer(operation, data)
    assert isinstance(told, Refused)
    return told.error


def test_a_part_of_a_reading_is_told_by_the_option_that_gave_it(capsys: pytest.CaptureFixture[str]) -> None:
    request = TweakRequest(
        survey=survey_from_data(saddle_survey()), measured=(OffReading(way="up", off="a lot"),), piece=1
    )
    with pytest.raises(RacewrightError) as caught:
        asked("tweak", request, options={"measured[0]": "--end-up", "piece": "--piece"})
    assert caught.value.field == "--end-up"
    assert caught.value.message.startswith("--end-up: ")
    saddle = str(Path(__file__).parents[2] / "examples" / "pump-house-saddle.yaml")
    assert main(["tweak", saddle, "--end-up", "a lot"]) == 2
    err = capsys.readouterr().err
    assert "--end-up: " in err
    assert "measured[" not in err


def test_a_bender_of_another_raceway_is_refused_where_it_was_named() -> None:
    own = default_bender("EMT", "1")
    with pytest.raises(InputError, match=r"is for EMT 1, and EMT 1/2 was asked") as by_name:
        bender_for("EMT 1/2", None, "shed", Known(benders={"shed": own}))
    with pytest.raises(InputError, match=r"is for EMT 1, and RMC 1 was asked") as by_record:
        bender_for("RMC 1", record_of(own), "", NOTHING_KNOWN)
    assert (by_name.value.field, by_record.value.field) == ("bender_name", "bender")
    assert bender_for("EMT 1", None, "shed", Known(benders={"shed": own})) is own


def test_a_rise_without_a_bend_is_taken_under_the_one_saddle_center_and_else_refused() -> None:
    saddles = [{"saddle": {"name": name, "centre": at, "height": "2"}} for name, at in (("pipe", "26"), ("duct", "80"))]
    for things in ([OFFSET], saddles):  # no saddle center, and two
        ambiguous = saddle_survey(walk=[{"leg": "110", "features": things}])
        told = refused("tweak", {"survey": ambiguous, "measured": [{"what": "rise", "rise": "3"}]})
        assert (told.kind, told.field) == ("input", "measured[0].number")
        assert "by its mark" in told.hint
    alone = answer("tweak", {"survey": saddle_survey(), "measured": [{"what": "rise", "rise": "2 15/16"}]})
    named = answer("tweak", {"survey": saddle_survey(), "measured": [{"what": "rise", "rise": "2 15/16", "number": 2}]})
    assert msgspec.to_builtins(alone) == msgspec.to_builtins(named)


def test_a_piece_among_several_is_told_by_its_place() -> None:
    pieces = (MeasuredPiece(survey=survey_from_data(saddle_survey()), measured=(), piece=3),)
    with pytest.raises(RacewrightError) as caught:
        bent(pieces[0], NOTHING_KNOWN, "pieces[4].")
    assert caught.value.field == "pieces[4].piece"
    bad = saddle_survey(bender="lost-shoe")
    with pytest.raises(RacewrightError) as lost:
        bent(MeasuredPiece(survey=survey_from_data(bad), measured=()), NOTHING_KNOWN, "pieces[0].")
    assert lost.value.field == "pieces[0].survey.run.bender"


def test_the_server_finds_its_own_benders_by_name(tmp_path: Path) -> None:
    from web_client import client

    with JobStore.open(tmp_path / "jobs.rwshop", create=True) as store:
        record = BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8 in", gain="2 3/4 in")
        keep_tool(store, "shed-half", record, replace=False, by="Kim")
    got = client(tmp_path).post("/ask/plan", json={"survey": saddle_survey(), "bender_name": "shed-half"})
    assert got.status_code == 200
    assert got.json()["plan"]["bender"]["name"] == "shed-half"
    assert got.json()["plan"]["bender"]["take_up_mm"] == pytest.approx(5.125 * 25.4)
    lost = client(tmp_path).post("/ask/plan", json={"survey": saddle_survey(), "bender_name": "lost"})
    assert lost.status_code == 422
    assert "shed-half" in lost.json()["error"]["hint"]


def test_a_check_of_the_worst_leaves_the_reminders_out_and_nothing_else() -> None:
    from racewright.operations.common import Answer

    told = {}
    for worst in (False, True):
        given = answer("check", {"survey": saddle_survey(), "worst": worst})
        assert isinstance(given, Answer)
        told[worst] = given.findings
    assert any(finding.severity == "info" for finding in told[False])
    assert told[True] == tuple(finding for finding in told[False] if finding.severity != "info")


def test_an_open_finding_of_a_pack_says_where_in_its_message() -> None:
    duct = example_data(next(path for path in EXAMPLES if path.stem == "packing-shed-duct"))
    job = {"racewright_job": 1, "head": {"name": "Orchard", "units": "in"}, "runs": [{"key": "PH-01", "survey": duct}]}
    given = answer("job_pack", {"job": job, "form": "svg"})
    assert not isinstance(given, Refused), given
    plan = answer("plan", {"survey": duct})
    assert not isinstance(plan, Refused)
    placed = [f for f in plan.findings if f.where and f.severity != "info"]
    assert placed
    for finding in placed:
        told = [
            f
            for f in given.findings
            if f.rule == finding.rule and msgspec.structs.replace(finding, message=f.message).says_where()
        ]
        assert [f.where for f in told] == ["PH-01"]
