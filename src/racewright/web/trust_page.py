"""What a phone opens once, over plain http, to trust the shop's own authority: the certificate and the steps."""

from __future__ import annotations

from html import escape

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp

from racewright.web.authority import Certificates

FILE = "racewright-authority.crt"
_PAGE = """<!doctype html>
<html lang="en-US"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>Trust the shop's server</title>
<style>body {{ font: 1.1rem/1.5 system-ui, sans-serif; margin: 1rem auto; max-width: 40rem; padding: 0 1rem }}
a.key {{ display: inline-block; padding: .8rem 1.2rem; border: 2px solid; border-radius: .4rem }}
code {{ word-break: break-all }}</style>
<h1>Trust the shop's server</h1>
<p>Once on each phone or desk, so that it can tell this server from another and nobody listens in. Racewright then works
without a network too.</p>
<p><a class="key" href="{file}">1. Get the certificate</a></p>
<h2>2. Compare</h2>
<p>Where the phone shows its SHA-256 fingerprint, it has to be the one on the server's own terminal. If it is another,
stop: somebody else answers on this network.</p>
<h2>3. Install it</h2>
<p><b>iPhone, iPad:</b> allow the download, then Settings, Profile Downloaded, Install. Then Settings, General, About,
Certificate Trust Settings: switch it on.</p>
<p><b>Android:</b> Settings, Security, Encryption &amp; credentials, Install a certificate, CA certificate; choose
{file}. Menu names vary.</p>
<p><b>Desk:</b> add it to the authorities that the system, or the browser, trusts for web sites.</p>
<h2>4. Open Racewright</h2>
<p><a href="{page}">{page}</a>, and give the pairing code from the terminal.</p>
<p>This authority can vouch for private network addresses and for this machine's name, and for no site of the internet.
It ends on {ends}. To take it away again, remove it where you installed it.</p>
</html>
"""


def trust_app(made: Certificates, page: str) -> ASGIApp:
    """Serves the steps and the authority's certificate, and nothing else. `page`: where Racewright then is. The
    fingerprint stands on the terminal alone: whoever gave out another certificate here would show another."""
    words = _PAGE.format(file=FILE, page=escape(page), ends=f"{made.authority_ends:%Y-%m-%d}")
    fixed = {
        "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'",
        "x-content-type-options": "nosniff",
        "cache-control": "no-store",
    }

    async def steps(_: Request) -> Response:
        return Response(words, headers=fixed, media_type="text/html; charset=utf-8")

    async def certificate(_: Request) -> Response:
        return Response(made.authority.read_bytes(), headers=fixed, media_type="application/x-x509-ca-cert")

    return Starlette(routes=[Route("/", steps), Route(f"/{FILE}", certificate)])
