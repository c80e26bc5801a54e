"""A phone or a desk that keeps a job for itself and syncs it with a shop file: plain data, its own code, no store.

It holds what it last heard of each record (`heard`), what was written on it since (`pending`), and every conflict that
it showed to its person (`shown`). It never forgets a pending record before an answer says what became of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, NamedTuple

from racewright.store.job_protocol import Answered, Changed, Changes, Offered

Data = dict[str, Any] | None


class Heard(NamedTuple):
    """A record as it stood in the shop file when it was last heard of; `past`: what it said at revisions before."""

    kind: str
    revision: int
    digest: str
    data: Data
    past: tuple[tuple[int, Data], ...] = ()


class Written(NamedTuple):
    """A record as it was written here, from revision `base`."""

    kind: str
    base: int
    base_digest: str
    data: Data


class Replica:
    """One device and its person."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.number, self.mark = 0, ""
        self.heard: dict[str, Heard] = {}
        self.pending: dict[str, Written] = {}
        self.sent: set[str] = set()  # what once went out, whether or not it came to anything
        self.shown: list[tuple[str, Data, Data]] = []  # record, mine, theirs
        self.acknowledged: list[tuple[str, int, Data]] = []  # record, revision, what it says
        self.refused: list[str] = []

    def now(self, record: str) -> Data:
        """What its person sees of a record."""
        if record in self.pending:
            return self.pending[record].data
        return self.heard[record].data if record in self.heard else None

    def at(self, record: str, revision: int) -> Data:
        """What a tool of the shop was at a revision; None where that is not here."""
        if record not in self.heard:
            return None
        heard = self.heard[record]
        return heard.data if heard.revision == revision else dict(heard.past).get(revision)

    def records(self, kind: str) -> list[str]:
        """The records of a kind that its person sees."""
        kinds = {record: held.kind for record, held in self.heard.items()}
        kinds |= {record: written.kind for record, written in self.pending.items()}
        return sorted(record for record, one in kinds.items() if one == kind and self.now(record) is not None)

    def write(self, kind: str, record: str, data: Data) -> None:
        """Its person writes: from what is pending here already, else from what was heard."""
        held = self.pending.get(record)
        heard = self.heard.get(record)
        base, digest = (held.base, held.base_digest) if held else (heard.revision, heard.digest) if heard else (0, "")
        if data is None and base == 0 and record not in self.sent:
            self.pending.pop(record, None)  # never left this device
            return
        self.pending[record] = Written(kind, base, digest, data)

    def offer(self) -> list[Offered]:
        """All that is pending, as it goes out."""
        self.sent.update(self.pending)
        return [
            Offered(kind=w.kind, id=record, base=w.base, base_digest=w.base_digest, data=w.data)
            for record, w in self.pending.items()
        ]

    def answered(self, sent: list[Offered], answers: tuple[Answered, ...], choose: Callable[[], bool]) -> None:
        """What became of what was sent. A conflict is shown, and its person keeps theirs or takes the other's."""
        for one, answer in zip(sent, answers, strict=True):
            held = self.pending.get(one.id)
            assert answer.id == one.id
            if answer.outcome == "saved" and answer.revision == 0:
                del self.pending[one.id]  # taken out before it ever came to the shop
            elif answer.outcome == "saved":
                self.acknowledged.append((one.id, answer.revision, one.data))
                self._saved(one, answer)
                if held is not None and held.data == one.data:
                    del self.pending[one.id]
                elif held is not None:  # written on since it was sent
                    self.pending[one.id] = held._replace(base=answer.revision, base_digest=answer.digest)
                if answer.stands is not None:
                    self._hear(one.id, one.kind, answer.stands)
            elif answer.outcome == "stale":
                assert answer.stands is not None
                assert answer.yours == one.data
                self._hear(one.id, one.kind, answer.stands)
                self.shown.append((one.id, one.data, self.heard[one.id].data))
                assert held is not None
                if choose():
                    self.pending[one.id] = held._replace(base=answer.stands.revision, base_digest=answer.stands.digest)
                else:
                    del self.pending[one.id]
            else:
                self.refused.append(answer.message)
                self.shown.append((one.id, one.data, None))
                del self.pending[one.id]

    def _saved(self, one: Offered, answer: Answered) -> None:
        before = self.heard.get(one.id)
        past = before.past if before is not None else ()
        if before is not None and one.kind == "tool" and before.revision != answer.revision and before.data is not None:
            past = (*past, (before.revision, before.data))
        self.heard[one.id] = Heard(one.kind, answer.revision, answer.digest, one.data, past)

    def hear(self, told: Changes) -> None:
        """What changed in the shop file; what is pending here stays."""
        assert not told.anew
        for record in told.records:
            self._hear(record.id, record.kind, record)
        self.number, self.mark = told.last, told.mark

    def _hear(self, record: str, kind: str, told: Changed) -> None:
        if record not in self.heard or self.heard[record].revision <= told.revision:
            data = None if told.data is None else json.loads(bytes(told.data))
            past = tuple((was.revision, json.loads(bytes(was.data))) for was in told.past)
            self.heard[record] = Heard(kind, told.revision, told.digest, data, past)
