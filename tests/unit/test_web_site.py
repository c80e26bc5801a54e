"""The static page: what is served, packed, written; the engine's files; the description of the questions."""

from __future__ import annotations

import gzip
import hashlib
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from web_client import client, page_files

from racewright.errors import InputError
from racewright.web import site_files as site
from racewright.web.openapi import openapi
from racewright.web.packed import takes_gzip

ROOT = Path(__file__).resolve().parents[2]


def test_page_is_served_packed_and_kept(tmp_path: Path) -> None:
    asker = client(tmp_path)
    got = asker.get("/")
    assert (got.status_code, got.text) == (200, "<!doctype html>")
    assert got.headers["cache-control"] == "no-cache"
    assert asker.get("/", headers={"if-none-match": got.headers["etag"]}).status_code == 304
    script = asker.get("/assets/a.js", headers={"accept-encoding": "identity"})
    assert script.content == page_files()["assets/a.js"].body
    assert "immutable" in script.headers["cache-control"]
    assert asker.head("/").status_code == 200


@pytest.mark.parametrize(
    ("accepted", "packed"),
    [
        ("gzip", True),
        ("br, GZIP;q=0.5", True),
        ("*", True),
        ("identity, *;q=0.1", True),
        ("", False),
        ("gzip;q=0", False),
        ("gzip; q=0.000, *", False),
        ("*;q=0", False),
        ("gzip;q=many", False),
        ("notgzipish", False),
        ("identity", False),
    ],
)
def test_a_file_is_sent_packed_to_who_takes_that_alone(tmp_path: Path, accepted: str, packed: bool) -> None:
    assert takes_gzip(accepted) is packed
    asker = client(tmp_path)
    if not packed:
        got = asker.get("/assets/a.js", headers={"accept-encoding": accepted})
        assert "content-encoding" not in got.headers
        assert got.content == page_files()["assets/a.js"].body


def test_the_packed_form_has_a_tag_of_its_own(tmp_path: Path) -> None:
    asker = client(tmp_path)
    plain = asker.head("/assets/a.js", headers={"accept-encoding": "identity"}).headers
    packed = asker.head("/assets/a.js", headers={"accept-encoding": "gzip"}).headers
    assert (packed["content-encoding"], plain["vary"], packed["vary"]) == ("gzip", "accept-encoding", "accept-encoding")
    assert plain["etag"] != packed["etag"]
    for had, takes, status in (
        (plain["etag"], "identity", 304),
        (plain["etag"], "gzip", 200),
        (f'"other", W/{packed["etag"]}', "gzip", 304),
        (packed["etag"], "identity", 200),
    ):
        asked = {"if-none-match": had, "accept-encoding": takes}
        assert asker.head("/assets/a.js", headers=asked).status_code == status, asked


def test_engine_zip_is_reproducible_and_runs_alone() -> None:
    raw = site.engine_zip(None)
    assert raw == site.engine_zip(None)
    names = zipfile.ZipFile(io.BytesIO(raw)).namelist()
    assert "racewright/browser.py" in names
    assert "racewright/catalogue/data/raceways.csv" in names
    assert not [n for n in names if n.startswith(("racewright/cli/", "racewright/web/")) or n.endswith(".ttf")]
    assert len(raw) < 900_000


def compiled_engine(**changed: bytes) -> bytes:
    """A stand-in for the compiled engine of the installed package; `changed`: sources that it was made from instead."""
    out = io.BytesIO()
    sources = site.engine_sources() | {f"racewright/{name}.py": raw for name, raw in changed.items()}
    with zipfile.ZipFile(out, "w") as bundle:
        for name, raw in sources.items():
            bundle.writestr(name + "c" if name.endswith(".py") else name, b"compiled " + raw)
        digests = {name: hashlib.sha256(raw).hexdigest() for name, raw in sources.items()}
        bundle.writestr(site.DIGESTS, json.dumps(digests))
    return out.getvalue()


def test_compiled_engine_is_given_as_kept_where_it_is_that_of_the_package() -> None:
    kept = compiled_engine()
    assert site.engine_zip(kept) == kept


def test_what_changed_since_the_engine_was_compiled_goes_in_as_it_is_now() -> None:
    kept = compiled_engine(browser=b"old = True\n", gone=b"dropped = True\n")
    mixed = zipfile.ZipFile(io.BytesIO(site.engine_zip(kept)))
    names = set(mixed.namelist())
    assert mixed.read("racewright/browser.py") == site.engine_sources()["racewright/browser.py"]
    assert not {"racewright/browser.pyc", "racewright/gone.pyc", "racewright/gone.py"} & names
    assert [name for name in names if name.endswith(".py")] == ["racewright/browser.py"]
    assert mixed.read("racewright/errors.pyc").startswith(b"compiled ")
    assert mixed.read("racewright/catalogue/data/raceways.csv").startswith(b"type,")
    assert site.DIGESTS not in names


