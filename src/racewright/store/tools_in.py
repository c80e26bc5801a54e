"""Tools that come from elsewhere into a shop file: with a job file, or from a person's own shop file."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.records.ids import Id, new_id
from racewright.records.tool import Tool, ToolAt, ToolPin
from racewright.store.job_rows import Rows, Write
from racewright.store.job_values import body_of


def bring_in(rows: Rows, tools: Sequence[ToolAt], *, by: str) -> dict[ToolPin, ToolPin]:
    """Keep these tools, each as it stood at its revision, and say what names each of them here: a tool that the file
    has with these figures is that one; one that it does not know comes in under its own id; one that it knows with
    other figures under an id of its own. Inside `writing` only."""
    of: dict[Id, list[ToolAt]] = {}
    for tool in sorted(tools, key=lambda tool: tool.revision):
        of.setdefault(tool.id, []).append(tool)
    names: dict[ToolPin, ToolPin] = {}
    writes: list[Write] = []
    for tool_id, revisions in of.items():
        history = {row.body: row.number for row in rows.history(tool_id)}
        if history and all(_body(tool, tool_id) in history for tool in revisions):
            names |= {t.pin: ToolPin(id=tool_id, revision=history[_body(t, tool_id)]) for t in revisions}
            continue
        here = new_id() if history else tool_id
        for number, tool in enumerate(revisions, 1):
            names[tool.pin] = ToolPin(id=here, revision=number)
            writes.append(Write("tool", here, number, number - 1, _body(tool, here)))
    if writes:
        told = ", ".join(dict.fromkeys(tool.name for tool in tools))
        rows.write_change(rows.begin_shop(), writes, by=by, what=f"tools brought in: {told}"[:200])
    return names


def _body(tool: ToolAt, tool_id: Id) -> str:
    return body_of(Tool(id=tool_id, name=tool.name, profile=tool.profile))
