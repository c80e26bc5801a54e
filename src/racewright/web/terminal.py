"""What the server says on its terminal: where it is, how a phone comes in, who came in."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from racewright.store.job_backup import NUMBERS_AGAIN

if TYPE_CHECKING:
    from racewright.errors import RacewrightError
    from racewright.store.device_file import Device
    from racewright.web.authority import Certificates
    from racewright.web.pairing import Pairing


def say(
    port: int,
    pairing: Pairing | None,
    paired: int,
    made: Certificates | None,
    trust_port: int,
    addresses: Sequence[str],
) -> None:
    """That it listens, and where. `paired`: so many devices are; `made`: with https, `trust_port` where phones get
    the authority's certificate."""
    if pairing is None:
        print(f"Racewright is at http://127.0.0.1:{port}/ for this machine only. Ctrl-C stops it.", flush=True)
        return
    named = [address for address in addresses if made is None or address in made.names]
    scheme, first = "https" if made else "http", (*named, "ADDRESS")[0]
    say_addresses(scheme, named, port)
    if made:
        if other := [address for address in addresses if address not in named]:
            print(f"Not at {', '.join(other)}: a certificate is made for private addresses only.")
        trust = f"http://{first}:{trust_port}/"
        print(f"First time on a phone: open {trust} and do its four steps, so that the phone trusts this server.")
        if named:
            _qr(trust)
        print("SHA-256 fingerprint of its authority, to compare on the phone:")
        print(f"  {made.fingerprint[:47]}\n  {made.fingerprint[48:]}")
        print(f"The authority ends on {made.authority_ends:%Y-%m-%d}: every phone then has to be told anew.")
    print(f"Pairing code: {pairing.shown}   (for one device, then the next is shown; for your own people only)")
    print(f"Devices paired: {paired}   (`racewright devices` lists and revokes them)")
    if named:
        _qr(f"{scheme}://{first}:{port}/#code={pairing.code}")
    if not made:
        print(
            "Plain http: anybody on this network can listen, take a device's place and write. Phones keep nothing for"
        )
        print("use without a network.")
    print("Ctrl-C stops it.", flush=True)


def say_addresses(scheme: str, addresses: Sequence[str], port: int) -> None:
    """Where it can be reached, at the start and whenever that changes."""
    if not addresses:
        print("No phone can reach Racewright now: this machine has no address on a network that it can serve.")
        print("Until it has one, it is there for this machine only:")
        print(f"  {scheme}://127.0.0.1:{port}/", flush=True)
        return
    print("Racewright can be reached from the network:")
    for address in addresses:
        print(f"  {scheme}://{address}:{port}/", flush=True)


def say_paired(device: Device, pairing: Pairing) -> None:
    """A device came in: a stranger's is seen, and the next person can be given a code."""
    print(f"Paired: {device.name}. Pairing code for the next device: {pairing.shown}", flush=True)


def say_trouble(err: RacewrightError) -> None:
    """Something went wrong while it runs on."""
    print(f"racewright serve: {err}", flush=True)


def say_went_back(device: Device | None, told: int, last: int) -> None:
    """A device says that it was told of a later change than the file has, and nothing here can prove it or gainsay it.
    `told`, `last`: the numbers of the two."""
    who = f"'{device.name}'" if device else "the page on this machine"
    print(
        f"racewright serve: {who} says that it was told of change {told} here, and the shop file's last is"
        f" {last}. Unless that is not so, or another shop's file was served here before, this one was put back from a"
        f" backup: {NUMBERS_AGAIN}.",
        flush=True,
    )


def _qr(address: str) -> None:
    try:
        import segno
    except ImportError:
        print("(a QR code of the address needs: pip install 'racewright[web]')", flush=True)
        return
    segno.make(address, error="m").terminal(out=sys.stdout, border=2, compact=True)