def test_engine_of_the_zip_answers_without_yaml_numpy_reportlab(tmp_path: Path) -> None:
    """The packed engine alone and packed, in a Python that refuses what a browser does not have."""
    (tmp_path / "e.zip").write_bytes(site.engine_zip(None))
    code = f"""
import sys
sys.path = [p for p in sys.path if not p.endswith('src')]
sys.path.insert(0, {str(tmp_path / "e.zip")!r})
class No:
    def find_spec(self, name, path=None, target=None):
        if name.split('.')[0] in ('yaml', 'numpy', 'reportlab', 'scipy', 'starlette', 'highspy', 'resvg_py', 'socket'):
            raise ImportError(name)
sys.meta_path.insert(0, No())
import json
from racewright import browser
assert browser.__file__.startswith({str(tmp_path)!r})
walk = [{{"leg": "50"}}, {{"turn": "away"}}, {{"leg": "30"}}]
survey = {{"run": {{"name": "Shed", "raceway": "EMT 1/2", "walk": walk}}}}
for name, request in (("plan", {{"survey": survey, "pictures": ["side", "card", "strip"]}}),
                      ("practice", {{"count": 7}}), ("catalogue", {{}}), ("schema", {{}}),
                      ("tweak", {{"survey": survey, "measured": [{{"what": "angle", "number": 1, "angle_deg": 88}}]}})):
    got = json.loads(browser.ask_json(name, json.dumps(request)))
    assert "error" not in got, got
print("all answered")
"""
    done = subprocess.run(
        [sys.executable, "-S", "-c", _with_msgspec(code)], capture_output=True, text=True, timeout=120
    )
    assert done.stdout.strip() == "all answered", done.stderr[-2000:]


def _with_msgspec(code: str) -> str:
    import msgspec

    folder = str(Path(msgspec.__file__).resolve().parents[1])
    return f"import sys; sys.path.append({folder!r})\n" + code


def test_an_installation_without_the_page_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(site, "files", lambda _: tmp_path)
    with pytest.raises(InputError, match="not in this installation"):
        site.site_files()


def test_committed_page_is_whole() -> None:
    """Every file that the page loads is there; nothing names another host; the list of the worker is filled in."""
    files = site.site_files()
    need = ("index.html", "sw.js", "manifest.webmanifest", "notices.txt", "engine/pyodide.mjs", "engine/msgspec.wasm")
    assert set(need) <= set(files)
    assert files["engine/pyodide.asm.wasm"].body[:4] == b"\0asm"
    worker = files["sw.js"].body.decode()
    assert "FILES OF THE SITE" not in worker
    assert files["engine/racewright.zip"].digest in worker
    assert json.loads(files["server.json"].body)["server"] is False
    html = files["index.html"].body.decode()
    assert "http://" not in html
    assert "https://" not in html
    assert not [n for n in files if n.endswith(".map")]
    assert json.loads(files["engine/pyodide-lock.json"].body)["packages"] == {}


def test_site_command_writes_the_files(tmp_path: Path) -> None:
    out = tmp_path / "out"
    (out / "engine").mkdir(parents=True)
    (out / "engine" / "racewright.zip.gz").write_bytes(b"of a version before")
    written = site.write_site(out)
    assert sorted(written) == sorted(path for path in out.rglob("*") if path.is_file())
    assert out / "engine" / "racewright.zip" in written
    packed = [path for path in written if path.suffix == ".gz"]
    assert {"notices.txt.gz", "pyodide.asm.wasm.gz", "pyodide.asm.mjs.gz"} <= {path.name for path in packed}
    for path in packed:
        assert gzip.decompress(path.read_bytes()) == path.with_suffix("").read_bytes(), path
    assert "racewright.zip.gz" not in {path.name for path in packed}, "a zip is compressed already"


def test_sizes_of_a_first_visit_are_those_of_the_files_that_are_sent(tmp_path: Path) -> None:
    sizes = {"index.html": 100, "index.html.gz": 40, "assets/index-a.js": 3000, "assets/index-a.js.gz": 900}
    sizes |= {"engine/python.wasm": 50_000, "engine/python.wasm.gz": 20_000, "engine/racewright.zip": 7000}
    for name, size in sizes.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"x" * size)
    told = site.first_visit([tmp_path / name for name in sizes])
    assert told == {"page": (940, 3100), "all": (27_940, 60_100)}


def test_site_command_refuses_what_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "blocked").write_text("")
    with pytest.raises(InputError, match="cannot be written"):
        site.write_site(tmp_path / "blocked")


def test_openapi_describes_every_operation() -> None:
    from racewright.operations.operations import OPERATIONS

    made = openapi()
    assert set(made["paths"]) == {f"/ask/{name}" for name in OPERATIONS} | {"/records", "/records/log"}
    text = json.dumps(made)
    refs = {part.split('"')[0] for part in text.split('"$ref": "#/components/schemas/')[1:]}
    assert refs <= set(made["components"]["schemas"])


@pytest.mark.parametrize("name", ["make_types.py", "make_forms.py"])
def test_typescript_types_and_forms_are_up_to_date(name: str) -> None:
    script = ROOT / "web-ui" / "scripts" / name
    done = subprocess.run([sys.executable, str(script), "--check"], env={"PYTHONPATH": str(ROOT / "src")}, check=False)
    assert done.returncode == 0, f"run: python web-ui/scripts/{name}"
