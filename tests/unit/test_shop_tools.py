"""Tools are records of the whole shop: told and offered like others, under the shop's own id, and of no job."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from racewright.errors import InputError, LimitError
from racewright.records.ids import digest, new_id
from racewright.records.model import Job, JobHead
from racewright.records.tool import Tool, ToolAt
from racewright.store import told_whole
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Answered, Offered, offer, since
from racewright.store.job_rows import Write
from racewright.store.job_store import JobStore
from racewright.store.shop_tools import bring_back, forget_tool, keep_tool
from racewright.tools.benders import raceway_of
from racewright.tools.profile_checks import check_profile
from racewright.tools.written import BenderRecord

DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
HALF = Tool(name="blue half", profile=BenderRecord(raceway="EMT", size="1/2", take_up="5 1/8 in", gain="2 5/8 in"))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore.open(tmp_path / "shop.rwshop", create=True) as opened:
        opened.create_job("orchard", Job(id=DEMO.id, head=DEMO.head, runs=DEMO.runs[:1]), by="Kim")
        yield opened


def plain(value: msgspec.Struct) -> Any:
    return json.loads(msgspec.json.encode(value))


def of(tool: Tool, base: int = 0, base_digest: str = "") -> Offered:
    return Offered(kind="tool", id=tool.id, base=base, base_digest=base_digest, data=plain(tool))


def offered(store: JobStore, *records: Offered, job: str | None = None) -> tuple[Answered, ...]:
    return offer(store, job or since(store, 0).shop, records, by="phone 1")


def test_a_tool_is_offered_told_changed_and_taken_out_under_the_shops_id(store: JobStore) -> None:
    shop, last = since(store, 0).shop, since(store, 0).last
    (answer,) = offered(store, of(HALF))
    assert (answer.outcome, answer.revision) == ("saved", 1)
    told = since(store, last)
    assert told.shop == shop
    assert [(one.kind, one.id, one.job, one.revision) for one in told.records] == [("tool", HALF.id, shop, 1)]
    assert told.records[0].data is not None
    assert json.loads(bytes(told.records[0].data)) == plain(HALF)
    assert [kept.value for kept in store.tools()] == [HALF]
    anew = msgspec.structs.replace(HALF, profile=msgspec.structs.replace(HALF.profile, take_up="5 1/16 in"))
    assert offered(store, of(anew, 1, answer.digest))[0].revision == 2
    (stale,) = offered(store, of(msgspec.structs.replace(HALF, name="old"), 1, answer.digest))
    assert stale.outcome == "stale"
    assert [kept.value for kept in store.tools()] == [anew]
    gone = Offered(kind="tool", id=HALF.id, base=2, base_digest=stale.stands.digest if stale.stands else "")
    assert offered(store, gone)[0].outcome == "saved"
    (told_last,) = since(store, last).records  # runs stay on what it was
    past = [(was.revision, json.loads(bytes(was.data))) for was in told_last.past]
    assert (told_last.revision, told_last.data, past) == (3, None, [(1, plain(HALF)), (2, plain(anew))])
    assert stale.stands is not None
    assert [was.revision for was in stale.stands.past] == [1]
    assert all(one.past == () for one in since(store, 0, ("job", "run", "entry")).records)
    assert store.tools() == ()
    assert [revision.value for revision in store.history(HALF.id)] == [None, anew, HALF]
    store.check()


def test_the_shop_is_no_job(store: JobStore) -> None:
    offered(store, of(HALF))
    assert store.jobs() == ("orchard",)
    assert len(store.changes("orchard")) == 1
    with pytest.raises(InputError, match="holds no job ''"):
        store.load("")
    offer(store, new := new_id(), [Offered(kind="job", id=new, data=plain(JobHead(name="Shed")))], by="phone 1")
    assert store.jobs() == ("orchard", "Shed")
    with JobStore.open(store.path) as again:
        assert [kept.value for kept in again.tools()] == [HALF]
        again.check()


def test_what_is_of_a_job_and_what_is_of_the_shop_do_not_mix(store: JobStore) -> None:
    shop = since(store, 0).shop
    run = msgspec.structs.replace(DEMO.runs[1], id=new_id())
    for job, one, words in (
        (DEMO.id, of(HALF), "'tool' is of the whole shop. offer it under the shop's id"),
        (shop, Offered(kind="run", id=run.id, data=plain(run)), "'run' is of a job. offer it under the job's id"),
        (shop, Offered(kind="job", id=shop, data=plain(DEMO.head)), "'job' is of a job."),
        (new_id(), of(HALF), "of the whole shop"),
    ):
        (answer,) = offered(store, one, job=job)
        assert answer.outcome == "refused"
        assert words in f"{answer.message} {answer.hint}"
    assert store.tools() == ()
    store.check()


@pytest.mark.parametrize(
    ("profile", "outcome", "words"),
    [
        ({"raceway": "EMT", "size": "1/2", "take_up": "5", "gain": "much"}, "refused", "gain"),
        ({"raceway": "EMT", "size": "9", "radius": "4 in"}, "refused", "9"),
        ({"raceway": "EMT", "size": "1/2", "radius": "4 in", "take_up": "40 in"}, "refused", "take-up"),
        ({"raceway": "EMT", "size": "1/2", "radius": "4 in", "sweep": "1"}, "newer", "sweep"),
        ({"raceway": "EMT"}, "refused", "size"),
    ],
)
def test_figures_that_no_tool_can_have_are_refused(
    store: JobStore, profile: dict[str, str], outcome: str, words: str
) -> None:
    tool = {"id": HALF.id, "name": "odd", "profile": profile}
    (answer,) = offered(store, Offered(kind="tool", id=HALF.id, data=tool))
    assert answer.outcome == outcome
    assert words in answer.message
    assert store.tools() == ()


def test_a_file_that_holds_nothing_yet_is_of_no_shop(tmp_path: Path) -> None:
    with JobStore.open(tmp_path / "new.rwshop", create=True) as store:
        assert since(store, 0).shop == ""
        (answer,) = offer(store, new_id(), [of(HALF)], by="phone 1")
        assert answer.outcome == "refused"
        store.create_job("orchard", DEMO.head)
        shop = since(store, 0).shop
        assert shop
        offered(store, of(HALF))
        assert since(store, 0).shop == shop


def test_what_was_counted_of_a_device_counts_only_where_it_checks(store: JobStore) -> None:
    offered(store, of(HALF))
    offered(store, of(msgspec.structs.replace(HALF, id=new_id())))
    rows = store.rows
    (counted,) = rows.device("phone 1").values()
    assert counted == (2, 2 * len(msgspec.json.encode(HALF)))
    rows.db.execute("UPDATE device SET versions = 999999")
    assert rows.device("phone 1") == {}
    offered(store, of(msgspec.structs.replace(HALF, id=new_id())))
    assert [*rows.device("phone 1").values()] == [(1, len(msgspec.json.encode(HALF)))]
    store.check()


def test_a_source_that_was_kept_before_it_had_a_bound_is_read_and_told_and_saved_shorter(store: JobStore) -> None:
    long = msgspec.structs.replace(HALF, profile=msgspec.structs.replace(HALF.profile, standing="test bend " * 120))
    with store.rows.writing():
        write = Write("tool", long.id, 1, 0, msgspec.json.encode(long).decode())
        store.rows.write_change(store.rows.begin_shop(), [write], by="Kim", what="tool blue half")
    store.check()
    assert [kept.value for kept in store.tools()] == [long]
    profile = ToolAt(id=long.id, revision=1, name=long.name, profile=long.profile).worked_out()
    told = [one for one in check_profile(profile, raceway_of(profile)) if one.rule == "bender.standing"]
    assert [(one.severity, one.measured, one.allowed) for one in told] == [("info", 1200.0, 1000.0)]
    with pytest.raises(InputError, match="the standing has 1,200 letters; the most is 1,000"):
        keep_tool(store, "blue half", long.profile, replace=True, by="Kim")
    (no,) = offered(store, of(long, 1, since(store, 0).records[-1].digest), of(long_grip := grip_of("x" * 61)))[1:]
    assert (no.outcome, no.id) == ("refused", long_grip.id)
    assert "the grip has 61 letters; the most is 60" in no.message
    short = msgspec.structs.replace(long.profile, standing="test bends of May")
    assert keep_tool(store, "blue half", short, replace=True, by="Kim").id == long.id
    with pytest.raises(InputError, match="1,200 letters"):
        bring_back(store, "blue half", 1, by="Kim")


def grip_of(text: str) -> Tool:
    return Tool(name="long grip", profile=msgspec.structs.replace(HALF.profile, grip=text))


def test_all_that_a_tool_was_takes_no_more_than_one_record_may(
    store: JobStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(told_whole, "MOST_DATA", 400)
    (first,) = offered(store, of(HALF))
    anew = msgspec.structs.replace(HALF, profile=msgspec.structs.replace(HALF.profile, take_up="5 1/16 in"))
    (second,) = offered(store, of(anew, 1, first.digest))
    (third,) = offered(store, of(HALF, 2, second.digest))
    assert [one.outcome for one in (first, second, third)] == ["saved", "saved", "refused"]
    assert "tool blue half has 2 revisions already, of" in third.message
    assert third.hint == "keep it anew under another name, and put runs on that"
    with pytest.raises(LimitError, match=r"2 revisions already, of \d+ bytes together; the most is 400 bytes"):
        keep_tool(store, "blue half", msgspec.structs.replace(HALF.profile, take_up="5 1/8 in"), replace=True, by="Kim")
    with pytest.raises(LimitError, match="2 revisions already"):
        bring_back(store, "blue half", 1, by="Kim", anyone=True)
    green = [ToolAt(id=digest("green"), revision=n, name="green half", profile=HALF.profile) for n in range(1, 5)]
    file = Job(head=JobHead(name="x"), tools=tuple(green))
    with pytest.raises(LimitError, match=r"tool green half would have [0-9]+ bytes; the most is 400 bytes"):
        store.create_job("much", file, by="Kim")
    assert [(kept.value.name, kept.revision) for kept in store.tools()] == [("blue half", 2)]
    assert store.create_job("less", msgspec.structs.replace(file, tools=tuple(green[:1])), by="Kim") == ()
    assert [kept.value.name for kept in store.tools()] == ["blue half", "green half"]
    forget_tool(store, "blue half", by="Kim")
