"""Settings of the server."""

from __future__ import annotations

from pathlib import Path

import msgspec

from racewright.store.run_store import RunStore
from racewright.web.pairing import Pairing

MOST_BODY = 256 * 1024
CSP = (
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


class ServerSettings(msgspec.Struct, kw_only=True):
    """`hosts` are the values of the Host header that are answered. `pairing` None: no code is wanted (this machine
    only). `runs` keeps shared runs. Times in seconds: for a question, for a body. `benders_file`: the user's file."""

    hosts: frozenset[str]
    runs: RunStore
    pairing: Pairing | None = None
    ask_limit_s: float = 15.0
    body_limit_s: float = 10.0
    most_at_once: int = 4
    pace: bool = True
    benders_file: Path | None = None
