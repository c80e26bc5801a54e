"""The bending tools of a shop: records of the whole shop, and of no job."""

from __future__ import annotations

import msgspec

from racewright.records.fields import Input, Name
from racewright.records.ids import Id, new_id
from racewright.tools.profile_checks import refuse_impossible
from racewright.tools.written import BenderRecord, profile_of


class Tool(Input, frozen=True, kw_only=True):
    """One tool: its figures as its owner wrote them. `name` is its label for people; where two bear the same, their ids
    tell them apart."""

    id: Id = msgspec.field(default_factory=new_id)
    name: Name
    profile: BenderRecord


def check_tool(tool: Tool) -> None:
    """Raises InputError for figures that cannot be read, or that no tool can have."""
    refuse_impossible(profile_of(tool.name, tool.profile))
