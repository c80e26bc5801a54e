"""Every part of others that is shipped comes with the text of its license, readable from the page, also offline."""

from __future__ import annotations

import gzip
import json
import zipfile
from importlib.resources import files
from pathlib import Path

import pytest

from racewright.web.site_files import site_files

ROOT = Path(__file__).parents[2]
SITE = files("racewright.web").joinpath("site")
NOTICES = SITE.joinpath("notices.txt").read_text(encoding="utf-8")
FLAT = " ".join(NOTICES.split())

#: what is found in the interpreter's code -> words of the license that goes with it
IN_THE_INTERPRETER = {
    b"Copyright (c) 2001 Python Software Foundation": "PYTHON SOFTWARE FOUNDATION LICENSE VERSION 2",
    b"Stichting Mathematisch Centrum": "CWI LICENSE AGREEMENT FOR PYTHON 0.9.0 THROUGH 1.2",
    b"Jean-loup Gailly": "Jean-loup Gailly and Mark Adler This software is provided 'as-is'",
    b"BZ2_bzlibVersion": "Julian R Seward",
    b"lzma_version_number": "Lasse Collin",
    b"ZSTD_versionNumber": "Neither the name Facebook, nor Meta",
    b"sqlite3_libversion": "public domain. It comes with a blessing",
    b"ffi_call": "Anthony Green",
    b"PyInit_pyexpat": "Expat maintainers Permission is hereby granted",
    b"libmpdec": "Stefan Krah",
    b"Hacl_": "INRIA, CMU and Microsoft Corporation",
    b"_Unwind_RaiseException": "LLVM Exceptions to the Apache 2.0 License",
    b"emscripten": "Emscripten authors, see AUTHORS file",
    b"PyInit__random": "Makoto Matsumoto and Takuji Nishimura",
    b"strtod": "Rich Felker",
}


@pytest.mark.parametrize("found", IN_THE_INTERPRETER)
def test_a_library_inside_the_interpreter_has_its_license_text(found: bytes) -> None:
    code = gzip.decompress(SITE.joinpath("engine/pyodide.asm.wasm.gz").read_bytes())
    assert found in code, "no longer shipped: its text can go"
    assert IN_THE_INTERPRETER[found] in FLAT


def test_every_package_that_the_page_is_built_from_has_its_license_text() -> None:
    wanted = {
        "preact": "Jason Miller Permission is hereby granted",
        "three": "three.js authors Permission is hereby granted",
        "vite": "VoidZero Inc. and Vite contributors Permission is hereby granted",
        "pyodide": "Mozilla Public License Version 2.0",
    }
    package = json.loads((ROOT / "web-ui" / "package.json").read_text(encoding="utf-8"))
    types, checkers = {"@types/node", "@types/three", "typescript"}, {"axe-core", "oxlint", "oxlint-tsgolint"}
    browsers = {"playwright-core", "ws"}  # what drives the browsers of the tests
    tools = {*types, *checkers, *browsers}  # nothing of these is shipped
    assert {*package["dependencies"], *package["devDependencies"]} - tools == set(wanted)
    for name, words in wanted.items():
        assert words in FLAT, name
    assert "https://github.com/pyodide/pyodide" in NOTICES, "where the sources are, as its license asks"


def test_every_package_among_the_python_files_has_its_license_text() -> None:
    with SITE.joinpath("engine/python_stdlib.zip").open("rb") as file, zipfile.ZipFile(file) as parts:
        texts = [parts.read(name).decode() for name in parts.namelist() if name.endswith("/LICENSE")]
        assert {name.partition("/")[0] for name in parts.namelist()} >= {"msgspec", "msgspec-0.22.0.dist-info"}
    assert len(texts) == 1
    assert texts[0].strip() in NOTICES


def test_the_font_has_both_its_licenses() -> None:
    text = files("racewright.drawing").joinpath("fonts/LICENSE").read_text(encoding="utf-8")
    assert "by Bitstream, Inc. All Rights Reserved" in text
    assert "by Tavmjong Bah. All Rights Reserved" in text
    assert text.count("THE FONT SOFTWARE IS PROVIDED") == 2


def test_the_texts_are_a_file_of_the_page_that_its_job_screen_leads_to() -> None:
    found = site_files()
    assert b"notices.txt" in found["sw.js"].body, "kept for use without a network"
    script = next(
        item.body for name, item in found.items() if name.startswith("assets/index-") and name.endswith(".js")
    )
    assert b"./notices.txt" in script
