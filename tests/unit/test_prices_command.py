"""Prices by command: whose count, what they are for, what is told of them and comes back."""

import re
from pathlib import Path

import pytest
from typed import JobCommand, listed

from racewright.operations.common import Known
from racewright.operations.job_files import JobPackRequest, job_pack
from racewright.records.prices import Prices, check_prices
from racewright.store.job_store import JobStore

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_a_price_that_nothing_on_the_bill_is_called_is_told_and_kept(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert job("prices", "EMT 1/2 set screw connector", "--price", "1.10", "--job", "orchard") == 0
    told = capsys.readouterr()
    assert "caution: EMT 1/2 set screw connector: nothing in this job's bill is called so" in told.err
    assert "The nearest: EMT 1/2 set-screw connector" in told.err
    assert "EMT 1/2 set screw connector" in told.out
    assert job("prices", "packing tape", "--price", "2", "--job", "orchard") == 0
    assert "note: packing tape: nothing in this job's bill is called so" in capsys.readouterr().err
    assert job("prices", "emt 1/2", "--price", "3", "--per", "ft", "--job", "orchard") == 0
    assert "nothing in this job's bill" not in capsys.readouterr().err, "the name before the last comma counts"
    # the bill tells of what may be meant for something without a price, and of no other
    assert job("bill", "--job", "orchard") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.count("job.price_name") == 1
    assert "EMT 1/2 set screw connector: nothing in this job's bill is called so" in out
    assert job("prices", "EMT 1/2 set-screw connector", "--price", "1.10", "--job", "orchard") == 0
    assert job("bill", "--job", "orchard") == 0
    assert "job.price_name" not in capsys.readouterr().out


def test_a_price_in_another_measure_than_the_bills_is_asked_back_or_told_and_takes_no_bill_away(
    job: JobCommand, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    wired = (EXAMPLES / "pump-house-saddle.yaml").read_text(encoding="utf-8")
    (tmp_path / "wired.yaml").write_text(wired.replace("run:\n", "run:\n  wires: [3 x 10 THHN]\n"), encoding="utf-8")
    assert job("add", str(tmp_path / "wired.yaml"), "--key", "PH-02", "--job", "orchard") == 0
    assert job("items", "Wire 12 thhn", "--count", "2", "--job", "orchard") == 0
    capsys.readouterr()
    assert job("prices", "wire 10 THHN", "--price", "0.3", "--job", "orchard") == 2, "for how much of it?"
    assert "'wire 10 THHN' goes by length on the bill" in capsys.readouterr().err
    assert job("prices", "wire 10 THHN", "--price", "0.3", "--per", "each", "--job", "orchard") == 0
    assert "measured on this job's bill, and the price of 'wire 10 THHN' is each" in capsys.readouterr().err
    assert job("prices", "wire 12 THHN", "--price", "165", "--per", "1000 ft", "--job", "orchard") == 0
    assert "Wire 12 thhn: counted on this job's bill" in capsys.readouterr().err
    assert job("prices", "EMT 1/2, 10 ft", "--price", "7.40", "--job", "orchard") == 0
    capsys.readouterr()
    assert job("bill", "--job", "orchard") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.count("job.price_measure") == 2
    assert "7.40" in out, "the rest of the bill stands"
    with JobStore.open("jobs.rwshop") as store:
        pack = job_pack(JobPackRequest(job=store.load("orchard"), form="svg"), Known())
    assert sum(finding.rule == "job.price_measure" for finding in pack.findings) == 2
    assert sum("measured on this job" in page for page in pack.svg) == 1


def test_sticks_that_have_two_prices_are_told_with_the_one_that_counts(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    words = "EMT 1/2, 10 ft: 6.9 in the job's stock, 7.40 in its prices, which count"
    assert job("prices", "EMT 1/2, 10 ft", "--price", "7.40", "--job", "orchard") == 0
    assert "job.price_twice" not in capsys.readouterr().err
    assert job("stock", "EMT 1/2", "10 ft", "--price", "6.9", "--job", "orchard") == 0
    assert words in capsys.readouterr().err
    assert job("bill", "--job", "orchard") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert words in told
    assert "7.40" in told
    assert job("prices", "EMT 1/2, 10 ft", "--price", "6.90", "--job", "orchard") == 0
    assert "job.price_twice" not in capsys.readouterr().err


def test_one_is_no_many(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("plan", "--job", "shed") == 0
    capsys.readouterr()
    assert job("log", "--job", "shed") == 0
    assert "planned: 1 run\n" in capsys.readouterr().out
    assert job("times", "0", "PS-01", "--job", "shed") == 2
    assert "hint: for example 1\n" in capsys.readouterr().err


def test_prices_are_the_shops_until_a_job_has_its_own(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("prices", "EMT 1/2, 10 ft", "--price", "7.40", "--currency", "USD", "--rate", "48", "--job", "shed") == 0
    said = capsys.readouterr().out
    assert "Prices of the shop; an hour of labor: 48 USD" in said
    assert listed(job, capsys, "orchard") == listed(job, capsys, "shed")
    assert job("prices", "emt 1/2, 10 FT", "--hours", "0.1", "--of", "job", "--job", "orchard") == 0
    assert "Prices of job orchard; an hour of labor: 48 USD" in capsys.readouterr().out
    own = {"item": "EMT 1/2, 10 ft", "price": "7.40", "labour_h": "0.1"}
    assert listed(job, capsys, "orchard")["items"] == [own]
    assert listed(job, capsys, "shed")["items"] == [{"item": "EMT 1/2, 10 ft", "price": "7.40"}]
    assert job("prices", "EMT 1/2, 10 ft", "--price", "8", "--job", "orchard") == 0, "its own, as it has one"
    assert listed(job, capsys, "shed")["items"][0]["price"] == "7.40"
    assert job("bill", "--job", "orchard") == 0
    assert "8.00" in capsys.readouterr().out
    assert job("bill", "--job", "shed") == 0
    assert "7.40" in capsys.readouterr().out
    assert job("prices", "--drop", "--job", "orchard") == 0
    assert listed(job, capsys, "orchard") == listed(job, capsys, "shed")
    assert job("prices", "EMT 1/2, 10 ft", "--remove", "--job", "shed") == 0
    assert "items" not in listed(job, capsys, "shed")


def test_what_cannot_be_a_price_or_is_none_is_refused(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    for line, words in (
        (["EMT 1/2", "--price", "=1+1"], "cannot take '=1+1' as an amount"),
        (["--price", "3"], "the item is missing"),
        (["EMT 1/2"], "what it costs is missing"),
        (["EMT 1/2", "--remove"], "'EMT 1/2' has no price"),
        (["--drop"], "has no prices of its own"),
    ):
        assert job("prices", *line, "--job", "shed") == 2
        assert words in capsys.readouterr().err
    assert job("prices", "--job", "shed") == 0
    assert capsys.readouterr().out.startswith("No prices: nothing is built in.")


@pytest.mark.parametrize("text", ["3", "3.", ".5", "14.20", "1e-3", "+2", "0"])
def test_plain_amounts_are_taken(text: str) -> None:
    check_prices(Prices(labour_rate=text))


def test_a_price_does_not_come_to_count_for_another_amount(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    assert job("prices", "12 THHN", "--price", "14", "--hours", "0.2", "--job", "shed") == 0
    for line, words in (
        (["--per", "ft"], "'12 THHN' has its price 14 and hours 0.2 for each, and would have it for ft"),
        (["--per", "ft", "--price", "0.31"], "has its hours 0.2 for each, and would have it for ft"),
    ):
        capsys.readouterr()
        assert job("prices", "12 THHN", *line, "--job", "shed") == 2
        assert words in " ".join(capsys.readouterr().err.split())
    assert listed(job, capsys, "shed")["items"] == [{"item": "12 THHN", "price": "14", "labour_h": "0.2"}]
    assert job("prices", "12 THHN", "--per", "ft", "--price", "0.31", "--hours", "0.01", "--job", "shed") == 0
    assert job("prices", "12 THHN", "--per", "ft", "--job", "shed") == 0  # as it is
    assert listed(job, capsys, "shed")["items"][0]["per"] == "ft"
    assert job("prices", "strap", "--per", "100", "--price", "30", "--job", "shed") == 0  # a new one


def test_changes_of_prices_and_people_are_in_the_log_and_come_back_as_new_revisions(
    job: JobCommand, capsys: pytest.CaptureFixture[str]
) -> None:
    item = ("EMT 1/2, 10 ft", "--job", "orchard", "--by")
    assert job("prices", *item, "Kim", "--price", "7.40", "--rate", "48") == 0
    assert job("prices", *item, "Sam", "--price", "8", "--hours", "0.1") == 0
    assert job("people", "Bo", "--mark", "1/8", "--by", "Kim") == 0
    assert job("people", "Bo", "--mark", "1/16", "--by", "Kim") == 0
    capsys.readouterr()
    assert job("log", "--job", "orchard") == 0
    log = capsys.readouterr().out.splitlines()
    assert [re.sub(r"^ *\d+  \S+  ", "", line) for line in log[:6]] == [
        "Kim           person Bo: mark 1/16",
        "        mark: '1/16', was '1/8'",
        "Kim           person Bo: mark 1/8",
        "Sam           prices of the shop: EMT 1/2, 10 ft",
        "        EMT 1/2, 10 ft: price 8 each, hours 0.1 each, was price 7.40 each",
        "Kim           prices of the shop: EMT 1/2, 10 ft; labor rate",
    ]
    assert job("prices", "--undo", "--job", "orchard", "--by", "Kim") == 2
    assert "the last change of the list of prices of the shop is not yours: by Sam" in capsys.readouterr().err
    assert job("prices", "--undo", "--job", "orchard", "--by", "Sam") == 0
    assert capsys.readouterr().out == "Prices of the shop: as at revision 1 again, now revision 3.\n"
    told = listed(job, capsys, "orchard")
    assert told["items"] == [{"item": "EMT 1/2, 10 ft", "price": "7.40"}]
    assert job("prices", "--to", "2", "--job", "orchard", "--by", "Sam") == 0
    assert listed(job, capsys, "orchard")["items"][0]["labour_h"] == "0.1"
    assert job("prices", "--log", "--job", "orchard") == 0
    log = capsys.readouterr().out.splitlines()
    assert log[0] == "Prices of the shop"
    assert [line.split("  ")[0] for line in log[1:] if line[0] != " "] == [f"revision {n}" for n in (4, 3, 2, 1)]
    assert "    EMT 1/2, 10 ft: price 7.40 each" in log
    assert any(line.startswith("    EMT 1/2, 10 ft: price ") and ", was price 7.40 each" in line for line in log)
    assert job("prices", "--of", "job", "--job", "orchard", "--by", "Kim") == 0
    assert job("prices", "--drop", "--job", "orchard", "--by", "Kim") == 0
    assert job("prices", "--undo", "--job", "orchard", "--by", "Kim") == 0
    assert "Prices of job orchard: as at revision 1 again, now revision 3." in capsys.readouterr().out
    assert job("prices", "--to", "9", "--job", "orchard", "--by", "Kim") == 2
    assert "has no revision 9 to bring back" in capsys.readouterr().err
    assert job("people", "bo", "--remove", "--by", "Kim") == 0
    assert job("people", "bo", "--undo", "--by", "Kim") == 0
    assert job("people", "Bo", "--undo", "--by", "Kim") == 0
    assert "Bo: as at revision 1 again, now revision 5." in capsys.readouterr().out
    assert job("people", "Bo", "--log") == 0
    assert capsys.readouterr().out.count("revision") == 5 + 2
    assert job("people", "Nobody", "--undo") == 2
    assert job("check") == 0


def test_prices_come_back_of_the_list_that_counts(job: JobCommand, capsys: pytest.CaptureFixture[str]) -> None:
    def taken_back(*more: str, by: str = "Kim", code: int = 0) -> str:
        capsys.readouterr()
        assert job("prices", "--undo", "--job", "orchard", "--by", by, *more) == code
        told = capsys.readouterr()
        return told.err if code else told.out

    box = ("4 in square box", "--job", "orchard", "--by")
    assert job("prices", *box, "Kim", "--price", "3", "--of", "shop") == 0
    assert job("prices", *box, "Kim", "--price", "4", "--of", "job") == 0
    assert job("prices", *box, "Sam", "--price", "5") == 0
    assert job("prices", *box, "Kim", "--price", "6", "--of", "shop") == 0  # changed last, and does not count here
    assert "prices of job orchard is not yours: by Sam" in taken_back(code=2)
    capsys.readouterr()
    assert job("prices", "--log", "--job", "orchard") == 0
    assert capsys.readouterr().out.startswith("Prices of job orchard\n")
    assert job("prices", "--drop", "--job", "orchard", "--by", "Kim") == 0
    assert taken_back() == "Prices of job orchard: as at revision 2 again, now revision 4.\n"
    assert "what would be taken back of the list of prices of job orchard is not yours: by Sam" in taken_back(code=2)
    assert taken_back("--anyone") == "Prices of job orchard: as at revision 1 again, now revision 5.\n"
    assert job("prices", "--drop", "--job", "orchard", "--by", "Kim") == 0
    assert job("prices", *box, "Kim", "--price", "7") == 0  # the shop's, which count here now
    assert taken_back() == "Prices of the shop: as at revision 2 again, now revision 4.\n"
