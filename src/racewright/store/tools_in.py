"""What comes from elsewhere into a shop: tools with a job file, or from a person's own shop file; a job file's prices
and people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from racewright.records.ids import Id, digest, new_id
from racewright.records.model import Job
from racewright.records.person import Person
from racewright.records.prices import NO_PRICES, PriceList, list_id
from racewright.records.tool import Tool, ToolAt, ToolPin
from racewright.store.job_rows import JobRow, Row, Rows, Write
from racewright.store.job_values import body_of, value_as
from racewright.store.told_whole import check_whole
from racewright.tools.written import refuse_long


def bring_in(rows: Rows, tools: Sequence[ToolAt], *, by: str) -> dict[ToolPin, ToolPin]:
    """Keep these tools, each as it stood at its revision, and say what names each of them here: a tool that the file
    has with these figures is that one; one that it does not know comes in under its own id where all its revisions from
    the first are there, so that a number means the same here and there; any other under another id. Inside `writing`
    only. Raises InputError for a text that is too long to be saved, LimitError for too many revisions."""
    of: dict[Id, list[ToolAt]] = {}
    for tool in sorted(tools, key=lambda tool: tool.revision):
        of.setdefault(tool.id, []).append(tool)
    names: dict[ToolPin, ToolPin] = {}
    writes: list[Write] = []
    for tool_id, revisions in of.items():
        whole = [tool.revision for tool in revisions] == list(range(1, len(revisions) + 1))
        part = digest("tool brought in", tool_id, *(_body(tool, tool_id) for tool in revisions))
        for here in (tool_id, part):
            history = {row.body: row.number for row in rows.history(here)}
            if history and all(_body(tool, here) in history for tool in revisions):
                names |= {t.pin: ToolPin(id=here, revision=history[_body(t, here)]) for t in revisions}
                break
        else:
            free = [one for one in ((tool_id, part) if whole else (part,)) if not rows.history(one)]
            here = free[0] if free else new_id()
            check_whole(rows, here, _tool(revisions[0], here), [_body(tool, here) for tool in revisions])
            base = 0
            for number, tool in enumerate(revisions, rows.numbers.after(0)):
                refuse_long(tool.name, tool.profile)
                names[tool.pin] = ToolPin(id=here, revision=number)
                writes.append(Write("tool", here, number, base, _body(tool, here)))
                base = number
    if writes:
        told = ", ".join(dict.fromkeys(tool.name for tool in tools))
        rows.write_change(rows.begin_shop(), writes, by=by, what=f"tools brought in: {told}"[:200])
    return names


def bring_in_lists(rows: Rows, job: Job, *, by: str, replace: bool = False) -> tuple[str, ...]:
    """The prices of a job that is imported become its own list, where it has none and they are not the shop's;
    people whom the shop does not know come in, by their names. What the shop has otherwise is kept as a refused save,
    or is (`replace`) the next revision; returned in words. Inside `writing` only."""
    if not job.people and job.prices == NO_PRICES:
        return ()
    shop = rows.begin_shop()
    own = PriceList.holding(job.prices, job.id)
    of_shop = rows.standing(list_id(shop.id))
    writes: list[Write] = []
    differ: list[str] = []

    def other(kind: str, standing: Row, body: str, words: str) -> None:
        if any(row.body == body for row in rows.history(standing.record)):
            return  # changed here since
        differ.append(words)
        write = Write(
            kind, standing.record, rows.numbers.after(standing.number), standing.number if replace else 0, body
        )
        if replace:
            writes.append(write)
        else:
            rows.write_refused(shop, write, standing.number, by=by)

    listed = rows.standing(own.id)
    if job.prices != NO_PRICES and listed is not None and listed.body not in (None, body_of(own)):
        other("prices", listed, body_of(own), "the job's prices")
    wanted = job.prices != NO_PRICES and rows.standing(own.id) is None
    if wanted and (of_shop is None or of_shop.body != body_of(PriceList.holding(job.prices, shop.id))):
        writes.append(Write("prices", own.id, rows.numbers.after(0), 0, body_of(own)))
    there: dict[str, list[Person]] = {}
    for known in _people(rows, shop):
        there.setdefault(known.name.casefold(), []).append(known)
    for person in job.people:
        called = there.get(person.name.casefold(), [])
        here = next((one for one in called if one.id == person.id), called[0] if called else None)
        if here is not None:
            body, standing = body_of(msgspec.structs.replace(person, id=here.id)), rows.standing(here.id)
            if standing is not None and all(body != body_of(msgspec.structs.replace(p, id=here.id)) for p in called):
                other("person", standing, body, f"how well {here.name} works")
        else:
            told = msgspec.structs.replace(person, id=new_id()) if rows.standing(person.id) else person
            writes.append(Write("person", told.id, rows.numbers.after(0), 0, body_of(told)))
    if writes:
        rows.write_change(shop, writes, by=by, what="prices and people brought in")
    return tuple(differ)


def _people(rows: Rows, shop: JobRow) -> Iterator[Person]:
    for row in rows.all_standing(shop, "person"):
        if row.body is not None:
            yield value_as(Person, row.body, rows.path)


def _tool(tool: ToolAt, tool_id: Id) -> Tool:
    return Tool(id=tool_id, name=tool.name, profile=tool.profile)


def _body(tool: ToolAt, tool_id: Id) -> str:
    return body_of(_tool(tool, tool_id))
