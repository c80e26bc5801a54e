"""Two phones, a desk and a command on one shop file: any order of edits, removals, entries, tools, spells without
network, lost answers sent again, and savers that die in the middle. Nothing that was acknowledged is lost, all come to
say the same, and every conflict is shown to whoever made it."""

import json
import shutil
import tempfile
from contextlib import ExitStack, suppress
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any
from unittest.mock import patch

import msgspec
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule
from replica import Replica
from web_client import client

from racewright.errors import InputError
from racewright.records.entry import STATUSES, Entry, Noted, StatusSet
from racewright.records.ids import digest
from racewright.records.job_settings import SetMoney
from racewright.records.kinds import KINDS
from racewright.records.model import JobHead
from racewright.records.person import Person
from racewright.records.prices import PriceList, Prices
from racewright.records.tool import Tool, ToolPin
from racewright.store.device_file import DeviceFile
from racewright.store.job_errors import StaleSave
from racewright.store.job_file import load_job
from racewright.store.job_protocol import Answered, Changed, Changes, Offered, offer, since
from racewright.store.job_reader import Kept
from racewright.store.job_rows import RefusedRow, Rows
from racewright.store.job_store import JobStore, RunSave
from racewright.store.served_shop import ServedShop
from racewright.store.shop_lists import change_prices
from racewright.store.shop_tools import forget_tool, keep_tool
from racewright.tools.written import BenderRecord
from racewright.web import record_routes
from racewright.web.pairing import Pairing
from racewright.web.record_routes import Answers

DEMO = load_job(Path(__file__).parents[2] / "examples" / "orchard-job.json")
PLAIN = msgspec.structs.replace(DEMO.runs[0], area="")
DEVICES = st.sampled_from(["Kim's phone", "Sam's phone", "the desk"])
RUNS = st.sampled_from(["A-1", "A-2", "A-3"])
TOOLS = st.sampled_from(["blue half", "red half"])
TAKE_UPS = st.sampled_from(["5", "5 1/8", "5 1/4"])
NOTES = st.sampled_from(["low", "high", "left", "right"])
MANY = st.integers(0, 50)
JSON = {"content-type": "application/json"}


class Killed(Exception):
    """A saver that dies where it stands."""


def data(value: msgspec.Struct | None) -> Any:
    return None if value is None else json.loads(msgspec.json.encode(value))


def run_data(key: str, note: str, tool: ToolPin | None = None) -> Any:
    return data(msgspec.structs.replace(PLAIN, id=digest(key), key=key, note=note, tool=tool))


def figures(take_up: str) -> BenderRecord:
    return BenderRecord(raceway="EMT", size="1/2", take_up=f"{take_up} in", gain="2 5/8 in")


