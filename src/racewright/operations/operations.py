"""The list of operations: name, request type, answer type, and the function that works it out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any, NamedTuple

import msgspec

from racewright.operations import messages as m
from racewright.operations.common import Request
from racewright.tools.model import BenderProfile

OwnBenders = Mapping[str, BenderProfile]


class Operation(NamedTuple):
    """One thing that can be asked. `function` is 'module.name' in this folder: loaded when first asked."""

    name: str
    request: type[Request]
    answer: type[msgspec.Struct]
    function: str
    about: str

    def work_out(self) -> Callable[[Any, OwnBenders], msgspec.Struct]:
        """The function, loaded."""
        module, _, name = self.function.partition(".")
        found: Callable[[Any, OwnBenders], msgspec.Struct] = getattr(
            import_module(f"racewright.operations.{module}"), name
        )
        return found


_ALL = (
    Operation(
        "catalogue", m.CatalogueRequest, m.Catalogue, "tables.catalogue", "raceways, benders, units to choose from"
    ),
    Operation("plan", m.PlanRequest, m.PlanAnswer, "runs.plan", "plan a surveyed run, with pictures"),
    Operation("sketch", m.SketchRequest, m.SketchAnswer, "sketch.sketch", "the run as measured so far, for a picture"),
    Operation("card", m.CardRequest, m.CardAnswer, "runs.card", "pages of the bend card or the 1:1 strip"),
    Operation("parse_length", m.LengthRequest, m.LengthAnswer, "tables.length", "read a length as a person writes it"),
    Operation("choices", m.ChoicesRequest, m.ChoicesAnswer, "tables.choices", "an offset or saddle at several angles"),
    Operation("tweak", m.TweakRequest, m.TweakAnswer, "corrections.tweak", "the bent piece is off: what to correct"),
    Operation(
        "remark", m.RemarkRequest, m.RemarkAnswer, "corrections.remark", "some bends are made: new marks for the rest"
    ),
    Operation("practice", m.PracticeRequest, m.PracticeSheet, "practice.sheet", "problems with worked answers"),
    Operation("order", m.OrderRequest, m.OrderAnswer, "order.order", "what to buy for several runs, how to cut it"),
    Operation("schema", m.SchemaRequest, m.SchemaAnswer, "tables.schema", "the JSON Schema of a survey file"),
)

OPERATIONS: dict[str, Operation] = {operation.name: operation for operation in _ALL}
