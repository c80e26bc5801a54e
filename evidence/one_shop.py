"""A trial: phones (the page's own records, as programs), the command and a server on one shop file, in any order that a
number gives: edits, removals, entries, tools, undo, spells without network, questions and answers that get lost, pages,
servers and commands that are killed at any step of a save, the file brought back from a backup.

Nothing that a person wrote may be lost: it stands in the file's history, or is kept there as refused, or who wrote over
it, removed it or chose against it had seen it. What was acknowledged stays as it was, and the number of a revision
means one text, whatever file is brought back. In the end all say the same. The file is read here by SQL alone."""

from __future__ import annotations

import json
import os
import shutil
import socket
import sqlite3
import time
from collections import Counter, defaultdict
from contextlib import closing
from multiprocessing.process import BaseProcess
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import msgspec

from phone import Phone
from racewright.records.entry import Made, StatusSet, by_copy
from racewright.records.kinds import KINDS
from racewright.store.device_file import DeviceFile
from racewright.store.job_store import JobStore
from racewright.store.job_values import body_of
from racewright.web.pairing import COOKIES
from shop_server import command, dying_command, server

NAMES = ("Kim's phone", "Sam's phone", "the desk")
PEOPLE = ("Kim", "Sam")
TOOLS = ("blue half", "red half")
STEPS_DONE = ("length", "ream", "strap")
STATUSES = ("measured", "planned", "bent", "in", "wired")
#: A server that is asked for answers after so long at the latest.
_UP_S = 20.0
SURVEY = """\
racewright: 1
units: in
run:
  name: {words}
  raceway: EMT 1/2
  bender: {tool}
  clearance: 1/4
  start: {{fitting: set-screw}}
  end: {{fitting: set-screw}}
  walk:
    - leg: {leg}
      features: [{{saddle: {{centre: 26 1/8, over: round, height: 2 7/8}}}}]
"""


class Row(NamedTuple):
    """A revision in the file."""

    kind: str
    base: int
    body: Any
    digest: str
    by: str


def figures_of(run: dict[str, Any], records: dict[str, dict[str, Any]]) -> Any:
    """The figures that a phone has of the tool that a run is on, as that was at the run's revision of it; None where it
    has none."""
    pin = run["tool"]
    if (tool := records.get(pin["id"])) is None:
        return None
    known = {**tool.get("past", {}), str(tool["agreed"]["revision"]): tool["agreed"]["data"], "0": tool["data"]}
    return (known.get(str(pin["revision"])) or {}).get("profile")


def _of_two_bends(value: dict[str, Any]) -> bool:
    """Whether it is an entry that says of two bends at once that they are made."""
    return len(value.get("what", {}).get("bends", ())) == 2


class Lost(AssertionError):
    """What must not be."""


def text(kind: str, value: Any) -> str:
    """What a record says, however it is written: as the file keeps it."""
    return body_of(msgspec.convert(value, KINDS[kind].holds))


def words_of(kind: str, value: Any) -> str:
    """The same, but for the revision of a run's tool, which a phone learns only when the shop has it."""
    pin = value.get("tool") if kind == "run" else None
    return text(kind, {**value, "tool": {**pin, "revision": 1}} if pin else value)