class Shop(RuleBasedStateMachine):
    """The shop file is open twice: for the devices and for the command."""

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "shop.rwshop"
        self.server = JobStore.open(self.path, create=True)
        self.server.create_job("orchard", JobHead(name="Orchard"))
        self.job = self.server.load("orchard").id
        self.shop = since(self.server, 0).shop
        self.command = JobStore.open(self.path)
        self.devices = {name: Replica(name) for name in ("Kim's phone", "Sam's phone", "the desk")}
        self.number = count(1)
        self.saved_by_command: list[tuple[str, int, Any]] = []
        self.unanswered: set[tuple[str, str]] = set()
        self.turn = 0

    def choose(self) -> bool:
        """Whether a person keeps theirs in a conflict: now this, now that."""
        self.turn += 1
        return self.turn % 2 == 0

    # what people write, with or without a network

    @rule(device=DEVICES, key=RUNS, note=NOTES)
    def edit(self, device: str, key: str, note: str) -> None:
        self.devices[device].write("run", digest(key), run_data(key, note))

    @rule(device=DEVICES, pick=MANY)
    def remove(self, device: str, pick: int) -> None:
        replica = self.devices[device]
        if runs := replica.records("run"):
            replica.write("run", runs[pick % len(runs)], None)

    @rule(device=DEVICES, note=NOTES)
    def edit_head(self, device: str, note: str) -> None:
        replica = self.devices[device]
        if replica.now(self.job) is not None:
            replica.write("job", self.job, {"name": "Orchard", "note": note})

    @rule(device=DEVICES, key=RUNS, status=st.sampled_from(STATUSES), copy=st.none() | st.integers(1, 3))
    def add_entry(self, device: str, key: str, status: Any, copy: int | None) -> None:
        """Also of a run that this device, or the shop, has not or no more."""
        entry_id = digest("entry", next(self.number))
        entry = Entry(id=entry_id, run=digest(key), copy=copy, what=StatusSet(status=status), by=device)
        self.devices[device].write("entry", entry_id, data(entry))

    @rule(device=DEVICES, pick=MANY)
    def take_back_an_entry(self, device: str, pick: int) -> None:
        replica = self.devices[device]
        if entries := replica.records("entry"):
            replica.write("entry", entries[pick % len(entries)], None)

    @rule(device=DEVICES, name=TOOLS, take_up=TAKE_UPS)
    def measure_a_tool(self, device: str, name: str, take_up: str) -> None:
        tool = Tool(id=digest(name), name=name, profile=figures(take_up))
        self.devices[device].write("tool", tool.id, data(tool))

    @rule(device=DEVICES, name=TOOLS)
    def take_a_tool_out(self, device: str, name: str) -> None:
        if self.devices[device].now(digest(name)) is not None:
            self.devices[device].write("tool", digest(name), None)

    @rule(device=DEVICES, mark=st.sampled_from(["1/16", "1/8", "3 mm"]))
    def say_how_well_somebody_works(self, device: str, mark: str) -> None:
        self.devices[device].write("person", digest("Sam"), data(Person(id=digest("Sam"), name="Sam", mark=mark)))

    @rule(device=DEVICES, rate=st.none() | st.sampled_from(["48", "52"]), own=st.booleans())
    def set_the_labor_rate(self, device: str, rate: str | None, own: bool) -> None:
        """The shop's, or the job's own; None: there is no such list any more."""
        told = PriceList.holding(Prices(labour_rate=rate), self.job if own else self.shop)
        if rate or self.devices[device].now(told.id) is not None:
            self.devices[device].write("prices", told.id, data(told) if rate else None)

    @rule(device=DEVICES, key=RUNS, note=NOTES, name=TOOLS)
    def put_a_run_on_a_tool(self, device: str, key: str, note: str, name: str) -> None:
        """As it stood when this device last heard of it."""
        heard = self.devices[device].heard.get(digest(name))
        if heard is not None and heard.data is not None:
            pin = ToolPin(id=digest(name), revision=heard.revision)
            self.devices[device].write("run", digest(key), run_data(key, note, pin))

    # what goes over the network

    @rule(device=DEVICES)
    def sync(self, device: str) -> None:
        self.push(self.devices[device])
        self.pull(self.devices[device])

    @rule(device=DEVICES)
    def pull_alone(self, device: str) -> None:
        self.pull(self.devices[device])

    @rule(device=DEVICES)
    def lose_the_answer(self, device: str) -> None:
        """What was sent is in the file; the device does not know, and sends it again some time."""
        sent = self.devices[device].offer()
        self.send(sent, device)
        self.unanswered |= {(one.id, json.dumps(one.data)) for one in sent}

    @rule(device=DEVICES, key=RUNS, note=NOTES)
    def write_on_while_it_is_sent(self, device: str, key: str, note: str) -> None:
        replica = self.devices[device]
        if sent := replica.offer():
            answers = self.send(sent, device)
            replica.write("run", digest(key), run_data(key, note))
            replica.answered(sent, answers, self.choose)

    @rule(device=DEVICES, step=st.sampled_from(["write_change", "write_refused", "standing"]))
    def die_while_taking_an_offer_in(self, device: str, step: str) -> None:
        """Where the saver dies, nothing of the offer is in the file, and the device got no answer."""
        sent = self.devices[device].offer()
        tools = [KINDS[one.kind].of_shop for one in sent]
        of_shop = any(tools) and (self.choose() or all(tools))
        sent = [one for one, tool in zip(sent, tools, strict=True) if tool == of_shop]  # one offer, of job or shop
        real = getattr(Rows, step)

        def then_dies(rows: Rows, *args: Any, **more: Any) -> None:
            real(rows, *args, **more)
            raise Killed

        before = since(self.command, 0), self.refused()
        with patch.object(Rows, step, then_dies):
            try:
                self.send(sent, device)
            except Killed:
                self.server.close()
                self.server = JobStore.open(self.path)
            else:  # it had nothing to do there, and only the answer is lost
                self.unanswered |= {(one.id, json.dumps(one.data)) for one in sent}
                return
        assert (since(self.command, 0), self.refused()) == before

    # the command, on the shop's own machine

    @rule(key=RUNS, note=NOTES, by=st.sampled_from(["Kim", "Sam"]))
    def command_saves(self, key: str, note: str, by: str) -> None:
        standing = self.command.history(digest(key))
        run = msgspec.structs.replace(PLAIN, id=digest(key), key=key, note=note)
        base = standing[0].number if standing else 0
        self.command.save_runs("orchard", [RunSave(run, base)], by=by)
        self.saved_by_command.append((run.id, base + 1, run_data(key, note)))

    @rule(key=RUNS)
    def command_saves_from_an_old_revision(self, key: str) -> None:
        if len(self.command.history(digest(key))) > 1:
            run = msgspec.structs.replace(PLAIN, id=digest(key), key=key, note="old")
            with pytest.raises(StaleSave):
                self.command.save_run("orchard", run, 1)

    @rule(key=RUNS, note=NOTES)
    def command_notes(self, key: str, note: str) -> None:
        entry = Entry(id=digest("entry", next(self.number)), run=digest(key), what=Noted(note=note))
        if self.command.history(entry.run):
            self.command.add_entries("orchard", [entry])
            self.saved_by_command.append((entry.id, 1, data(entry)))

    @rule(name=TOOLS, take_up=TAKE_UPS)
    def command_measures_a_tool(self, name: str, take_up: str) -> None:
        if kept := self.tool(name):
            tool = keep_tool(self.command, name, figures(take_up), replace=True, by="Kim")
            if tool != kept.value:
                self.saved_by_command.append((tool.id, kept.revision + 1, data(tool)))

    @rule(name=TOOLS)
    def command_removes_a_tool(self, name: str) -> None:
        if kept := self.tool(name):
            forget_tool(self.command, name, by="Sam", anyway=True)
            self.saved_by_command.append((kept.value.id, kept.revision + 1, None))

    @rule(rate=st.sampled_from(["48", "60"]))
    def command_sets_the_labor_rate(self, rate: str) -> None:
        before = self.command.prices("orchard")
        told = change_prices(self.command, "orchard", [SetMoney(labour_rate=rate)], by="Kim")
        if before != told:
            self.saved_by_command.append((told.id, self.command.history(told.id)[0].number, data(told)))

    def tool(self, name: str) -> Kept[Tool] | None:
        return next((kept for kept in self.command.tools() if kept.value.name == name), None)

    @rule(kind=st.sampled_from(["undo", "redo"]))
    def command_turns(self, kind: str) -> None:
        with suppress(InputError):  # there may be nothing to take back
            getattr(self.command, kind)("orchard", by="Kim")

    # what must hold

    def send(self, sent: list[Offered], device: str) -> tuple[Answered, ...]:
        """What is of the job and what is of the shop goes apart; the answers in the order of what was sent."""
        answers: dict[str, Answered] = {}
        for of, of_shop in ((self.job, False), (self.shop, True)):
            if part := [one for one in sent if KINDS[one.kind].of_shop == of_shop]:
                answers |= {answer.id: answer for answer in self.send_to(of, part, device)}
        return tuple(answers[one.id] for one in sent)

    def send_to(self, of: str, part: list[Offered], device: str) -> tuple[Answered, ...]:
        return offer(self.server, of, part, by=device)

    def refused(self) -> list[RefusedRow]:
        rows = self.command.rows
        shop = rows.shop()
        return [*rows.refused(rows.job("orchard")), *(rows.refused(shop) if shop else [])]

    def push(self, replica: Replica) -> None:
        if sent := replica.offer():
            replica.answered(sent, self.send(sent, replica.name), self.choose)

    def pull(self, replica: Replica) -> None:
        more = True
        while more:
            told = since(self.server, replica.number, mark=replica.mark, most=3)
            replica.hear(told)
            more = told.more

    def teardown(self) -> None:
        if not hasattr(self, "devices"):
            return
        for _ in range(20):  # everybody is back in the office, and settles what stands against another
            for replica in self.devices.values():
                self.push(replica)
                self.pull(replica)
            if not any(replica.pending for replica in self.devices.values()):
                break
        for replica in self.devices.values():
            self.pull(replica)
            assert replica.pending == {}
        self.all_say_the_same()
        self.all_know_what_each_tool_was()
        self.nothing_acknowledged_is_lost()
        self.every_conflict_was_shown_and_kept()
        self.command.check()
        self.command.close()
        self.server.close()
        shutil.rmtree(self.folder)

    def all_say_the_same(self) -> None:
        first, *others = (replica.heard for replica in self.devices.values())
        for other in others:
            assert other == first
        with JobStore.open(self.path) as store:
            job = store.load("orchard")
            entries = [kept.value for kept in store.entries("orchard")]
            tools = [kept.value for kept in store.tools()]
            people = [kept.value for kept in store.people()]
            lists = [store.price_list(self.job), store.price_list(self.shop)]
        kept: dict[str, msgspec.Struct] = {self.job: job.head, **{run.id: run for run in job.runs}}
        kept |= {entry.id: entry for entry in entries} | {tool.id: tool for tool in tools}
        kept |= {person.id: person for person in people} | {one.value.id: one.value for one in lists if one is not None}
        assert {record: data(value) for record, value in kept.items()} == {
            record: held.data for record, held in first.items() if held.data is not None
        }

    def all_know_what_each_tool_was(self) -> None:
        """So that a run has the same marks everywhere, on whatever revision it is."""
        for record in (digest("blue half"), digest("red half")):
            for revision in self.command.history(record):
                for replica in self.devices.values():
                    assert replica.at(record, revision.number) == data(revision.value)
        for run in self.command.load("orchard").runs:
            if run.tool is not None:
                assert self.devices["the desk"].at(run.tool.id, run.tool.revision) is not None

    def nothing_acknowledged_is_lost(self) -> None:
        told = [one for replica in self.devices.values() for one in replica.acknowledged]
        for record, revision, said in (*told, *self.saved_by_command):
            (there,) = (r for r in self.command.history(record) if r.number == revision)
            assert data(there.value) == said

    def every_conflict_was_shown_and_kept(self) -> None:
        said = [(row.record, None if row.body is None else json.loads(row.body)) for row in self.refused()]
        for replica in self.devices.values():
            assert replica.refused == []  # nothing here is more than stale
            for record, mine, theirs in replica.shown:
                assert (record, mine) in said
                assert mine != theirs
        shown = {(record, json.dumps(mine)) for r in self.devices.values() for record, mine, _ in r.shown}
        by_command = {
            (record, json.dumps(mine)) for record, mine in said if mine is not None and mine.get("note") == "old"
        }
        # what was written over by its own writer before an answer came was shown as it was written then
        assert {(record, json.dumps(mine)) for record, mine in said} <= shown | by_command | self.unanswered


