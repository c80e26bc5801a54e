"""The bending tools of a shop: records of the whole shop, and of no job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import msgspec

from racewright.catalogue.raceways import find_raceway, raceway_by_name
from racewright.errors import RacewrightError
from racewright.records.fields import MOST_NUMBER, Input, Name
from racewright.records.ids import Id, new_id
from racewright.tools.benders import BenderProfile
from racewright.tools.profile_checks import refuse_impossible
from racewright.tools.written import BenderRecord, profile_of, refuse_long

_LEAST_DIGITS = 4


class Tool(Input, frozen=True, kw_only=True):
    """One tool: its figures as its owner wrote them. `name` is its label for people; where two bear the same, their ids
    tell them apart."""

    id: Id = msgspec.field(default_factory=new_id)
    name: Name
    profile: BenderRecord


class ToolPin(Input, frozen=True, kw_only=True):
    """Which tool, and as which of its revisions: what a run is planned on does not move when the tool is measured
    anew."""

    id: Id
    revision: Annotated[int, msgspec.Meta(ge=1, le=MOST_NUMBER)]


class ToolAt(Input, frozen=True, kw_only=True):
    """A tool as it stood at a revision."""

    id: Id
    revision: Annotated[int, msgspec.Meta(ge=1, le=MOST_NUMBER)]
    name: Name
    profile: BenderRecord

    @property
    def pin(self) -> ToolPin:
        """What names it as it stands here."""
        return ToolPin(id=self.id, revision=self.revision)

    def is_for(self, raceway: str) -> bool:
        """Whether it bends this raceway ('EMT 1/2'); True for one that cannot be read yet."""
        try:
            wanted = raceway_by_name(raceway)
        except RacewrightError:
            return True
        return wanted == find_raceway(self.profile.raceway, self.profile.size)

    def worked_out(self) -> BenderProfile:
        """Its figures as marks are computed from them. Raises InputError for figures that cannot be read."""
        return profile_of(self.name, self.profile)


def tools_called(tools: Sequence[Tool]) -> dict[str, Tool]:
    """Each of these tools by what a person calls it: its name; of several that bear one, whatever the case, the first,
    and the others with the beginning of their ids behind it: 'blue half 3fa9'."""
    found: dict[str, Tool] = {}
    taken: set[str] = set()
    for tool in tools:
        called, digits = tool.name, _LEAST_DIGITS
        while called.casefold() in taken:
            called = f"{tool.name} {tool.id[:digits]}{'+' * (digits - len(tool.id))}"
            digits += 1
        taken.add(called.casefold())
        found[called] = tool
    return found


def check_tool(tool: Tool) -> None:
    """Raises InputError for texts too long to be saved, figures that cannot be read, or that no tool can have."""
    refuse_long(tool.name, tool.profile)
    refuse_impossible(profile_of(tool.name, tool.profile))
