"""Runs the server until it is stopped, and says on the terminal where it is. Nothing is sent to find that out."""

from __future__ import annotations

import asyncio
import signal
import socket
import ssl
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NoReturn

from racewright.errors import InputError, MissingExtra
from racewright.store.device_file import DeviceFile
from racewright.store.places import config_folder
from racewright.store.served_backups import ServedBackups
from racewright.store.served_shop import ServedShop
from racewright.web import terminal
from racewright.web.pairing import Pairing

if TYPE_CHECKING:
    import uvicorn
    from starlette.types import ASGIApp

    from racewright.web.guard import ServerSettings

#: Who may reach the server: this machine only, or the network, without or with encryption.
Lan = Literal["", "http", "https"]
#: So often the machine's addresses are looked at: a laptop changes them, and a lease ends.
_LOOK_S = 30.0
_HANDSHAKE_S = 10.0
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


class Secure:
    """The certificates of a server that is reached by https, and its own context for them. Raises as `certificates`."""

    def __init__(self) -> None:
        from racewright.web.authority import certificates

        self._make, self._folder = certificates, config_folder() / "https"
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.renew(lan_addresses())

    def renew(self, addresses: tuple[str, ...]) -> None:
        """A certificate for these addresses; whoever connects from now on is shown it."""
        self.made = self._make(self._folder, addresses)
        self.context.load_cert_chain(self.made.chain, self.made.key)

    @property
    def ending(self) -> bool:
        """Whether the server's certificate is soon at its end."""
        return self.made.server_ends - datetime.now(UTC) < timedelta(days=7)


def serve(port: int, *, lan: Lan, shop: Path) -> int:
    """Serve until stopped. Raises MissingExtra without starlette and uvicorn, InputError for a port in use."""
    try:
        import uvicorn

        from racewright.web.app import build_app
        from racewright.web.authority import private
        from racewright.web.connections import Connection, Troubles, have_room
        from racewright.web.guard import ServerSettings
        from racewright.web.questions import Questions
        from racewright.web.trust_page import trust_app
    except ImportError:
        raise MissingExtra("the server", "web") from None
    secure = Secure() if lan == "https" else None
    sock = bound_socket(port, lan=bool(lan))
    port = sock.getsockname()[1]
    pairing = Pairing(DeviceFile(shop), paired=terminal.say_paired) if lan else None
    paired = len(pairing.devices.listed()) if pairing else 0
    hosts = allowed_hosts(port, lan=bool(lan))
    settings = ServerSettings(hosts=hosts, shop=ServedShop(shop), pairing=pairing, secure=bool(secure))
    questions = settings.questions = Questions(settings.ask_limit_s)
    doors = [(sock, _config(build_app(settings)), secure.context if secure else None)]
    trust_port = 0
    if secure:
        trust = _socket_near(port)
        trust_port = trust.getsockname()[1]
        page = f"https://{(*private(lan_addresses()), '127.0.0.1')[0]}:{port}/"
        doors.append((trust, _config(trust_app(secure.made, page)), None))

    class Listening(uvicorn.Server):
        """Says where it is once it listens: a Ctrl-C pressed at the words is then its own, and none is lost."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup([])
            loop = asyncio.get_running_loop()
            loop.set_exception_handler(Troubles())
            for at, config, context in doors:

                def connected(config: uvicorn.Config = config) -> Connection:
                    return Connection(config=config, server_state=self.server_state, app_state={})

                wait_s = _HANDSHAKE_S if context else None
                made = await loop.create_server(connected, sock=at, ssl=context, ssl_handshake_timeout=wait_s)
                self.servers.append(made)
            self.looking = loop.create_task(_look(settings, port, secure)) if lan else None
            terminal.say(port, pairing, paired, secure.made if secure else None, trust_port, lan_addresses())

    signal.signal(signal.SIGTERM, _end)  # uvicorn raises it again when it is done; by itself it would leave no backup
    have_room()
    with closing(questions), ServedBackups(settings.shop):
        questions.warm()
        Listening(doors[0][1]).run(sockets=[])
    return 0


def _config(app: ASGIApp) -> uvicorn.Config:
    """How uvicorn serves this application."""
    import uvicorn

    from racewright.web.connections import Connection

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
    config.load()
    return config


def _socket_near(port: int) -> socket.socket:
    """The next port, or any."""
    try:
        return bound_socket(port + 1, lan=True)
    except (InputError, OverflowError):
        return bound_socket(0, lan=True)


async def _look(settings: ServerSettings, port: int, secure: Secure | None) -> None:
    """Go with the machine's addresses as they change."""
    from racewright.web.authority import private

    before = lan_addresses()
    while True:
        await asyncio.sleep(_LOOK_S)
        now = lan_addresses()
        if now == before and not (secure and secure.ending):
            continue
        try:
            if secure:
                secure.renew(now)
        except InputError as err:
            terminal.say_trouble(err)
            continue
        settings.hosts, before = allowed_hosts(port, lan=True), now
        terminal.say_addresses("https" if secure else "http", private(now) if secure else now, port)


def _end(number: int, _: object) -> NoReturn:
    raise SystemExit(128 + number)
