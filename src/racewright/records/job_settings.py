"""What a person sets for a job and its shop: prices, people, sticks, wire, items. Each change of it is one of the
structs below, which commands make, and the page's forms (web-ui/scripts/make_forms.py). What is None stays as it is;
an empty text takes out what stood there."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Any, Literal

import msgspec

from racewright.errors import InputError, RacewrightError, UnknownName
from racewright.field_words import title_of
from racewright.records.differ import CALLED
from racewright.records.fields import Count, Input, Percent
from racewright.records.job_head import made, with_item, with_stock, with_wire, without_item, without_stock
from racewright.records.model import JobHead, Stands
from racewright.records.parse import check_head
from racewright.records.person import Person, accuracy_of
from racewright.records.prices import Per, Price, Prices, by_length, check_prices, decimal, plain_name

_UNITS = Literal["in", "mm"]


def _text(title: str, description: str = "", *, least: int = 0) -> Any:
    return msgspec.Meta(min_length=least, max_length=200, title=title, description=description)


def _figure(title: str, description: str = "") -> Any:
    return msgspec.Meta(title=title, description=description)


_Item = Annotated[str, _text("Item", "as the bill calls it", least=1)]
_Raceway = Annotated[
    str, msgspec.Meta(min_length=1, max_length=200, title="Raceway", description="", extra={"choose": "raceways"})
]
_Length = Annotated[str, _text("Length", "of a stick: 10 ft", least=1)]


class SetPrice(Input, frozen=True, kw_only=True, tag_field="set", tag="price"):
    """What one item of the bill costs, and how long it takes."""

    item: _Item
    price: Annotated[str, _text("Price", "for one of what is picked below")] | None = None
    labour_h: Annotated[str, _text("Hours", "of work, for one of the same")] | None = None
    per: (
        Annotated[Per, msgspec.Meta(title="Price and hours are for", description="each, where nothing is said")] | None
    ) = None


class DropPrice(Input, frozen=True, kw_only=True, tag_field="set", tag="no price"):
    """The item has no price any more."""

    item: _Item


class SetMoney(Input, frozen=True, kw_only=True, tag_field="set", tag="money"):
    """In what money, and what an hour of work costs."""

    currency: Annotated[str, _text("Currency")] | None = None
    labour_rate: Annotated[str, _text("Labor rate", "for one hour")] | None = None


class SetStock(Input, frozen=True, kw_only=True, tag_field="set", tag="stock"):
    """Sticks that the job's runs are cut from."""

    raceway: _Raceway
    length: _Length
    stands: Annotated[Stands, _figure("They are")] = "as needed"
    count: Annotated[Count, _figure("How many", "on hand, or offcuts")] | None = None
    price: Annotated[str, _text("Price", "of one, where it is bought")] | None = None
    note: Annotated[str, _text("Note")] | None = None


class DropStock(Input, frozen=True, kw_only=True, tag_field="set", tag="no stock"):
    """No sticks of this length any more, or (`stands`) none of those."""

    raceway: _Raceway
    length: _Length
    stands: Stands | None = None


class SetCutting(Input, frozen=True, kw_only=True, tag_field="set", tag="cutting"):
    """What the saw takes, and which offcuts are kept."""

    kerf: Annotated[str, _text("Saw cut", "what the blade takes: 1/16 in", least=1)] | None = None
    keep: Annotated[str, _text("Keep from", "an offcut at least so long is kept", least=1)] | None = None


class SetWire(Input, frozen=True, kw_only=True, tag_field="set", tag="wire"):
    """What each wire of the job takes more than its run."""

    wire_slack: Annotated[str, _text("Slack", "more at each end of a run", least=1)] | None = None
    wire_waste: (
        Annotated[Percent, msgspec.Meta(title="Waste", description="on all wire", extra={"unit": "%"})] | None
    ) = None


class SetItem(Input, frozen=True, kw_only=True, tag_field="set", tag="item"):
    """What the job needs that no plan shows; 0: none any more."""

    item: Annotated[str, _text("Item", "as the bill is to name it: 4 in square box", least=1)]
    count: Annotated[Count, _figure("How many")]


class DropItem(Input, frozen=True, kw_only=True, tag_field="set", tag="no item"):
    """None of the item any more."""

    item: _Item


class SetPerson(Input, frozen=True, kw_only=True, tag_field="set", tag="person"):
    """How far one person is off, two times in three."""

    name: Annotated[str, _text("Name", least=1)]
    units: Annotated[_UNITS, _figure("Unit", "of lengths written without one")] | None = None
    mark: Annotated[str, _text("Mark", "how far a mark is off", least=1)] | None = None
    angle_deg: (
        Annotated[float, msgspec.Meta(title="Angle", description="how far a bend is off", extra={"unit": "°"})] | None
    ) = None
    roll_deg: (
        Annotated[float, msgspec.Meta(title="Plane", description="how far its plane is off", extra={"unit": "°"})]
        | None
    ) = None
    cut: Annotated[str, _text("Cut", "how far a cut is off", least=1)] | None = None


class DropPerson(Input, frozen=True, kw_only=True, tag_field="set", tag="no person"):
    """They are not in the list any more."""

    name: Annotated[str, _text("Name", least=1)]


PriceChange = SetPrice | DropPrice | SetMoney
HeadChange = SetStock | DropStock | SetCutting | SetWire | SetItem | DropItem
PersonChange = SetPerson | DropPerson


