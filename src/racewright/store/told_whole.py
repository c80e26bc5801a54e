"""What is told with all its revisions, as runs stay on the one that they were put on: how much that may come to."""

from __future__ import annotations

from collections.abc import Sequence

from racewright.errors import LimitError
from racewright.records.ids import Id
from racewright.records.kinds import Value, called, kind_of
from racewright.store.job_rows import Rows

#: Bytes of one record, of a tool of all its revisions.
MOST_DATA = 200_000


def check_whole(rows: Rows, record: Id, value: Value, bodies: Sequence[str]) -> None:
    """Raises LimitError where a record that is told with all its revisions would have too many with these, or too much
    in them."""
    kind = kind_of(value)
    if not kind.pinned:
        return
    history = rows.history(record)
    held = sum(len((was.body or "").encode()) for was in history)
    for quantity, asked, limit in (
        ("revisions", len(history) + len(bodies), kind.most_revisions),
        ("bytes", held + sum(len(body.encode()) for body in bodies), MOST_DATA),
    ):
        if asked > limit:
            had = f"has {len(history):,} revisions already, of {held:,} bytes together" if history else ""
            raise LimitError(
                f"{called(value)} {had or f'would have {asked:,} {quantity}'}; the most is {limit:,} {quantity}.",
                hint="keep it anew under another name, and put runs on that",
                quantity=quantity,
                asked=asked,
                limit=limit,
                unit=quantity,
            )