def as_kept(told: Changed) -> Changed:
    """With its data as JSON, as a device hears it that asks the store itself."""
    past = tuple(msgspec.structs.replace(was, data=msgspec.json.encode(was.data)) for was in told.past)
    now = None if told.data is None else msgspec.json.encode(told.data)
    return msgspec.structs.replace(told, data=now, past=past)


class HttpShop(Shop):
    """The same by the server's routes: each device is paired with it, and stays so when it is started anew."""

    @initialize()
    def begin(self) -> None:
        super().begin()
        self.cookies: dict[str, dict[str, str]] = {}
        self.start()

    def start(self) -> None:
        """A server on the shop file, and every device paired with it, once."""
        self.open = ExitStack()
        shop, pairing = ServedShop(self.path), Pairing(DeviceFile(self.path))
        self.open.enter_context(patch.object(record_routes, "since", partial(since, most=3)))
        self.pages = {}
        for name in self.devices:
            page = self.open.enter_context(client(self.folder, shop=shop, pairing=pairing, pace=False))
            self.pages[name] = page
            if name not in self.cookies:
                assert page.post("/pair", json={"code": pairing.code, "name": name}).status_code == 200
                self.cookies[name] = dict(page.cookies)
                pairing.devices.let_read(name, tuple(KINDS))
            page.cookies.update(self.cookies[name])

    @rule(backup=st.booleans())
    def start_anew(self, backup: bool) -> None:
        self.open.close()
        if backup:
            self.command.backup()
        self.start()

    def send_to(self, of: str, part: list[Offered], device: str) -> tuple[Answered, ...]:
        reply = self.pages[device].post(
            "/records", content=msgspec.json.encode({"job": of, "records": part}), headers=JSON
        )
        if reply.status_code == 500:
            raise Killed
        assert reply.status_code == 200, reply.text
        answers = msgspec.json.decode(reply.content, type=Answers).answers
        return tuple(msgspec.structs.replace(one, stands=one.stands and as_kept(one.stands)) for one in answers)

    def pull(self, replica: Replica) -> None:
        more = True
        while more:
            asked = {"after": replica.number, "mark": replica.mark}
            told = msgspec.json.decode(self.pages[replica.name].get("/records", params=asked).content, type=Changes)
            replica.hear(msgspec.structs.replace(told, records=tuple(as_kept(one) for one in told.records)))
            more = told.more

    def teardown(self) -> None:
        if hasattr(self, "devices"):
            assert {change.by for change in self.command.changes("orchard")} <= {*self.devices, "Kim", "Sam", ""}
        super().teardown()
        if hasattr(self, "open"):
            self.open.close()


TestShop = Shop.TestCase
TestShop.settings = settings(
    max_examples=80, stateful_step_count=40, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
TestHttpShop = HttpShop.TestCase
TestHttpShop.settings = settings(
    max_examples=30, stateful_step_count=30, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