class Trial:
    """One history. `done` counts what happened in it."""

    def __init__(self, seed: int, folder: Path, program: Path, *, phones: int = 2, brought_back: bool = False) -> None:
        self.seed, self.folder, self.dice, self.brought_back = seed, folder, Random(seed), brought_back
        self.shop, self.done = folder / "jobs.rwshop", Counter[str]()
        self.rows: dict[tuple[str, int], Row] = {}
        self.meant: dict[tuple[str, int], str] = {}  # what a revision ever said, in files that were put away too
        self.wrote: set[tuple[str, str]] = set()  # by a person on a phone
        self.over: defaultdict[tuple[str, str], set[str]] = defaultdict(set)  # what was written over, knowing it
        self.dropped: set[tuple[str, str]] = set()
        self.words = 0
        self.copies: list[Path] = []
        self.server: BaseProcess | None = None
        self.phones: list[Phone] = []
        with closing(socket.socket()) as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = int(probe.getsockname()[1])
        if self.dice.random() < 0.5:
            self.command("new", "orchard", "--name", "Orchard", "--area", "Pump house")
        for name in NAMES[:phones]:
            device, token = DeviceFile(self.shop).let_in(name)
            DeviceFile(self.shop).let_read(device.name, tuple(KINDS))
            cookie, disk = f"{COOKIES[False]}={token}", folder / f"{len(self.phones)}.disk"
            self.phones.append(Phone(program, device.name, disk, f"http://127.0.0.1:{self.port}/", cookie))

    # the file, by SQL

    def sql(self, asked: str, *given: str) -> list[tuple[Any, ...]]:
        """Rows of the file; none where it is not there yet."""
        if not self.shop.exists():
            return []
        with closing(sqlite3.connect(self.shop, timeout=10)) as db:
            return db.execute(asked, given).fetchall()

    def look(self) -> None:
        """What is new in the file; what was there is there still."""
        rows: dict[tuple[str, int], Row] = {}
        asked = (
            "SELECT r.kind, r.record, r.number, r.base, r.body, r.digest, c.by"
            " FROM revision r JOIN change c ON c.id = r.change"
        )
        for kind, record, number, base, body, digest, by in self.sql(f"{asked} ORDER BY r.id"):
            rows[record, number] = Row(kind, base, None if body is None else json.loads(body), digest, by)
            if self.meant.setdefault((record, number), digest) != digest:
                raise Lost(f"revision {number} of {kind} {record} was another text before the file was brought back")
        for key, row in self.rows.items():
            if rows.get(key) != row:
                raise Lost(f"revision {key[1]} of {row.kind} {key[0]} is not in the file any more")
        for (record, number), row in rows.items():
            if (record, number) in self.rows or row.base == 0:
                continue
            before = rows[record, row.base].body
            if before and row.body and _of_two_bends(before) and not _of_two_bends(row.body):
                self.done[f"parts of an entry taken back by {'a command' if row.by in PEOPLE else 'a phone'}"] += 1
            if row.by not in PEOPLE:
                continue
            if before is not None:
                self._over((record, words_of(row.kind, before)), row.body and words_of(row.kind, row.body))
        self.rows = rows

    def standing(self) -> dict[str, Row]:
        """The newest revision of each record that is not removed."""
        newest: dict[str, Row] = {}
        for (record, _), row in sorted(self.rows.items(), key=lambda item: item[0][1]):
            newest[record] = row
        return {record: row for record, row in newest.items() if row.body is not None}

    def _over(self, was: tuple[str, str], now: str | None) -> None:
        if now is None:
            self.dropped.add(was)
        else:
            self.over[was[0], now].add(was[1])

    # a phone

    def deed(self, phone: Phone, deed: str, **more: Any) -> None:
        """Its person does something: what is written then was written knowing what stood there."""
        before = phone.says()
        chosen = {rec["id"]: rec for rec in phone.clashes}
        phone.do(deed, **more)
        now = phone.says()
        for record in before.keys() | now.keys():
            was, says = before.get(record), now.get(record)
            if was == says:
                continue
            if was is not None:
                self._over((record, words_of(*was)), words_of(*says) if says else None)
            if says is not None and deed != "choose":
                self.wrote.add((record, words_of(*says)))
        if deed == "choose":
            left = {rec["id"] for rec in phone.clashes}
            for record, rec in chosen.items():
                if record not in left:  # both were shown
                    both = (rec["data"], rec["there"]["data"])
                    self.dropped |= {(record, words_of(rec["kind"], one)) for one in both if one is not None}
            for record in now.keys() - before.keys() - chosen.keys():  # the second one, as a run or a tool of its own
                self.wrote.add((record, words_of(*now[record])))

    def act(self, phone: Phone) -> None:
        """Something that a person does on a phone."""
        runs = [run["id"] for run in phone.runs]
        self.words += 1
        words, pick = f"words {self.words}", self.dice.randrange(60)
        if not runs or self.dice.random() < 0.15:
            self.deed(phone, "add", words=words, pick=pick)
            return
        kinds = ("edit", "remove", "status", "note", "tick", "wrong", "right", "shoe", "newer", "place", "turn", "job")
        deed = self.dice.choices(kinds, (30, 6, 12, 10, 16, 8, 6, 8, 6, 6, 4, 1))[0]
        ticked = [rec["data"]["run"] for rec in phone.records.values() if rec["data"] and _of_two_bends(rec["data"])]
        of = [run for run in ticked if run in runs] if deed == "wrong" else []
        self.deed(phone, deed, words=words, pick=pick, run=self.dice.choice(of or runs))

    def share(self, phone: Phone, *, meanwhile: bool = False) -> None:
        """A round with the server, in which a question or an answer may get lost, the person may go on, the page may be
        closed, and a command may write."""
        more: dict[str, Any] = {}
        trouble = self.dice.random()
        if trouble < 0.35:
            more = {"at": self.dice.randrange(1, 8), "lost": self.dice.choice(("question", "answer"))}
        before, records = phone.says(), phone.records
        phone.tell("share", **more)
        if meanwhile:
            self.write_by_command()
        if 0.35 < trouble < 0.5:
            time.sleep(self.dice.random() * 0.05)
            phone.close()
            self.done["pages closed in the middle"] += 1
            phone.start()
        else:
            phone.answer()
        self._same_figures(records, phone.records)
        lost = {record for record, says in before.items() if phone.says().get(record) != says}
        settled = [rec for rec in phone.records.values() if not (rec.get("clash") or rec.get("doubt"))]
        # of any other the file was brought back, and may not have the revision any more
        agreed = {rec["id"]: rec["agreed"] for rec in settled if rec["agreed"]["revision"]}
        self.look()
        for record in lost & agreed.keys():
            if (record, agreed[record]["revision"]) not in self.rows:
                raise Lost(f"{phone.name} took over a revision of {record} that the file does not have")
        self.done[f"shared: {phone.shop.split(':')[0] or 'closed'}"] += 1
        if phone.shop != "done":
            return
        for record, one in agreed.items():
            row = self.rows.get((record, one["revision"]))
            if row is None or row.digest != one["digest"]:
                raise Lost(f"{phone.name} was told that revision {one['revision']} of {record} stands, and it does not")

    def _same_figures(self, before: dict[str, dict[str, Any]], now: dict[str, dict[str, Any]]) -> None:
        """A run whose tool the file lost goes on the same figures as a tool of another id: that says the same."""
        for record in before.keys() & now.keys():
            was, says = before[record]["data"], now[record]["data"]
            if not (was and says and was.get("tool") and says.get("tool")) or was["tool"]["id"] == says["tool"]["id"]:
                continue
            figures = figures_of(was, before)
            if figures and figures == figures_of(says, now) and {**was, "tool": 0} == {**says, "tool": 0}:
                self._over((record, words_of("run", was)), words_of("run", says))
                self.done["runs on their tool's figures by another id"] += 1

    # the command

    def command(self, *line: str, die: bool = False) -> int | None:
        """`racewright job LINE`, or of another command where the line begins with one; its exit code."""
        whole = list(line) if line[0] == "bender" else ["job", *line]
        if not {"list", "check", "backup", "recover"} & set(whole[:2]):
            whole += ["--by", self.dice.choice(PEOPLE)]
        whole += ["--shop", str(self.shop)]
        code = dying_command(whole, self.dice.randrange(1, 9)) if die else command(whole)
        self.done["commands killed" if code is None else "commands refused" if code else "commands"] += 1
        return code

    def write_by_command(self) -> None:
        """Something that a person does at the shop's own computer."""
        runs = [record for record, row in self.standing().items() if row.kind == "run"]
        jobs = [key for (key,) in self.sql("SELECT key FROM job WHERE key <> '' ORDER BY id")]
        if not jobs:
            self.command("new", "orchard", "--name", "Orchard")
            return
        self.words += 1
        words, run, tool = f"words {self.words}", self.dice.choice(runs) if runs else "", self.dice.choice(TOOLS)
        job = ("--job", self._job_of(run) or self.dice.choice(jobs))
        survey = self.folder / "survey.yaml"
        named = tool if self.words % 3 == 0 else "''"
        survey.write_text(SURVEY.format(words=words, tool=named, leg=40 + self.words % 20))
        take_up = f"{4 + self.dice.randrange(9) / 8} in"
        figures = ("--raceway", "EMT", "--size", "1/2", "--take-up", take_up, "--gain", "2 5/8 in")
        lines: list[tuple[str, ...]] = [
            ("add", str(survey), "--key", f"C-{self.words}", "--area", "Shed", *job),
            ("bender", "add", tool, *figures, "--replace"),
            ("bender", "remove", tool, "--anyway"),
            ("bender", "undo", tool, "--anyone"),
            (
                "prices",
                f"box {self.words % 3}",
                "--price",
                str(self.words),
                "--of",
                self.dice.choice(("job", "shop")),
                *job,
            ),
            ("people", self.dice.choice(PEOPLE), "--mark", f"{1 + self.words % 4}/16"),
            ("undo", "--anyone", *job),
            ("redo", "--anyone", *job),
        ]
        if run:
            lines += [
                ("add", str(survey), "--key", run, "--replace", *job),
                ("add", str(survey), "--key", run, "--replace", "--times", str(self.dice.randrange(1, 4)), *job),
                ("rename", run, f"D-{self.words}", *job),
                ("times", str(self.dice.randrange(1, 4)), run, *job),
                ("set", self.dice.choice(STATUSES), run, *job),
                ("record", run, "--note", words, *job),
                *[("record", run, "--made", "1", "--made", "2", "--note", words, *job)] * 4,
                ("undo", run, "--made", str(1 + self.words % 2), "--anyone", *job),
                ("record", run, "--done", self.dice.choice(STEPS_DONE), *job),
                ("undo", run, "--done", self.dice.choice(STEPS_DONE), "--anyone", *job),
                ("remove", run, *job),
                ("tool", run, "--on", tool, *job),
                ("undo", run, "--anyone", *job),
            ]
        line = self.dice.choice(lines)
        code = self.command(*line, die=self.dice.random() < 0.2)
        self.look()
        if code == 0 and (line[0] == "add" or "--note" in line) and words not in str(list(self.rows.values())[-8:]):
            raise Lost(f"{line} was answered as done, and is not in the file")

    def _job_of(self, run: str) -> str:
        asked = "SELECT j.key FROM revision r JOIN job j ON j.id = r.job WHERE r.record = ?"
        return str(next(iter(self.sql(asked, run)), ("",))[0])

    # the server

    def serve(self, *, dies: bool = True) -> None:
        """The server is started, and waited for; it may die at some step of a save."""
        self.stop()
        die_at = self.dice.randrange(1, 60) if dies and self.dice.random() < 0.7 else 0
        self.server = server(self.shop, self.port, die_at)
        until = time.monotonic() + _UP_S
        while time.monotonic() < until:
            with closing(socket.socket()) as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.01)
        raise Lost("the server did not start")

    def stop(self) -> None:
        """The server is killed where it stands."""
        if self.server is not None:
            self.done["servers that died in a save" if not self.server.is_alive() else "servers killed"] += 1
            self.server.kill()
            self.server.join()
            self.server = None

    def bring_back(self) -> None:
        """The file as it was once: by `job recover` where it is damaged, or by hand."""
        self.stop()
        self.command("list")  # takes back what was interrupted, as its journal says
        self.look()
        backups = [one for one in (*self.copies, *self.folder.glob("jobs.rwshop.backup-*")) if one.exists()]
        if not backups:
            return
        if self.dice.random() < 0.3 and (newest := self.folder / "jobs.rwshop.backup-1").exists():
            with self.shop.open("r+b") as file:
                file.seek(self.dice.randrange(200, os.path.getsize(self.shop)))
                file.write(bytes(64))
            damaged = self.command("check") != 0
            if damaged and self.command("recover") != 0:
                raise Lost(f"the file is damaged, and {newest.name} was not brought back")
            self.done["recovered"] += damaged
        else:
            shutil.copy(self.dice.choice(sorted(backups)), self.folder / "put back")
            os.replace(self.folder / "put back", self.shop)
            self.done["put back"] += 1
        self.rows = {}
        self.look()

    # a history

    def run(self, steps: int) -> None:
        """So many things happen, then everybody comes back to the office and settles what stands against another."""
        try:
            self.serve()
            for _ in range(steps):
                self.step()
            self.to_the_end()
            self.check()
        finally:
            self.stop()
            for phone in self.phones:
                phone.close()

    def step(self) -> None:
        """One thing that happens."""
        phone = self.dice.choice(self.phones)
        what = self.dice.random()
        if what < 0.45:
            self.act(phone)
        elif what < 0.75:
            self.share(phone, meanwhile=self.dice.random() < 0.25)
        elif what < 0.89:
            self.write_by_command()
        elif what < 0.93:
            self.deed(phone, "choose", pick=self.dice.randrange(60))
        elif what < 0.95:
            copy = self.folder / f"copy {len(self.copies)}"
            if self.command("backup", str(copy)) == 0:
                self.copies.append(copy)
        elif what < 0.99 and self.brought_back:
            self.bring_back()
            if self.dice.random() < 0.5:
                self.write_by_command()  # before any phone tells what it had heard of
            self.serve()
        else:
            self.serve()

    def to_the_end(self) -> None:
        """Until nothing waits, and a round has brought nothing new: what rested with its run goes in after that."""
        self.serve(dies=False)
        for _ in range(20):
            last = self.sql("SELECT max(id) FROM change")
            for phone in self.phones:
                self.deed(phone, "place", pick=0)
                self._share(phone)
                while phone.clashes:
                    self.deed(phone, "choose", pick=self.dice.randrange(60))
                    self.done["choices"] += 1
                self._share(phone)
            if last == self.sql("SELECT max(id) FROM change") and not any(phone.waiting for phone in self.phones):
                break
        for phone in self.phones:
            self._share(phone)
            if phone.shop != "done":
                raise Lost(f"{phone.name}: {phone.shop}")
        self.look()

    def _share(self, phone: Phone) -> None:
        records = phone.records
        phone.do("share")
        self._same_figures(records, phone.records)

    def check(self) -> None:
        """All say the same, and nothing is lost."""
        there = {record: text(row.kind, row.body) for record, row in self.standing().items()}
        for phone in self.phones:
            resting = {one for one, rec in phone.records.items() if rec["rests"]}  # of runs that were taken out again
            self.dropped |= {(one, words_of(*phone.says()[one])) for one in resting}
            says = {record: text(*says) for record, says in phone.says().items() if record not in resting}
            if says != there:
                apart = [one for one in says.keys() | there.keys() if says.get(one) != there.get(one)]
                told = "\n".join(f"{one}: {says.get(one)}\n  there {there.get(one)}" for one in apart[:3])
                raise Lost(f"{phone.name} and the file say other things of {len(apart)} records:\n{told}")
        if self.command("check") != 0:
            raise Lost("the file is not whole")
        self._nothing_is_lost()
        self._no_tick_is_out_of_sight()

    def _no_tick_is_out_of_sight(self) -> None:
        """What was ticked off counts, where nobody set the run back: what no lists tell is made again."""
        with JobStore.open(self.shop) as store:
            jobs = [store.load(key) for key in store.jobs()]
        for run, of in ((run, job.entries_of(run)) for job in jobs for run in job.runs):
            ticks = {one.id for one in of if isinstance(one.what, Made) and (one.copy or 1) <= run.times}
            statuses = [(one.what.status, one.pins.marks) for one in of if isinstance(one.what, StatusSet)]
            back = any(status == "measured" or not marks for status, marks in statuses)
            if not back and (unseen := ticks - {one.id for _, seen in by_copy(of, run.times) for one in seen}):
                raise Lost(f"{len(unseen)} ticks of {run.key} are out of sight, and nobody set it back")
            self.done["runs with ticks in sight, late ones too"] += not back and len(ticks) > 1

    def _nothing_is_lost(self) -> None:
        history = {(one, words_of(row.kind, row.body)) for (one, _), row in self.rows.items() if row.body is not None}
        reached = history | self.dropped
        for kind, record, body in self.sql("SELECT kind, record, body FROM refused WHERE body IS NOT NULL"):
            reached.add((record, words_of(kind, json.loads(body))))
            self.done["refused versions kept"] += 1
        known: set[tuple[str, str]] = set()
        while reached:
            one = reached.pop()
            if one not in known:
                known.add(one)
                reached |= {(one[0], was) for was in self.over[one]}
        if lost := self.wrote - known:
            raise Lost(f"{len(lost)} versions were lost: {sorted(lost)[:3]}")
        self.done["versions written on phones"] += len(self.wrote)
        self.done["revisions in the file"] += len(self.rows)
