"""`racewright devices`: the phones and desks that are paired with the server of a shop file."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from racewright.store.device_file import Device

HELP = "List the devices that `racewright serve --lan` lets in; revoke one; say what it is told. Works while it runs."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of `racewright devices`."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="one device; all of them without")
    parser.add_argument("--shop", metavar="FILE", help="the shop file (else $RACEWRIGHT_SHOP, else ./jobs.rwshop)")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--revoke", action="store_true", help="it is not let in any more, from its next question on")
    what.add_argument("--reads", metavar="KINDS", help="what it is told: kinds of record, as job,run,entry")
    what.add_argument("--json", action="store_true", help="as JSON")


def run(args: argparse.Namespace) -> int:
    """List, revoke, set."""
    from racewright.cli.job.common import shop_path
    from racewright.errors import InputError
    from racewright.store.device_file import DeviceFile

    devices = DeviceFile(shop_path(args))
    if (args.revoke or args.reads is not None) and not args.name:
        raise InputError("which device is missing.", hint="racewright devices lists their names", field="NAME")
    if args.revoke:
        print(f"{devices.revoke(args.name).name} is not let in any more.")
        return 0
    if args.reads is not None:
        kinds = tuple(part.strip() for part in args.reads.split(",") if part.strip())
        device = devices.let_read(args.name, kinds)
        print(f"{device.name} is told: {_kinds(device)}")
        return 0
    found = (devices.find(args.name),) if args.name else devices.listed()
    if args.json:
        import msgspec

        print(msgspec.json.format(msgspec.json.encode(found), indent=2).decode())
        return 0
    print(_table(found) if found else f"No device is paired ({devices.path}).")
    return 0


def _table(devices: tuple[Device, ...]) -> str:
    from datetime import datetime

    from racewright.store.device_file import UNUSED_S

    def day(seconds: int) -> str:
        return datetime.fromtimestamp(seconds).strftime("%Y-%m-%d %H:%M")

    rows = [("device", "paired", "last seen", "is told")]
    rows += [(each.name, day(each.first_seen), day(each.last_seen), _kinds(each)) for each in devices]
    wide = [max(len(row[column]) for row in rows) for column in range(4)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip() for row in rows]
    return "\n".join([*lines, f"A device that has not asked for {UNUSED_S // 86400} days has to pair again."])


def _kinds(device: Device) -> str:
    return ", ".join(device.reads) or "nothing"
