"""A client for the application without a network, as a browser on this machine would come to it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("starlette")
pytest.importorskip("httpx")

from starlette.testclient import TestClient

from racewright.store.served_shop import ServedShop
from racewright.web.app import build_app
from racewright.web.guard import ServerSettings
from racewright.web.pairing import Pairing
from racewright.web.questions import Questions
from racewright.web.site_files import SiteFile

HOST = "127.0.0.1:8642"
#: One for all tests of a process: each would start its own.
QUESTIONS = Questions(15.0)


def page_files() -> dict[str, SiteFile]:
    """A page of two files, so that no test depends on the built one."""
    index = SiteFile(body=b"<!doctype html>", packed=None, media="text/html; charset=utf-8", digest="d1")
    script = SiteFile(body=b"x" * 2000, packed=b"packed", media="text/javascript; charset=utf-8", digest="d2")
    return {"index.html": index, "assets/a.js": script}


def client(
    folder: Path, *, shop: ServedShop | None = None, pairing: Pairing | None = None, **settings: Any
) -> TestClient:
    """A client of an application with this shop file; without, of one in `folder`."""
    have = ServerSettings(
        hosts=frozenset({HOST}),
        shop=shop or ServedShop(folder / "jobs.rwshop"),
        pairing=pairing,
        **{"questions": QUESTIONS, **settings},
    )
    return TestClient(build_app(have, page_files()), base_url=f"http://{HOST}", raise_server_exceptions=False)
