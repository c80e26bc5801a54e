"""`racewright job` prices, people: what things cost and how well people work, of the whole shop; stock, items, wire:
what a job is cut from, what it needs that no plan shows, what its wires take more than their runs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import Any

import msgspec

from racewright.cards.text.shop_lists import (
    items_text,
    people_text,
    prices_text,
    stock_text,
    wire_text,
)
from racewright.cards.text.tail import finding_line
from racewright.cli.answers import asked
from racewright.cli.job.common import job_key, open_shop, who
from racewright.errors import InputError, RacewrightError
from racewright.operations.job_settings import JobSettingsRequest
from racewright.operations.materials import JobBillRequest
from racewright.records.differ import prices_changed
from racewright.records.job_settings import (
    DropItem,
    DropPerson,
    DropPrice,
    DropStock,
    HeadChange,
    PriceChange,
    SetCutting,
    SetItem,
    SetMoney,
    SetPerson,
    SetPrice,
    SetStock,
    SetWire,
)
from racewright.records.model import Job, JobHead, Stands
from racewright.records.prices import Prices, plain_name
from racewright.store.job_changes import change_head
from racewright.store.job_reader import Revision
from racewright.store.shop_lists import (
    change_people,
    change_prices,
    drop_own_prices,
    person_back,
    person_history,
    prices_back,
    prices_history,
)

_OF_AN_ITEM = ("per", "price", "labour_h")
#: What the bill tells of a price.
_OF_A_PRICE = ("job.price_name", "job.price_measure", "job.price_twice")
_SPREADS = ("mark", "angle_deg", "roll_deg", "cut", "units")


def _said(args: argparse.Namespace, *names: str) -> dict[str, Any]:
    """What was said of these, by their names."""
    return {name: value for name in names if (value := getattr(args, name)) is not None}


def prices_job(args: argparse.Namespace) -> int:
    """The prices that count for a job; with something to change, changed."""
    own = {"job": True, "shop": False, None: None}[args.of]
    figures, money = _said(args, *_OF_AN_ITEM), _said(args, "currency", "labour_rate")
    if not args.item and (args.remove or figures):
        raise InputError("the item is missing.", hint="name it as the bill does: 'EMT 1/2, 10 ft'", field="ITEM")
    if args.item and not args.remove and not figures:
        raise InputError("what it costs is missing.", hint="--price 14.20, --hours 0.25, or --remove", field="--price")
    changes: list[PriceChange] = [SetMoney(**money)] if money else []
    if args.item:
        changes.append(DropPrice(item=args.item) if args.remove else SetPrice(item=args.item, **figures))
    with open_shop(args) as store:
        job = job_key(args, store)
        if args.log:
            whose, _, revisions = prices_history(store, job, own)
            return _print_log(f"Prices of {whose}", revisions)
        if args.undo or args.to is not None:
            whose, now, was = prices_back(store, job, own, args.to, by=who(args), anyone=args.anyone)
            print(f"Prices of {whose}: as at revision {was} again, now revision {now}.")
            return 0
        if args.drop:
            drop_own_prices(store, job, by=who(args))
        elif changes or own:
            change_prices(store, job, changes, own=own, by=who(args))
        told = store.prices(job) if own is not False else store.shop_prices()
        of_shop = told is not None and told.of == store.rows.shop_id()
        priced_job = store.load(job) if figures else None
    if args.json:
        print(msgspec.json.format(msgspec.json.encode(told.prices if told else Prices()), indent=2).decode())
    else:
        print(prices_text(told.prices if told else None, "the shop" if of_shop else f"job {job}"))
    if priced_job is not None:
        _tell_of_price(priced_job, args.item)
    return 0


def _tell_of_price(job: Job, item: str) -> None:
    """What the job's bill tells of the price of an item; it is kept all the same."""
    try:
        bill = asked("job_bill", JobBillRequest(job=job, item=item))
    except RacewrightError:  # no bill of it can be made: `bill` says why
        return
    for finding in bill.findings:
        if finding.rule in _OF_A_PRICE and plain_name(finding.where) == plain_name(item):
            print(finding_line(finding), file=sys.stderr)


