"""Runs the server until it is stopped, and says on the terminal where it is. Nothing is sent to find that out."""

from __future__ import annotations

import signal
import socket
import sys
from contextlib import closing
from pathlib import Path
from typing import NoReturn

from racewright.errors import InputError, MissingExtra
from racewright.store.device_file import Device, DeviceFile
from racewright.store.served_backups import ServedBackups
from racewright.store.served_shop import ServedShop
from racewright.web.pairing import Pairing

LOCAL = ("127.0.0.1", "localhost", "[::1]")


def lan_addresses() -> tuple[str, ...]:
    """This machine's IPv4 addresses on its networks, the one that the default route uses first."""
    found: list[str] = []
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        probe.connect(("192.0.2.1", 9))  # an address for documentation; connecting a datagram socket sends nothing
        found.append(probe.getsockname()[0])
    except OSError:
        pass
    finally:
        probe.close()
    try:
        for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found.append(str(info[4][0]))
    except OSError:
        pass
    return tuple(dict.fromkeys(a for a in found if not a.startswith("127.")))


def allowed_hosts(port: int, *, lan: bool) -> frozenset[str]:
    """Values of the Host header that this server answers to."""
    names = list(LOCAL)
    if lan:
        own = socket.gethostname().lower()
        names += [*lan_addresses(), own, f"{own.partition('.')[0]}.local"]
    with_port = {f"{name}:{port}" for name in names}
    return frozenset(with_port | (set(names) if port == 80 else set()))


def bound_socket(port: int, *, lan: bool) -> socket.socket:
    """A listening socket on 127.0.0.1, or on all addresses with `lan`; port 0 takes a free one.

    Raises InputError where the port is taken or not allowed.
    """
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind(("0.0.0.0" if lan else "127.0.0.1", port))
    except OSError as err:
        sock.close()
        raise InputError(
            f"port {port} cannot be used: {err.strerror}.", hint="choose another, or --port 0 for any", field="port"
        ) from None
    sock.listen()  # who comes before the server is up waits, and is not turned away
    return sock


def serve(port: int, *, lan: bool, shop: Path) -> int:
    """Serve until stopped. Raises MissingExtra without starlette and uvicorn, InputError for a port in use."""
    try:
        import uvicorn

        from racewright.web.app import build_app
        from racewright.web.connections import Connection
        from racewright.web.guard import ServerSettings
        from racewright.web.questions import Questions
    except ImportError:
        raise MissingExtra("the server", "web") from None
    sock = bound_socket(port, lan=lan)
    port = sock.getsockname()[1]
    pairing = Pairing(DeviceFile(shop), paired=_say_paired) if lan else None
    settings = ServerSettings(hosts=allowed_hosts(port, lan=lan), shop=ServedShop(shop), pairing=pairing)
    questions = settings.questions = Questions(settings.ask_limit_s)
    app = build_app(settings)

    class Listening(uvicorn.Server):
        """Says where it is once it listens: a Ctrl-C pressed at the words is then its own, and none is lost."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            _say(port, pairing)

    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        http=Connection,
        timeout_keep_alive=10,
        timeout_graceful_shutdown=3,
        h11_max_incomplete_event_size=16 * 1024,
        ws="none",
        lifespan="off",
    )
    signal.signal(signal.SIGTERM, _end)  # uvicorn raises it again when it is done; by itself it would leave no backup
    with closing(questions), ServedBackups(settings.shop):
        questions.warm()
        Listening(config).run(sockets=[sock])
    return 0


def _end(number: int, _: object) -> NoReturn:
    raise SystemExit(128 + number)


def _say(port: int, pairing: Pairing | None) -> None:
    if pairing is None:
        print(f"Racewright is at http://127.0.0.1:{port}/ for this machine only. Ctrl-C stops it.", flush=True)
        return
    addresses = lan_addresses() or ("127.0.0.1",)
    print("Racewright can be reached from the network:", flush=True)
    for address in addresses:
        print(f"  http://{address}:{port}/")
    print(f"Pairing code: {pairing.shown}   (for one device, then the next is shown; for your own people only)")
    print(f"Devices paired: {len(pairing.devices.listed())}   (`racewright devices` lists and revokes them)")
    _qr(f"http://{addresses[0]}:{port}/#code={pairing.code}")
    print("Plain http: anyone on this network can listen in. Ctrl-C stops it.", flush=True)


def _say_paired(device: Device, pairing: Pairing) -> None:
    """A device came in: a stranger's is seen, and the next person can be given a code."""
    print(f"Paired: {device.name}. Pairing code for the next device: {pairing.shown}", flush=True)


def _qr(address: str) -> None:
    try:
        import segno
    except ImportError:
        print("(a QR code of the address needs: pip install 'racewright[web]')", flush=True)
        return
    segno.make(address, error="m").terminal(out=sys.stdout, border=2, compact=True)