def prices_with(prices: Prices, change: PriceChange) -> Prices:
    """These prices, changed; what stands of the others is not checked again. Raises InputError,
    UnknownName for an item that has none."""
    _check(change)
    if isinstance(change, DropPrice):
        return _without(prices, change.item)
    if isinstance(change, SetPrice):
        changed = _priced(prices, change)
    else:
        taken = {name: value or None for name, value in _given(change).items()}
        money = {**msgspec.structs.asdict(prices), **taken}
        changed = made(Prices, {**money, "currency": money["currency"] or ""})
    with _by_titles(change):
        check_prices(changed, had=prices)
    return changed


def head_with(head: JobHead, change: HeadChange) -> JobHead:
    """A job's head, changed; what stands of it is not checked again. Raises InputError, LimitError, UnknownName for
    what is not there."""
    _check(change)
    changed = _head_with(head, change)
    with _by_titles(change):
        check_head(changed, head)
    return changed


def people_with(people: tuple[Person, ...], change: PersonChange) -> tuple[Person, ...]:
    """These people, one of them changed, added (as it is for everybody, where nothing else is said), or taken out,
    whatever the case of the name. Raises InputError, UnknownName."""
    _check(change)
    name = change.name.strip()
    had = next((one for one in people if one.name.casefold() == name.casefold()), None)
    others = tuple(one for one in people if one is not had)
    if isinstance(change, DropPerson):
        if had is None:
            known = ", ".join(one.name for one in people) or "nobody yet"
            raise UnknownName(f"nobody is called '{name}' here.", hint=f"people: {known}", field="name")
        return others
    told = msgspec.structs.replace(had or Person(name=name), **{**_given(change), "name": had.name if had else name})
    with _by_titles(change):
        accuracy_of(told)
    return tuple(told if one is had else one for one in people) if had else (*people, told)


def _head_with(head: JobHead, change: HeadChange) -> JobHead:
    if isinstance(change, DropItem):
        return without_item(head, change.item)
    if isinstance(change, SetItem):
        return with_item(head, change.item, change.count)
    if isinstance(change, SetWire):
        return with_wire(head, **_given(change))
    if isinstance(change, SetCutting):
        return msgspec.structs.replace(head, cutting=msgspec.structs.replace(head.cutting, **_given(change)))
    if isinstance(change, DropStock):
        return without_stock(head, change.raceway, change.length, change.stands)
    return with_stock(head, **_given(change))


def _check(change: msgspec.Struct) -> None:
    """Raises InputError for a field that is not what it must be, by its title."""
    made(type(change), msgspec.to_builtins(change))


@contextmanager
def _by_titles(change: msgspec.Struct) -> Iterator[None]:
    """What is refused inside is told by the title of the change's field in the place of its path; a line that
    stood there already keeps its place."""
    try:
        yield
    except RacewrightError as err:
        title = title_of(type(change), err.field.rpartition(".")[2])
        begins = f"{err.field}: "
        if title and "[" not in err.field and err.message.startswith(begins):
            err.message = f"{title}: {err.message.removeprefix(begins)}"
        raise


def _given(change: msgspec.Struct) -> dict[str, Any]:
    """What a change says, by field."""
    return {name: value for name, value in msgspec.structs.asdict(change).items() if value is not None}


#: The figures of an item that are for one `per`, as they are called.
_PER_ONE = {"price": "price", "labour_h": CALLED["labour_h"]}


def _priced(prices: Prices, change: SetPrice) -> Prices:
    """These prices with what is said of an item. Raises InputError, also for a figure for one of something that would
    come to count for another."""
    given, item = _given(change), change.item.strip()
    with _by_titles(change):
        for name in _PER_ONE:
            decimal(given.get(name) or None, name)
    at = next((i for i, p in enumerate(prices.items) if plain_name(p.item) == plain_name(item)), None)
    had = {} if at is None else msgspec.structs.asdict(prices.items[at])
    stays = [words for name, words in _PER_ONE.items() if had.get(name) is not None and name not in given]
    if stays and given.get("per", had["per"]) != had["per"]:
        kept = " and ".join(f"{words} {had[name]}" for name, words in _PER_ONE.items() if words in stays)
        raise InputError(
            f"'{item}' has its {kept} for {had['per']}, and would have it for {given['per']}.",
            hint=f"say the {' and the '.join(stays)} for {given['per']} too",
            field="per",
        )
    if at is None and "per" not in given and by_length(item):
        raise InputError(
            f"'{item}' goes by length on the bill: for how much of it the figure is, is missing.",
            hint="say what it is for: ft, 100 ft, 1000 ft, m or 100 m",
            field="per",
        )
    taken = {name: value or None for name, value in given.items()}
    one = made(Price, {**had, **taken, "item": had.get("item", item)})
    if one.price is None and one.labour_h is None:
        raise InputError(
            f"what '{item}' costs is missing.", hint="say its price, its hours, or both: 14.20, 0.25", field="price"
        )
    others = [p for p in prices.items if plain_name(p.item) != plain_name(item)]
    others.insert(len(others) if at is None else at, one)
    return msgspec.structs.replace(prices, items=tuple(others))


def _without(prices: Prices, item: str) -> Prices:
    items = tuple(p for p in prices.items if plain_name(p.item) != plain_name(item))
    if len(items) == len(prices.items):
        known = ", ".join(p.item for p in prices.items[:12]) or "none yet"
        raise UnknownName(f"'{item}' has no price.", hint=f"items: {known}", field="item")
    return msgspec.structs.replace(prices, items=items)