def stock_job(args: argparse.Namespace) -> int:
    """What a job's runs are cut from; with something to change, changed."""
    figures, cutting = _said(args, "price", "note"), _said(args, "kerf", "keep")
    left, hand = args.offcuts, args.on_hand
    one = args.raceway or args.remove or left is not None or hand is not None or figures
    if one and not (args.raceway and args.length):
        raise InputError(
            "raceway or length of the sticks is missing.",
            hint="name raceway and length: 'EMT 1/2' '10 ft'",
            field="LENGTH",
        )
    changes: list[HeadChange] = [SetCutting(**cutting)] if cutting else []
    if args.remove:
        changes.append(DropStock(raceway=args.raceway, length=args.length))
    elif one:
        stands: Stands = "offcuts" if left is not None else "on hand" if hand is not None else "as needed"
        count = left if left is not None else hand
        changes.append(SetStock(raceway=args.raceway, length=args.length, stands=stands, count=count, **figures))
    what = ", ".join([*([f"{args.raceway}, {args.length}"] if one else []), *cutting])
    return _of_head(args, f"stock: {what}", changes, stock_text, ("stock", "cutting"))


def items_job(args: argparse.Namespace) -> int:
    """What the job needs that no plan shows; an item set, or taken out."""
    if args.item is None and (args.remove or args.count is not None):
        raise InputError("the item is missing.", hint="name it: '4 in square box'", field="ITEM")
    if args.item is not None and not args.remove and args.count is None:
        raise InputError("how many is missing.", hint="--count 3, or --remove", field="--count")
    changes: list[HeadChange] = []
    if args.item is not None:
        changes.append(DropItem(item=args.item) if args.remove else SetItem(item=args.item, count=args.count))
    what = f"items: {args.item}{'' if args.remove else f', {args.count}'}"
    return _of_head(args, what, changes, items_text, ("items",))


def wire_job(args: argparse.Namespace) -> int:
    """What each wire of the job takes more than its run."""
    given = (("wire_slack", args.slack), ("wire_waste", args.waste))
    figures: dict[str, Any] = {name: value for name, value in given if value is not None}
    what = ", ".join(f"{name.removeprefix('wire_')} {value}" for name, value in figures.items())
    changes = [SetWire(**figures)] if figures else []
    return _of_head(args, f"wire: {what}", changes, wire_text, ("wire_slack", "wire_waste"))


def _of_head(
    args: argparse.Namespace,
    what: str,
    changes: Sequence[HeadChange],
    text: Callable[[JobHead, str], str],
    fields: Sequence[str],
) -> int:
    """These fields of the job's head, with these changes of it (`what`)."""
    with open_shop(args) as store:
        job = job_key(args, store)
        head = change_head(store, job, changes, what=what, by=who(args)) if changes else store.head(job).value
        priced_job = store.load(job) if any(isinstance(one, SetStock) and one.price for one in changes) else None
    if args.json:
        told = {name: getattr(head, name) for name in fields}
        print(msgspec.json.format(msgspec.json.encode(told), indent=2).decode())
    else:
        print(text(head, job))
    if priced_job is not None:
        stands = JobSettingsRequest(head=priced_job.head, prices=priced_job.prices)
        for finding in asked("job_settings", stands).findings:
            print(finding_line(finding), file=sys.stderr)
    return 0


def people_job(args: argparse.Namespace) -> int:
    """The people of the shop; one of them changed, added, taken out."""
    figures = _said(args, *_SPREADS)
    if not args.name and (args.remove or figures):
        raise InputError("the person is missing.", hint="name the person", field="NAME")
    if not args.name and (args.log or args.undo or args.to is not None):
        raise InputError("the person is missing.", hint="name the person", field="NAME")
    with open_shop(args) as store:
        if args.log:
            name, _, revisions = person_history(store, args.name)
            return _print_log(name, revisions)
        if args.undo or args.to is not None:
            name, now, was = person_back(store, args.name, args.to, by=who(args), anyone=args.anyone)
            print(f"{name}: as at revision {was} again, now revision {now}.")
            return 0
        if args.remove:
            change_people(store, DropPerson(name=args.name), by=who(args))
            print(f"{args.name} is not in the list any more")
            return 0
        if args.name and figures:
            change_people(store, SetPerson(name=args.name, **figures), by=who(args))
        people = tuple(kept.value for kept in store.people())
    if args.name:
        people = tuple(one for one in people if one.name.casefold() == args.name.casefold())
        if not people:
            raise InputError(
                f"nobody is called '{args.name}' here.", hint="--mark 1/16 --angle 1 adds them", field="NAME"
            )
    if args.json:
        print(msgspec.json.format(msgspec.json.encode(people), indent=2).decode())
    else:
        print(people_text(people))
    return 0


def _print_log(title: str, revisions: Sequence[Revision]) -> int:
    """Revisions, newest first; of a price list with the figures that each changed."""
    print(title)
    for one, before in zip(revisions, [*revisions[1:], None], strict=True):
        print(f"revision {one.number}  {one.at}  {one.by}  {one.what}")
        new, old = (at.value if at and isinstance(at.value, Prices) else None for at in (one, before))
        print(*(f"    {line}\n" for line in prices_changed(new, old)), sep="", end="")
    return 0
