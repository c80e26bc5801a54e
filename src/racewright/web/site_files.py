"""Every file of the static page: the built page that comes with the package, and the engine for the browser.

The page is built once (web-ui/) and kept below `site/`; large parts are kept as .gz. The Python engine is kept compiled
for the browser's interpreter, with the digest of every source: a file that has changed since goes in as it is now, so
that page and engine are never of two versions.
"""

from __future__ import annotations

import gzip
import hashlib
import io
import json
import zipfile
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

import msgspec

from racewright import __version__
from racewright.errors import InputError
from racewright.exports.output_file import write_whole

_MEDIA = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".wasm": "application/wasm",
    ".zip": "application/zip",
    ".whl": "application/zip",
    ".txt": "text/plain; charset=utf-8",
    ".woff2": "font/woff2",
}
_OLD = (2026, 1, 1, 0, 0, 0)
#: Not needed in the browser: the command line and its work on many cores, the server, what is kept in files.
_LEFT_OUT = {"cli", "web", "store", "exports", "__pycache__", "__main__.py", "job/batch.py"}
_ENGINE = "engine/racewright.zip"
DIGESTS = "racewright/digests.json"
_FILES_SLOT = '"FILES OF THE SITE"'


class SiteFile(msgspec.Struct, frozen=True, kw_only=True):
    """One file: its bytes as they are, the same compressed (or None), its media type and a short digest."""

    body: bytes
    packed: bytes | None
    media: str
    digest: str


def engine_sources() -> dict[str, bytes]:
    """What the browser's engine is made from: 'racewright/...' -> bytes, of the installed package."""
    return {
        f"racewright/{name}": node.read_bytes()
        for name, node in sorted(_walk(files("racewright"), ""))
        if name.endswith((".py", ".csv", ".json", ".toml", ".txt")) and not {name, *name.split("/")} & _LEFT_OUT
    }


def engine_zip(kept: bytes | None) -> bytes:
    """The engine for the browser: `kept`, the compiled one, where it is that of the installed package to the byte.
    Otherwise every file that it lacks or has of another version is in it as installed; the browser then compiles that
    file at each start."""
    parts = engine_sources()
    if kept is not None:
        with zipfile.ZipFile(io.BytesIO(kept)) as bundle:
            digests: dict[str, str] = json.loads(bundle.read(DIGESTS))
            same = [name for name, raw in parts.items() if digests.get(name) == hashlib.sha256(raw).hexdigest()]
            if len(same) == len(parts) == len(digests):
                return kept
            for name in [name for name in same if name.endswith(".py")]:
                del parts[name]
                parts[f"{name}c"] = bundle.read(f"{name}c")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as mixed:
        for name, raw in sorted(parts.items()):
            mixed.writestr(zipfile.ZipInfo(name, date_time=_OLD), raw, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _walk(folder: Traversable, prefix: str) -> list[tuple[str, Traversable]]:
    found: list[tuple[str, Traversable]] = []
    for node in folder.iterdir():
        if node.is_dir():
            if node.name not in ("__pycache__", "site"):
                found += _walk(node, f"{prefix}{node.name}/")
        else:
            found.append((f"{prefix}{node.name}", node))
    return found


def site_files() -> dict[str, SiteFile]:
    """Path -> file, for a static host. Raises InputError where the package was made without the page."""
    folder = files("racewright.web").joinpath("site")
    if not folder.joinpath("index.html").is_file():
        raise InputError(
            "the built page is not in this installation.",
            hint="from a checkout: python web-ui/scripts/build_page.py (needs node), then try again",
        )
    out: dict[str, SiteFile] = {}
    for name, node in _walk(folder, ""):
        raw = node.read_bytes()
        if name.endswith(".gz"):
            name = name.removesuffix(".gz")
            out[name] = _file(name, gzip.decompress(raw), raw)
        else:
            out[name] = _file(name, raw, None)
    kept = out.get(_ENGINE)
    out[_ENGINE] = _file(_ENGINE, engine_zip(kept.body if kept else None), None)
    out["server.json"] = _file("server.json", json.dumps({"server": False, "version": __version__}).encode(), None)
    if "sw.js" in out:
        out["sw.js"] = _file("sw.js", _service_worker(out), None)
    return dict(sorted(out.items()))


def _file(name: str, body: bytes, packed: bytes | None) -> SiteFile:
    ending = "." + name.rpartition(".")[2]
    text = _MEDIA.get(ending, "application/octet-stream")
    if packed is None and len(body) > 1400 and ending in (".html", ".js", ".mjs", ".css", ".json", ".svg", ".txt"):
        packed = gzip.compress(body, 9, mtime=0)
    return SiteFile(body=body, packed=packed, media=text, digest=hashlib.sha256(body).hexdigest()[:16])


def _service_worker(found: dict[str, SiteFile]) -> bytes:
    """The service worker with the list of all files and their digests, which tells it what is new."""
    listed = {name: item.digest for name, item in sorted(found.items()) if name not in ("sw.js", "server.json")}
    text = found["sw.js"].body.decode()
    if _FILES_SLOT not in text:
        raise InputError("the built page's sw.js has no place for the list of files.", hint="build the page again")
    return text.replace(_FILES_SLOT, json.dumps(listed), 1).encode()


def write_site(folder: Path) -> list[Path]:
    """Write the static site below `folder` (made if need be), beside each file its compressed form where it has one,
    for hosts that send it. Raises InputError where it cannot be written."""
    written = []
    for name, item in site_files().items():
        target, packed = folder / name, folder / f"{name}.gz"
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            if item.packed is None:
                packed.unlink(missing_ok=True)  # of a version before: it would be sent in place of the file
        except OSError as err:
            raise InputError(f"{target}: cannot be written: {err.strerror}.", hint="choose another folder") from None
        for path, raw in ((target, item.body), (packed, item.packed)):
            if raw is not None:
                write_whole(path, raw)
                written.append(path)
    return written


def first_visit(written: list[Path]) -> dict[str, tuple[int, int]]:
    """Bytes of a first visit, sent compressed where that form is there, and sent as they are: 'page' until it takes
    input, 'all' with what is kept for use without a network."""
    page, whole = [0, 0], [0, 0]
    for path in written:
        if path.suffix == ".gz":
            continue
        packed = path.with_name(f"{path.name}.gz")
        sent = (packed if packed in written else path).stat().st_size, path.stat().st_size
        early = path.suffix in (".html", ".css") or path.match("assets/index-*.js")
        for total in (whole, page) if early else (whole,):
            total[0] += sent[0]
            total[1] += sent[1]
    return {"page": (page[0], page[1]), "all": (whole[0], whole[1])}
