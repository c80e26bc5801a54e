"""How a phone or a desk and the shop file come to say the same: it asks what has changed since a number, and offers
what was written there, each record with the revision that it was made from.

An offered record becomes the next revision, or is refused with both versions in the answer and kept as refused. What is
offered again because an answer was lost is answered as saved, once. The order is that of the shop file's changes, never
of anybody's clock."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Annotated, Any, Literal

import msgspec

from racewright.errors import InputError, LimitError, RacewrightError
from racewright.field_words import explained as in_words
from racewright.records.entry import Entry
from racewright.records.fields import RevisionNumber
from racewright.records.ids import Id
from racewright.records.kinds import KINDS, Kind, Value, called
from racewright.records.model import JobHead
from racewright.records.parse import check_head
from racewright.records.parts_said import is_same, says_no_more
from racewright.store.brought_words import brought_words
from racewright.store.device_room import Amount, DeviceUse, NoRoomToday
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_rows import JobRow, Row, Rows, Write
from racewright.store.job_schema import waiting_at_most
from racewright.store.job_store import JobStore
from racewright.store.job_sums import data_digest
from racewright.store.job_values import body_of, value_of
from racewright.store.told_to import digest_of, is_without_prices, told_body, with_prices
from racewright.store.told_whole import MOST_DATA, check_whole

#: The format of the records that this Racewright writes and reads; of a field or a word more the next, as a page of
#: before leaves out what it does not know.
RECORDS_FORMAT = 5
#: So many records may be offered at once.
MOST_OFFERED = 2_000
#: So many records, and so many bytes of them, are told at once, unless one change alone holds more.
MOST_TOLD = 4_000
MOST_TOLD_BYTES = 8_000_000
#: So long a question waits to note a number that it heard of: it is asked again soon.
_NOTED_WITHIN_S = 0.25
#: In the mark of devices that were told of each record when it `came`; the others are told of all once more.
_TOLD_CAME = "came"
#: How every mark begins that a shop gives.
_GIVEN = re.compile(r"[0-9a-f]{32} [0-9a-f]{32} ")
#: What the converter says of a field, or of a kind of thing (an entry's, a reading's), that is not known here.
_NEWER = re.compile(r"Object contains unknown field|Invalid value .* - at `[^`]*\.(?:kind|type)`$", re.DOTALL)
_UP_TO_DATE = "bring Racewright up to date; what you wrote stays where you wrote it"


class Was(msgspec.Struct, frozen=True, kw_only=True):
    """What a record said at an earlier revision (`data` as in `Changed`), by whom and when."""

    revision: int
    by: str
    at: str
    data: Any


class Changed(msgspec.Struct, frozen=True, kw_only=True):
    """A record as it stands: its newest revision, made from `base` in change number `change`. `job`: the id of its job,
    or of the shop. `came`: the place of its first revision among all, which is the order of the shop file's records
    whatever was written on them since. `data` (the JSON as it is kept, msgspec.Raw) None: removed. `digest` stands for
    kind and data. `past`: of a tool all that it was before, oldest first, as runs stay on the revision that they were
    put on; of a run that was removed what it said last, so that it can be brought back."""

    kind: str
    id: Id
    job: Id
    revision: int
    base: int
    change: int
    came: int
    by: str
    at: str
    digest: str
    data: Any
    past: tuple[Was, ...] = ()


class Changes(msgspec.Struct, frozen=True, kw_only=True):
    """What changed, oldest change first. `last`: the number to ask from next, and `mark` to give with it. `more`: ask
    again at once. `anew`: the file is not the one that the number came from (it was brought back from a backup), so
    these are all records from the beginning. `shop`: the id of the shop, which what is of all of it (its tools) has as
    its job; '' before anything was saved. `withheld`: kinds that the asking device is not told, nor may write."""

    records: tuple[Changed, ...]
    last: int
    mark: str
    more: bool = False
    anew: bool = False
    shop: str = ""
    withheld: tuple[str, ...] = ()


class Offered(msgspec.Struct, frozen=True, kw_only=True):
    """A record as it was written elsewhere, from revision `base` (0: new) whose digest was `base_digest`: a file that
    was brought back from a backup may hold another revision of that number. `data` None: removed."""

    kind: str
    id: Id
    base: RevisionNumber = 0
    base_digest: Annotated[str, msgspec.Meta(max_length=64)] = ""
    data: Any = None
    format: int = RECORDS_FORMAT


Outcome = Literal["saved", "stale", "refused", "newer", "later"]


class Answered(msgspec.Struct, frozen=True, kw_only=True):
    """What became of an offered record. 'saved' as `revision` with that `digest` (0: it was taken out before it ever
    came here); 'stale': another revision stands, and what was offered is kept as refused (where the device has no room
    for it, it is 'later' or 'refused'); 'refused': it cannot be taken, and `message` says why; 'later': not now, as the
    device wrote so much today, but when it is offered again some hours later; 'newer': this Racewright does not know
    its kind or its form. `stands`:
    what is in the file now, where that is not what was offered; `yours`: what was."""

    kind: str
    id: Id
    outcome: Outcome
    revision: int = 0
    digest: str = ""
    stands: Changed | None = None
    yours: Any = None
    message: str = ""
    hint: str = ""


def since(
    store: JobStore,
    number: int,
    kinds: Sequence[str] = tuple(KINDS),
    *,
    mark: str = "",
    most: int = MOST_TOLD,
    went_back: Callable[[int], None] = lambda last: None,
) -> Changes:
    """The newest revision of each record of these kinds that was changed after change `number`, removals too. `mark`:
    as told with that number; where the file no longer has that change, all records are told anew, and no number that
    this shop told of is given again. Where it was told without one of these kinds, or without when they came, all are
    told once more. `went_back` hears the number of the file's last change where somebody heard of a later one that this
    file cannot know as its own: numbers after it may be given again. Raises LockedFile where such a number cannot be
    noted at once."""
    rows = store.rows
    stood, _, rest = mark.partition(" ")
    seal, _, told_before = rest.partition(" ")
    with rows.reading():
        differs = bool(mark) and rows.mark(number) != stood
        is_own = differs and rows.is_own(seal, number, stood)
        unheard = is_own and number > rows.numbers.past()
    if unheard:
        with waiting_at_most(_NOTED_WITHIN_S), rows.writing():
            rows.numbers.pass_over(number)
    with rows.reading():
        last, anew, more = rows.last_change(), False, False
        if number > last or (mark and rows.mark(number) != stood):
            if _GIVEN.match(mark) and not is_own and number > max(last, rows.numbers.past()):
                went_back(last)
            number, anew = 0, True
        elif mark and not {_TOLD_CAME, *kinds} <= set(told_before.split(",")):
            number = 0
        records: list[Changed] = []
        told = 0
        for row in rows.newest_since(number, kinds):
            if (len(records) >= most or told >= MOST_TOLD_BYTES) and row.change != records[-1].change:
                last, more = records[-1].change, True
                break
            records.append(_changed(row, rows, kinds))
            told += len(row.body or "") + sum(len(bytes(was.data)) for was in records[-1].past)
        shop = rows.shop_id() or ""
        stood = rows.mark(last)
        mark = f"{stood} {rows.seal(last, stood)} {','.join((_TOLD_CAME, *kinds))}"
        return Changes(
            records=tuple(records),
            last=last,
            mark=mark,
            more=more,
            anew=anew,
            shop=shop,
            withheld=withheld(kinds),
        )


def withheld(kinds: Sequence[str]) -> tuple[str, ...]:
    """The kinds that a device is not told which is told these."""
    return tuple(kind for kind in KINDS if kind not in kinds)


def offer(
    store: JobStore,
    job: Id,
    records: Sequence[Offered],
    *,
    by: str,
    kinds: Sequence[str] = tuple(KINDS),
    check: Callable[[], None] = lambda: None,
) -> tuple[Answered, ...]:
    """Take in what was written elsewhere, by who is told these `kinds`, for the job of this id (a record of kind 'job'
    begins a new one), or for the shop of this id: all that can go in goes in, in one change; an answer for each, in the
    order of the offer. When this returns, the disk has it. `check` is called once nobody else can save, and nothing
    goes in where it raises: whoever offers may have waited long. Raises LimitError for too many records at once,
    InputError for one that is named twice, and for a job that is not there."""
    if len(records) > MOST_OFFERED:
        raise LimitError(
            f"{len(records)} records were offered at once; the most is {MOST_OFFERED}.",
            hint="offer them in parts",
            quantity="records",
            asked=len(records),
            limit=MOST_OFFERED,
        )
    if len({one.id for one in records}) < len(records):
        raise InputError("a record was offered twice at once.", hint="offer what it says last")
    with store.rows.writing():
        check()
        intake = _Intake(store, job, by, kinds)
        answers = intake.take(records)
    store.changed = store.changed or intake.wrote
    return answers


class _Intake:
    """One offer, while nobody else can save."""

    def __init__(self, store: JobStore, job: Id, by: str, kinds: Sequence[str]) -> None:
        self.store, self.rows, self.by, self.job_id, self.kinds = store, store.rows, by, job, kinds
        self.job = self.rows.job_by_id(job)
        self.writes: list[Write] = []
        self.names: dict[Id, str] = {}
        self.head: JobHead | None = None
        self.counts: dict[str, int] = {}
        self.wrote = False
        self.device = DeviceUse(by, self.rows)
        self.more = Amount(0, 0)  # that this offer wrote

    def take(self, records: Sequence[Offered]) -> tuple[Answered, ...]:
        order = {name: number for number, name in enumerate(KINDS)}
        turn = sorted(range(len(records)), key=lambda i: (order.get(records[i].kind, len(order)), i))
        answers: dict[int, Answered] = {}
        for index in turn:
            one = records[index]
            try:
                answers[index] = self._one(one)
            except StoreTrouble:
                raise
            except RacewrightError as err:
                no: Outcome = "later" if isinstance(err, NoRoomToday) else "refused"
                answers[index] = Answered(
                    kind=one.kind, id=one.id, outcome=no, yours=one.data, message=err.message, hint=err.hint
                )
        if self.writes:
            self._write()
            self.wrote = True
        if self.wrote:
            self.device.keep(self.more)
        return tuple(answers[index] for index in range(len(records)))

    def _write(self) -> None:
        """What says again all that stood before one change is an undo of that, or a redo; the rest is one change."""
        assert self.job is not None
        left = {write.record: write for write in self.writes}
        for number, records in self._turned(left):
            turned = self.rows.change(number)
            kind = "redo" if turned.kind == "undo" else "undo"
            back = [left.pop(record) for record in records]
            self.rows.write_change(
                self.job, back, by=self.by, what=f"{kind}: {turned.what}"[:200], kind=kind, target=number
            )
        if left:
            what = brought_words(self.rows, left.values(), self.names, self.store.path)
            self.rows.write_change(self.job, tuple(left.values()), by=self.by, what=what)

    def _turned(self, writes: Mapping[Id, Write]) -> Iterator[tuple[int, Sequence[Id]]]:
        """The changes that these take back whole, newest first, each with the records that it wrote. Records that are
        taken out are taken out: they may be brought back by an undo."""
        stands = {record: self.rows.standing(record) for record in writes}
        back: dict[int, set[Id]] = {}
        for record, row in stands.items():
            had = self.rows.revision(record, row.base) if row is not None and row.base else None
            if row is not None and had is not None and had.body is not None and had.body == writes[record].body:
                back.setdefault(row.change, set()).add(record)
        for number in sorted(back, reverse=True):
            before = self.rows.before(number)
            if back[number] == before.keys():
                yield number, tuple(before)

    def _named(self, value: Value | None, standing: Row | None) -> str:
        """'run PH-01', 'run PH-01 taken out'."""
        if value is not None:
            return called(value)
        was = value_of(standing.kind, standing.body, self.rows.path) if standing is not None else None
        return f"{called(was)} taken out" if was is not None else "taken out"

    def _one(self, one: Offered) -> Answered:
        """Raises InputError, LimitError for what cannot be taken."""
        if one.kind not in KINDS or one.format > RECORDS_FORMAT:
            message = f"this shop's Racewright does not know records of kind '{one.kind[:40]}', format {one.format}."
            return Answered(
                kind=one.kind, id=one.id, outcome="newer", yours=one.data, message=message, hint=_UP_TO_DATE
            )
        value = None if one.data is None else self._value(one)
        if isinstance(value, Answered):
            return value
        body = None if value is None else body_of(value)
        if body is not None and len(body.encode()) > MOST_DATA:
            raise InputError(f"it takes more than {MOST_DATA} bytes, the most that one record may.")
        job = self._job(one, value)
        standing = self.rows.standing(one.id)
        found = standing.number if standing else 0
        data = data_digest(one.kind, body)
        says_so = standing is not None and (standing.digest == data or _is_said(value, standing, is_same))
        there = None if standing is None or standing.job == job.id else _changed(standing, self.rows, self.kinds)
        if standing is not None and (standing.kind != one.kind or (there and not (says_so and one.kind == "entry"))):
            raise InputError("its id is that of another record.", hint="offer it under an id of its own")
        if standing is not None and says_so:  # whoever wrote it; an entry may have gone with its run to another job
            return Answered(
                kind=one.kind,
                id=one.id,
                outcome="saved",
                revision=found,
                digest=self._told(one, standing.body),
                stands=there,
            )
        before = self.rows.following(one.id, one.base)
        if before is not None and before.digest == data:  # saved when it was offered first, and changed since
            now = _changed(standing, self.rows, self.kinds) if standing else None
            was = self._told(one, before.body)
            return Answered(kind=one.kind, id=one.id, outcome="saved", revision=before.number, digest=was, stands=now)
        if value is None and standing is None and one.kind != "job" and not one.base:
            return Answered(kind=one.kind, id=one.id, outcome="saved")  # taken out before it ever came here
        write = Write(one.kind, one.id, self.rows.numbers.after(found), one.base, body)
        made_from = self.rows.revision(one.id, one.base) if one.base else None
        if found != one.base or (made_from is not None and made_from.digest != digest_of(one.base_digest)):
            return self._stale(job, write, standing, one.data)
        self._check(one, value, body, standing)
        self._make_room(body)
        self.writes.append(write)
        self.names[one.id] = self._named(value, standing)
        told = self._told(one, body)
        return Answered(kind=one.kind, id=one.id, outcome="saved", revision=write.number, digest=told)

    def _told(self, one: Offered, body: str | None) -> str:
        """What stands, at the device that offered it, for this body: as much as it was told of the version before."""
        return told_body(one.kind, body, () if is_without_prices(one.base_digest) else self.kinds)[1]

    def _value(self, one: Offered) -> Value | Answered:
        holds = KINDS[one.kind].holds
        try:
            value: Value = msgspec.convert(one.data, holds)
        except (msgspec.ValidationError, RecursionError) as err:
            told = in_words(str(err), one.data, holds, see="see docs/job.md")
            if not _NEWER.match(str(err)):
                raise told from None
            return Answered(
                kind=one.kind, id=one.id, outcome="newer", yours=one.data, message=told.message, hint=_UP_TO_DATE
            )
        if not isinstance(value, JobHead) and value.id != one.id:
            raise InputError("its data bears another id.", field="id")
        return with_prices(value, one.base_digest, self.rows, (one.id, one.base))

    def _job(self, one: Offered, value: Value | None) -> JobRow:
        """The job of the offer, begun where its head comes first; or the shop."""
        of_shop = self.job_id == self.rows.shop_id()
        if KINDS[one.kind].of_shop != of_shop:
            what, hint = ("of the whole shop", "shop's") if not of_shop else ("of a job", "job's")
            raise InputError(f"a record of kind '{one.kind}' is {what}.", hint=f"offer it under the {hint} id")
        if of_shop:
            self.job = self.rows.begin_shop()
            return self.job
        if one.kind == "job" and one.id != self.job_id:
            raise InputError("it is the head of another job.", hint="offer what belongs to a job by itself")
        if self.job is None:
            if not isinstance(value, JobHead) or one.base:
                raise InputError("the shop has no job of this id.", hint="offer the job's head with it", field="job")
            if self.rows.standing(self.job_id) is not None:
                raise InputError("its id is that of another record.", hint="offer it under an id of its own")
            check_head(value)
            self.device.check(self.more.plus(_amount(body_of(value))))
            self.job = self.rows.add_job(_free_key(value.name, self.rows.job_keys()), self.job_id)
        return self.job

    def _stale(self, job: JobRow, write: Write, standing: Row | None, yours: Any) -> Answered:
        found = standing.number if standing else 0
        who = f" by {standing.by}" if standing and standing.by else ""
        message = f"changed in between{who}: yours was made from revision {write.base}, and revision {found} stands."
        if not self.rows.is_kept(write):
            self._make_room(write.body)  # without it the device keeps its version, and offers it again
            self.rows.write_refused(job, write, found, by=self.by)
            self.wrote = True
        return Answered(
            kind=write.kind,
            id=write.record,
            outcome="stale",
            revision=found,
            stands=_changed(standing, self.rows, self.kinds) if standing else None,
            yours=yours,
            message=message,
            hint="look at both, make your change to the one that stands, and save again",
        )

    def _make_room(self, body: str | None) -> None:
        """Raises LimitError where the device may write no more."""
        more = self.more.plus(_amount(body))
        self.device.check(more)
        self.more = more

    def _check(self, one: Offered, value: Value | None, body: str | None, standing: Row | None) -> None:
        """What a record must be beside its own form. Raises InputError."""
        if value is None and one.kind == "job":
            raise InputError("a job is not taken out.", hint="take out its runs")
        if isinstance(value, Entry) and standing is not None:
            revisions = self.rows.history(one.id)
            if not any(_is_said(value, was, says_no_more) for was in revisions):
                raise InputError("what an entry says is not changed.", hint="take it back and add another")
        if isinstance(value, Entry):
            run = self.rows.standing(value.run)
            if run is not None and self.job is not None and (run.kind, run.job) != ("run", self.job.id):
                raise InputError("it is of no run of this job.", hint="offer it with the job that the run is of")
        kind = KINDS[one.kind]
        if value is not None:
            stands = None if standing is None else value_of(standing.kind, standing.body, self.rows.path)
            kind.check(value, self._head_now, stands)
        if isinstance(value, JobHead):
            self.head = value
        if value is not None and body is not None:
            check_whole(self.rows, one.id, value, [body])
        if standing is None:
            self._count(kind)

    def _head_now(self) -> JobHead:
        if self.head is None:
            assert self.job is not None
            self.head = self.store.head(self.job.key).value
        return self.head

    def _count(self, kind: Kind) -> None:
        assert self.job is not None
        name = kind.name
        count = self.counts[name] if name in self.counts else self.rows.count(self.job, name)
        if count >= kind.most:
            raise LimitError(
                f"the {'shop' if kind.of_shop else 'job'} holds {count} records of kind '{name}' already.",
                hint="take out what is not used any more" if kind.of_shop else "begin another job",
                quantity="records",
                asked=count + 1,
                limit=kind.most,
            )
        self.counts[name] = count + 1


def _amount(body: str | None) -> Amount:
    return Amount(1, len((body or "").encode()))


def _is_said(value: Value | None, row: Row, said: Callable[[Entry, Entry], bool]) -> bool:
    """Whether a revision of an entry `said` this."""
    if not isinstance(value, Entry) or row.kind != "entry" or row.body is None:
        return False
    return said(value, msgspec.json.decode(row.body, type=Entry))


def _changed(row: Row, rows: Rows, kinds: Sequence[str]) -> Changed:
    removed = row.kind == "run" and row.body is None
    pinned = row.kind in KINDS and KINDS[row.kind].pinned
    before = rows.history(row.record)[:0:-1] if pinned or removed else ()
    said = [was for was in before if was.body]
    body, digest = told_body(row.kind, row.body, kinds)
    return Changed(
        kind=row.kind,
        id=row.record,
        job=row.job,
        revision=row.number,
        base=row.base,
        change=row.change,
        came=row.came,
        by=row.by,
        at=row.at,
        digest=digest,
        data=None if body is None else msgspec.Raw(body.encode()),
        past=tuple(
            Was(revision=was.number, by=was.by, at=was.at, data=msgspec.Raw((was.body or "").encode()))
            for was in (said[-1:] if removed else said)
        ),
    )


def _free_key(name: str, taken: Sequence[str]) -> str:
    """A key for a job of this name that no other job has."""
    key = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-._")[:36] or "job"
    known = {one.casefold() for one in taken}
    numbers = (f"{key}-{n}" for n in range(2, len(known) + 3))
    return next(one for one in (key, *numbers) if one.casefold() not in known)
