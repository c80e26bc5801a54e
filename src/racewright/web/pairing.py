"""The pairing code of a server that the network can reach: made new at every start, shown on the terminal only."""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Callable

#: Letters and digits that are not taken for one another when read aloud or in bad light.
ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
CODE_LENGTH = 8
COOKIE = "racewright_pair"
MOST_DEVICES = 40

MOST_MISSES = 5
WAIT_S = 60.0
MOST_MISSES_IN_ALL = 60


class Pairing:
    """The code, the devices that gave it, and who has guessed wrong."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.code = "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))
        self._clock = clock
        self._names: dict[str, str] = {}  # of the devices, by token
        self._misses: dict[str, list[float]] = {}
        self._all: list[float] = []

    @property
    def shown(self) -> str:
        """'ABCD-2345'."""
        return f"{self.code[:4]}-{self.code[4:]}"

    def wait_s(self, address: str) -> float:
        """How long this address has to wait before it may try again; 0 = now."""
        now = self._clock()
        own = [t for t in self._misses.get(address, []) if now - t < WAIT_S]
        self._all = [t for t in self._all if now - t < WAIT_S]
        if own:
            self._misses[address] = own
        else:
            self._misses.pop(address, None)
        if len(own) >= MOST_MISSES:
            return WAIT_S - (now - own[-MOST_MISSES])
        if len(self._all) >= MOST_MISSES_IN_ALL:
            return WAIT_S - (now - self._all[0])
        return 0.0

    def try_code(self, given: str, address: str, name: str = "") -> str | None:
        """A token for the cookie of the device of this name, or None for a wrong code. Ask `wait_s` first."""
        plain = "".join(c for c in given.upper() if c.isalnum())[:64]
        if not hmac.compare_digest(plain.encode(), self.code.encode()):
            self._misses.setdefault(address, []).append(self._clock())
            self._all.append(self._clock())
            return None
        self._misses.pop(address, None)
        token = secrets.token_urlsafe(32)
        while len(self._names) >= MOST_DEVICES:
            self._names.pop(next(iter(self._names)))
        self._names[token] = self._free_name("".join(c for c in name if c.isprintable()).strip()[:40] or "a device")
        return token

    def name_of(self, token: str | None) -> str | None:
        """The name of the device that was given this token for the code; None where none was."""
        if not token:
            return None
        found = [name for known, name in self._names.items() if hmac.compare_digest(token.encode(), known.encode())]
        return found[0] if found else None

    def _free_name(self, name: str) -> str:
        """This name, or with a number where another device has it."""
        taken = set(self._names.values())
        return next(one for one in (name, *(f"{name} {n}" for n in range(2, MOST_DEVICES + 2))) if one not in taken)


class Pace:
    """So many requests at once and a second for each address; kept for the addresses last seen only."""

    def __init__(
        self, burst: float = 80.0, a_second: float = 25.0, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._burst, self._rate, self._clock = burst, a_second, clock
        self._left: dict[str, tuple[float, float]] = {}

    def take(self, address: str) -> bool:
        """Whether this address may ask now."""
        now = self._clock()
        left, then = self._left.pop(address, (self._burst, now))
        left = min(self._burst, left + (now - then) * self._rate)
        allowed = left >= 1.0
        self._left[address] = (left - 1.0 if allowed else left, now)
        while len(self._left) > 500:
            self._left.pop(next(iter(self._left)))
        return allowed
