"""Runs of one key are told apart wherever they are listed or named."""

import json
from pathlib import Path

import msgspec
import pytest
from typed import kept, type_in

from racewright.errors import InputError
from racewright.operations.answer import ask_json
from racewright.operations.job_run import run_of
from racewright.records.entry import Entry, StatusSet
from racewright.records.ids import digest
from racewright.records.model import Job, JobHead
from racewright.records.naming import keys_told_apart, keys_twice, runs_called, short_ids, told_apart
from racewright.store.job_file import job_to_data, load_job
from racewright.store.job_store import JobStore

EXAMPLES = Path(__file__).parents[2] / "examples"

SADDLE, STUB = str(EXAMPLES / "pump-house-saddle.yaml"), str(EXAMPLES / "workshop-panel-stub.yaml")

DEMO = load_job(EXAMPLES / "orchard-job.json")

FIRST, SECOND = (
    msgspec.structs.replace(run, id=digest(name), key=key, area="")
    for run, name, key in ((DEMO.runs[0], "first", "PH-07"), (DEMO.runs[1], "second", "ph-07"))
)

TWINS = Job(
    head=JobHead(name="Orchard"),
    runs=(FIRST, SECOND, msgspec.structs.replace(DEMO.runs[2], area="")),
    entries=(Entry(run=SECOND.id, what=StatusSet(status="bent")),),
)

LABELS = [f"PH-07-{FIRST.id[:6]}", f"ph-07-{SECOND.id[:6]}"]


