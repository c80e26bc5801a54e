"""Where the server can be reached: this machine's names and addresses. Nothing is sent to find them."""

from __future__ import annotations

import socket

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
