"""Tools as a server reads them: where a question needs them, and never for long: somebody waits for the answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, ValuesView
from functools import cached_property
from pathlib import Path

from racewright.errors import RacewrightError
from racewright.records.tool import Tool
from racewright.store.job_errors import StoreTrouble
from racewright.store.job_schema import waiting_at_most
from racewright.store.shop_tools import ToolShelf
from racewright.tools.benders import BenderProfile

#: So long a question waits for a shop file that somebody has locked.
PATIENCE_S = 3.0


class ServedTools(ToolShelf):
    """The tools of shop files. Where they cannot be read, a question that names one is told why, and `trouble` is that;
    a list of all goes without, and `say` hears it."""

    def __init__(self, *paths: Path, say: Callable[[RacewrightError], None]) -> None:
        super().__init__(*paths)
        self.trouble: StoreTrouble | None = None
        self.say = say

    @cached_property
    def tools(self) -> dict[str, Tool]:
        """Raises RacewrightError."""
        try:
            with waiting_at_most(PATIENCE_S):
                return super().tools
        except StoreTrouble as err:
            self.trouble = err
            raise

    def values(self) -> ValuesView[BenderProfile]:
        """All of them, as far as they can be read."""
        return _Readable(self)


class _Readable(ValuesView[BenderProfile]):
    def __init__(self, tools: ServedTools) -> None:
        super().__init__(tools)
        self._tools = tools

    def __iter__(self) -> Iterator[BenderProfile]:
        try:
            yield from [self._tools[name] for name in self._tools]
        except RacewrightError as err:
            self._tools.say(err)
            self._tools.trouble = None  # it stands in nobody's way