def test_a_run_gets_another_key_and_keeps_what_is_kept_of_it(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("add", STUB, "--key", "WS-01")
    type_in("set", "bent", "PH-01")
    assert type_in("rename", "ph-01", "PH-20") == 0
    assert [(run.key, kept().status(run)) for run in kept().runs] == [("PH-20", "bent"), ("WS-01", "measured")]
    with pytest.raises(InputError, match="has a run 'WS-01' already"):
        type_in("rename", "PH-20", "ws-01")
    with pytest.raises(InputError, match="cannot be kept"):
        type_in("rename", "PH-20", "two words")
    assert type_in("rename", "PH-20", "ph-20") == 0  # another case of its own
    capsys.readouterr()
    type_in("log", "ph-20")
    assert "run PH-01 called PH-20" in capsys.readouterr().out


def test_adding_asks_for_a_key_of_its_own(here: Path, tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "pump-house-saddle.yaml").write_text(Path(SADDLE).read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(InputError, match="has a run 'pump-house-saddle' already"):
        type_in("add", SADDLE, "b/pump-house-saddle.yaml")
    assert kept().runs == ()


def test_a_second_job_breaks_no_command_and_job_overrules(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    type_in("add", SADDLE, "--key", "PH-01")
    type_in("new", "barn", "--by", "Kim")
    type_in("add", STUB, "--key", "B-1")
    capsys.readouterr()
    for words, run in (((), "B-1"), (("--job", "orchard"), "PH-01")):
        assert type_in("status", "--json", *words) == 0
        assert [row["run"] for row in json.loads(capsys.readouterr().out)["runs"]] == [run]


def test_runs_of_one_key_are_told_apart_and_told_of_wherever_they_are_listed() -> None:
    job = job_to_data(TWINS)
    for name, more in (("job_status", {}), ("job_plan", {}), ("job_bill", {}), ("job_cut", {"all": True})):
        answer = json.loads(ask_json(name, json.dumps({"job": job, **more})))
        (finding,) = (f for f in answer["findings"] if f["rule"] == "job.keys")
        assert (finding["severity"], finding["where"]) == ("caution", "PH-07")
        assert f"{FIRST.id[:6]} ({FIRST.name}); {SECOND.id[:6]} ({SECOND.name})" in finding["message"]
        said = json.dumps(answer)
        assert all(label in said for label in LABELS), name
        if "runs" in answer:
            assert [(row["run"], row["status"]) for row in answer["runs"]] == [
                (LABELS[0], "measured"),
                (LABELS[1], "bent"),
                ("PH-03", "measured"),
            ]
    plans = json.loads(ask_json("job_plan", json.dumps({"job": job})))["runs"]
    assert plans[0]["plan"]["marks"] != plans[1]["plan"]["marks"]  # each its own plan


def test_a_pack_has_a_card_for_each_run_of_one_key() -> None:
    pack = json.loads(ask_json("job_pack", json.dumps({"job": job_to_data(TWINS), "form": "svg"})))
    assert "job.keys" in [finding["rule"] for finding in pack["findings"]]
    words = " ".join(pack["svg"])
    assert all(f"run {label}, sheet 1 of 1" in words for label in LABELS)


def test_a_run_of_a_request_is_named_by_key_or_id() -> None:
    job = job_to_data(TWINS)

    def ask(name: str) -> dict[str, dict[str, str]]:
        told: dict[str, dict[str, str]] = json.loads(ask_json("job_run", json.dumps({"job": job, "run": name})))
        return told

    assert ask(SECOND.id[:8])["status"] == "bent"
    assert ask(LABELS[0])["status"] == "measured"
    error = ask("PH-07")["error"]
    assert error["message"] == "2 runs are called 'PH-07'."
    assert SECOND.name in error["hint"]


@pytest.mark.parametrize("same", [5, 6, 12, 31])
def test_ids_that_begin_alike_are_shown_as_far_as_it_takes(same: int) -> None:
    ids = ["a" * 32, "a" * same + "b" * (32 - same), "c" * 32]
    keys = ["PH-07", "ph-07", "PH-07"]
    runs = [msgspec.structs.replace(FIRST, id=one, key=key) for one, key in zip(ids, keys, strict=True)]
    digits = max(6, same + 1)
    begins = short_ids(runs)
    assert begins == {one: one[:digits] for one in ids}
    apart = keys_told_apart(runs)
    assert len({one.casefold() for one in apart}) == 3
    assert all(len(one) <= 40 for one in apart)
    for run, name in zip(runs, apart, strict=True):
        assert runs_called(runs, name) == runs_called(runs, begins[run.id]) == (run,)
    assert len(runs_called(runs, "aaaaa")) == 2  # as one types it who does not know
    with pytest.raises(InputError) as caught:
        run_of(Job(head=JobHead(name="x"), runs=tuple(runs)), "ph-07")
    assert all(begin in caught.value.hint for begin in begins.values())


def test_a_run_that_is_called_as_another_is_told_apart_is_told_apart_from_it() -> None:
    runs = [
        msgspec.structs.replace(FIRST, id=one * 32, key=key)
        for one, key in (("a", "PH-07"), ("b", "PH-07"), ("c", "PH-07-aaaaaa"), ("d", "bbbbbb"))
    ]
    apart = keys_told_apart(runs)
    assert apart == ("PH-07-aaaaaaa", "PH-07-bbbbbbb", "PH-07-aaaaaa", "bbbbbb")
    assert [runs_called(runs, name) for name in apart] == [(run,) for run in runs]
    assert runs_called(runs, short_ids(runs)["b" * 32]) == (runs[1],)


def test_keys_differ_by_more_than_case() -> None:
    assert list(keys_twice(TWINS.runs)) == ["PH-07"]
    assert [run.key for run in told_apart(TWINS).runs] == [*LABELS, "PH-03"]
    assert told_apart(DEMO) is DEMO


def test_a_run_that_is_not_there_is_told_those_that_are_by_names_that_serve(here: Path) -> None:
    with JobStore.open("jobs.rwshop") as store:
        store.create_job("twins", TWINS)
    with pytest.raises(InputError) as err:
        type_in("show", "PH-99", "--job", "twins")
    assert err.value.hint == f"runs: {LABELS[0]}, {LABELS[1]}, PH-03"
    assert type_in("log", LABELS[0], "--job", "twins") == 0
