"""`job bill` and `job cut` on the made-up orchard cooperative."""

from __future__ import annotations

import csv
import json
from decimal import Decimal
from pathlib import Path

import pytest

from racewright.cli.main import main

JOB = Path(__file__).parents[2] / "examples" / "orchard-job.json"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("shop") / "jobs.rwshop"
    assert main(["job", "import", str(JOB), "--shop", str(path)]) == 0
    return str(path)


def test_bill_in_words(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "bill", "--shop", shop, "--split", "areas"]) == 0
    out = capsys.readouterr().out
    assert "EMT 1/2, 10 ft" in out
    assert "Packing shed" in out
    assert "23 items have no price, so the sum for material is too low" in out.split("\n\n")[0]
    assert "not priced" in out  # of an area


def test_bill_as_json_adds_up(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "bill", "--shop", shop, "--json"]) == 0
    bill = json.loads(capsys.readouterr().out)["bill"]
    assert len(bill["runs"]) == 40
    for parts in ("areas", "runs"):
        assert sum(Decimal(p["material"] or 0) for p in bill[parts]) == Decimal(bill["job"]["material"])
    sticks = {one["raceway"]: one["plan"]["new_sticks"] for one in bill["cuts"]}
    for one in bill["job"]["lines"]:
        if one["group"] == "conduit" and one["unit"] == "each":
            assert int(one["quantity"]) == sticks[one["item"].rpartition(", ")[0]]


def test_cut_list_in_words(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["job", "cut", "--shop", shop, "--all", "--raceway", "EMT 3/4"]) == 0
    out = capsys.readouterr().out
    assert "no plan can do with fewer" in out
    assert "saw stop:" in out
    assert "Not on this cut list: EMT 1, EMT 1/2, RMC 1, RMC 3/4" in " ".join(out.split())
    assert "RMC" not in out.split("\n\n", 1)[1]


def test_cut_leaves_out_what_is_bent(shop: str, capsys: pytest.CaptureFixture[str]) -> None:
    def pieces(*more: str) -> int:
        assert main(["job", "cut", "--shop", shop, "--json", *more]) == 0
        return sum(
            len(s["pieces"]) for one in json.loads(capsys.readouterr().out)["cuts"] for s in one["plan"]["sticks"]
        )

    assert pieces() < pieces("--all")


def test_tables_to_files(shop: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for action, ending in (("bill", "csv"), ("cut", "csv"), ("bill", "xlsx"), ("cut", "xlsx")):
        path = tmp_path / f"{action}.{ending}"
        assert main(["job", action, "--shop", shop, "--out", str(path)]) == 0
        assert path.stat().st_size > 1000
    rows = list(csv.reader((tmp_path / "cut.csv").read_text(encoding="utf-8-sig").splitlines()))
    assert [rows[0], rows[5]] == [["NOT INCLUDED"], ["Cut list"]]
    on_hand = [row[0] for row in rows[:5] if row and "On hand, so not bought" in row[0]]
    assert len(on_hand) == 1, "the list takes sticks that a piece may have taken before"
    assert "Look first whether they are there." in on_hand[0]
    assert main(["job", "bill", "--shop", shop, "--out", str(tmp_path / "bill.txt")]) == 2
    assert "wrote" in capsys.readouterr().err


def test_a_list_too_fine_to_prove_keeps_its_own_bound(
    shop: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from racewright.errors import LimitError
    from racewright.takeoff import proof

    def refuse(plan: object) -> object:
        raise LimitError("too fine", hint="round the lengths")

    monkeypatch.setattr(proof, "prove", refuse)
    assert main(["job", "cut", "--shop", shop, "--prove", "--raceway", "EMT 1"]) == 0
    seen = capsys.readouterr()
    assert "EMT 1: not proved: too fine" in seen.out
    assert "no plan can do with fewer" in seen.out


def test_a_raceway_that_no_run_is_of_is_refused_with_those_that_are(
    shop: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for asked in ("EMT 5", "EMT 2"):
        assert main(["job", "cut", "--shop", shop, "--raceway", asked]) == 2
        said = capsys.readouterr()
        assert f"the job has no run of {asked}." in said.err
        assert "raceways: EMT 1, EMT 1/2, EMT 3/4, RMC 1, RMC 3/4" in said.err
        assert said.out == ""
    assert main(["job", "cut", "--shop", shop, "--all", "--raceway", "emt 3/4"]) == 0
    assert "saw stop:" in capsys.readouterr().out
