"""Pairing: a code shown on the server's terminal lets in one device, and is then another."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Callable

from racewright.store.device_file import Device, DeviceFile

#: Letters and digits that are not taken for one another when read aloud or in bad light.
ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
CODE_LENGTH = 8
#: The cookie's name over https and over http: a browser lets no page of http replace one that is for https.
COOKIES = {True: "__Host-racewright_pair", False: "racewright_pair"}

#: After so many wrong codes an address waits until the first of them is so long ago. Each address for itself, and no
#: limit for all together, with which whoever guesses could hold up the right code: of 10^12 codes a thousand guesses a
#: second, from however many addresses, find one in 17 years.
MOST_MISSES = 5
WAIT_S = 60.0
_MOST_ADDRESSES = 10_000


class MustWait(Exception):
    """An address has guessed wrong too often."""

    def __init__(self, wait_s: float) -> None:
        super().__init__(f"wait {wait_s:.0f} s")
        self.wait_s = wait_s


def new_code() -> str:
    """A code that nobody has seen."""
    return "".join(secrets.choice(ALPHABET) for _ in range(CODE_LENGTH))


class Pairing:
    """The code in force, the devices that are let in, and who has guessed wrong. `paired` hears of each new device,
    when the next code is in force already."""

    def __init__(
        self,
        devices: DeviceFile,
        clock: Callable[[], float] = time.monotonic,
        paired: Callable[[Device, Pairing], None] = lambda *_: None,
    ) -> None:
        self.code, self.devices = new_code(), devices
        self._clock, self._paired = clock, paired
        self._misses: dict[str, list[float]] = {}
        self._counting, self._letting_in = threading.Lock(), threading.Lock()

    @property
    def shown(self) -> str:
        """'ABCD-2345'."""
        return f"{self.code[:4]}-{self.code[4:]}"

    def try_code(self, given: str, address: str, name: str) -> tuple[Device, str] | None:
        """The device that is let in under this name, and a token for its cookie; None for a wrong code.

        Raises MustWait, LimitError where no more devices may be paired, StoreTrouble; the code then stays in force.
        Several threads may ask: of those that have the code, one is let in."""
        self._count(address)
        plain = "".join(c for c in given.upper() if c.isalnum())[:64].encode()
        if hmac.compare_digest(plain, self.code.encode()):
            with self._letting_in:
                if hmac.compare_digest(plain, self.code.encode()):
                    with self._counting:
                        self._misses.pop(address, None)
                    device, token = self.devices.let_in(name)
                    self.code = new_code()
                    self._paired(device, self)
                    return device, token
        return None

    def _count(self, address: str) -> None:
        """Count one more guess of this address as a miss, before it is judged: of many at once none is free."""
        with self._counting:
            now = self._clock()
            own = [t for t in self._misses.pop(address, []) if now - t < WAIT_S]
            self._misses[address] = own
            if len(own) >= MOST_MISSES:
                raise MustWait(WAIT_S - (now - own[-MOST_MISSES]))
            own.append(now)
            while len(self._misses) > _MOST_ADDRESSES:
                del self._misses[next(iter(self._misses))]


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
