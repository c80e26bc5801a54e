"""What differs between two versions of a record, field by field and in a person's words. The page finds the same by the
same tables (web-ui/src/app/kept/differ.ts); tests/unit/same_in_both.json holds the one to the other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, NamedTuple

import msgspec

from racewright.records.kinds import KINDS, Value, kind_of
from racewright.records.prices import PriceList, Prices
from racewright.records.tool import ToolAt
from racewright.tools.written import figure_words

#: What the places of a list are called, in turn: a walk is leg 1, turn 1, leg 2. Others by the name of the list.
LIST_WORDS = {"walk": ("leg", "turn"), "features": ("thing",), "areas": ("area",), "items": ("item",)}
#: Names a record, and says nothing of what it is.
UNSAID = ("id", "of")
#: What a field is called where that is not its name; '' goes without saying, and so does the first thing on a leg.
CALLED = {
    "survey": "",
    "run": "",
    "profile": "",
    "thing 1": "",
    "key": "label",
    "name": "called",
    "start": "end A",
    "end": "end B",
    "leg": "length",
    "turn": "way",
    "times": "how many alike",
    "centre": "center",
    "colour": "color",
    "labour_h": "hours",
    "labour_rate": "labor rate",
    "angle_deg": "angle",
    "roll_deg": "roll",
}


class Difference(NamedTuple):
    """A field in words ('leg 1, saddle, center'), and what each of the two versions says of it; '' for nothing."""

    field: str
    mine: str
    theirs: str


def differences(mine: Value, theirs: Value, tools: Iterable[ToolAt] = ()) -> tuple[Difference, ...]:
    """Where two versions of a record say something else. `tools` that are named in them are called by their names."""
    kind, named = kind_of(mine).name, {tool.pin: tool.name for tool in tools}
    a, b = (_fields(_told(one, named)) for one in (mine, theirs))
    paths = (path for path in {**a, **b} if any(path in one and not _is_usual(kind, path, one[path]) for one in (a, b)))
    told = (Difference(_in_words(path), _said(kind, a, path), _said(kind, b, path)) for path in paths)
    return tuple(one for one in told if one.mine != one.theirs)


def fields_changed(now: Value, was: Value, tools: Iterable[ToolAt] = ()) -> list[str]:
    """What a version says that the one before did not, a line each: "wire slack: '18 in', was '12 in'"; of prices by
    their items."""
    if isinstance(now, PriceList) and isinstance(was, PriceList):
        return prices_changed(now.prices, was.prices)
    return [f"{one.field}: {quoted(one.mine)}, was {quoted(one.theirs)}" for one in differences(now, was, tools)]


def quoted(said: str) -> str:
    """What a version says, for a line of text."""
    return f"'{said}'" if said else "nothing"


def prices_changed(new: Prices | None, before: Prices | None) -> list[str]:
    """What a revision of a price list says that the one before did not, a line each; None: there is no list."""
    now, was = (_by_item(one or Prices()) for one in (new, before))
    names = [name for name in dict.fromkeys((*now, *was)) if now.get(name) != was.get(name)]
    return [f"{name}: {now.get(name, 'taken out')}" + (f", was {was[name]}" if name in was else "") for name in names]


@cache
def usual_values() -> dict[str, str]:
    """What the fields of each kind of record say where nothing is written, by kind and path without places in lists:
    what is no empty text."""
    return {
        path: said
        for kind in KINDS.values()
        for path, said in _usual(msgspec.inspect.type_info(kind.holds), kind.name).items()
    }


@cache
def field_words() -> dict[str, str]:
    """What every field of a record is called."""
    titles = {name: title for name, (title, _) in figure_words().items()}
    fields = {name for kind in KINDS.values() for name in _names(msgspec.inspect.type_info(kind.holds))}
    return {name: name.replace("_", " ") for name in sorted(fields)} | titles | CALLED


def _by_item(prices: Prices) -> dict[str, str]:
    out = {
        p.item: ", ".join(
            f"{what} {said} {p.per if p.per == 'each' else f'per {p.per}'}"
            for what, said in _figures(p.price, p.labour_h)
        )
        for p in prices.items
    }
    whole = ((CALLED["labour_rate"], prices.labour_rate), ("currency", prices.currency or None))
    return out | {name: str(value) for name, value in whole if value is not None}


def _figures(price: object, hours: object) -> list[tuple[str, str]]:
    return [(what, str(value)) for what, value in (("price", price), (CALLED["labour_h"], hours)) if value is not None]


def _told(value: Value, named: Mapping[Any, str]) -> dict[str, Any]:
    """What a person knows of a version: a tool by its name."""
    data: dict[str, Any] = {k: part for k, part in msgspec.to_builtins(value).items() if k not in UNSAID}
    pin = getattr(value, "tool", None)
    return data | {"tool": f"{named.get(pin, pin.id[:6])}, revision {pin.revision}"} if pin else data


def _fields(data: Any, path: str = "") -> dict[str, str]:
    """Every field of a version as text, by its path: 'survey.run.walk.0.leg'."""
    if data is None or data == "":
        return {}
    if isinstance(data, dict | list | tuple):
        parts = data.items() if isinstance(data, dict) else enumerate(data)
        return {p: said for key, part in parts for p, said in _fields(part, f"{path}.{key}".lstrip(".")).items()}
    if isinstance(data, bool):
        return {path: "true" if data else "false"}
    return {path: f"{data:.0f}" if isinstance(data, float) and data.is_integer() else str(data)}


def _whole(kind: str, path: str) -> str:
    return ".".join([kind, *(part for part in path.split(".") if not part.isdigit())])


def _is_usual(kind: str, path: str, said: str) -> bool:
    return usual_values().get(_whole(kind, path)) == said


def _said(kind: str, fields: Mapping[str, str], path: str) -> str:
    """What a version says there: where nothing is written what is usual, unless it is of a thing that is not there."""
    above = path.rpartition(".")[0]
    listed = any(part.isdigit() for part in above.split("."))
    there = not listed or any(one.startswith(f"{above}.") for one in fields)
    return fields.get(path) or (usual_values().get(_whole(kind, path), "") if there else "")


def _in_words(path: str) -> str:
    """'survey.run.walk.0.features.0.saddle.centre' -> 'leg 1, saddle, center'."""
    words: list[str] = []
    called, listed = field_words(), ""
    for part in path.split("."):
        if part.isdigit():
            names = LIST_WORDS.get(listed) or (words.pop(),)
            word = f"{names[int(part) % len(names)]} {int(part) // len(names) + 1}"
            words.append(called.get(word, word))
        else:
            listed = part
            if part not in LIST_WORDS:
                words.append(called.get(part, part))
    return ", ".join(word for word in words if word)


def _below(info: Any) -> tuple[Any, ...]:
    """The parts of a type that are written at its own path."""
    if isinstance(info, msgspec.inspect.VarTupleType):
        return (info.item_type,)
    if isinstance(info, msgspec.inspect.UnionType):
        return info.types
    return (info.type,) if isinstance(info, msgspec.inspect.Metadata) else ()


def _names(info: Any) -> set[str]:
    found = {name for part in _below(info) for name in _names(part)}
    if isinstance(info, msgspec.inspect.StructType):
        found |= {name for field in info.fields for name in ({field.encode_name} | _names(field.type))}
    return found


def _usual(info: Any, path: str) -> dict[str, str]:
    found = {at: said for part in _below(info) for at, said in _usual(part, path).items()}
    if isinstance(info, msgspec.inspect.StructType):
        for field in info.fields:
            here = f"{path}.{field.encode_name}"
            if isinstance(field.default, str | int | float) and field.default != "":
                found |= _fields(field.default, here)
            found |= _usual(field.type, here)
    return found
