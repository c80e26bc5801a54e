"""A run that was measured on another tape than its job's: its pieces are never cut shorter than its card says, and the
list says what the card does."""

from random import Random
from typing import Any

import pytest

from racewright.cards.takeoff_tables import cut_tables
from racewright.cards.text.job import job_cut_text, job_kits_text
from racewright.operations.answer import answer
from racewright.operations.kits import JobKitsAnswer
from racewright.operations.materials import JobBillAnswer, JobCutAnswer
from racewright.units.tape import style_of


def job_of(units: str, *runs: tuple[str, str, dict[str, Any]]) -> dict[str, Any]:
    """Straight runs with free ends, each so long, on its own tape."""
    end = {"fitting": "none"}
    rows: list[dict[str, Any]] = []
    for key, leg, on in runs:
        run = {"name": key, "raceway": "EMT 1/2", "start": end, "end": end, "walk": [{"leg": leg}]}
        rows.append({"key": key, "survey": {"racewright": 1, "run": run, **on}})
    return {"racewright_job": 4, "head": {"name": "Orchard", "units": units}, "runs": rows}


def cut(job: dict[str, Any]) -> JobCutAnswer:
    told = answer("job_cut", {"job": job})
    assert isinstance(told, JobCutAnswer), told
    return told


def lengths_mm(told: JobCutAnswer) -> dict[str, float]:
    return {p.label: p.length_mm for one in told.cuts for stick in one.plan.sticks for p in stick.pieces}


@pytest.mark.parametrize(("units", "own"), [("in", "mm"), ("mm", "in")])
def test_no_piece_is_cut_shorter_than_its_card_says(units: str, own: str) -> None:
    rng, step_mm = Random(11), float(style_of("in" if units == "in" else "mm").step_mm)
    written = {
        f"R-{k}": rng.randint(300, 1500) if own == "mm" else rng.randint(12 * 16, 60 * 16) / 16 for k in range(40)
    }
    told = cut(job_of(units, *((key, str(leg), {"units": own}) for key, leg in written.items())))
    found = lengths_mm(told)
    assert found.keys() == written.keys()
    short = 0
    for key, leg in written.items():
        exact_mm = leg * (1.0 if own == "mm" else 25.4)
        assert exact_mm - 1e-6 <= found[key] < exact_mm + step_mm
        steps = found[key] / step_mm
        assert abs(steps - round(steps)) < 1e-6
        short += round(exact_mm / step_mm) * step_mm < exact_mm - 0.1
    assert short > 10  # to the nearest step so many would come out short
    assert [f.rule for f in told.findings] == ["job.other_tape"]
    assert "the cards of 40 pieces are on another tape" in told.findings[0].message


def test_the_list_says_what_the_card_says() -> None:
    mm, fine = {"units": "mm"}, {"units": "in", "fraction": 32}
    told = cut(job_of("in", ("PH-1", "1000", mm), ("PH-2", "40", {}), ("PH-3", "25 9/32", fine), ("PH-4", "254", mm)))
    (finding,) = told.findings
    assert finding.severity == "info"
    assert "the cards of 2 pieces are on another tape" in finding.message
    text = job_cut_text(told)
    assert "PH-1 39 3/8, card 1000 mm (" in text
    assert 'PH-3 25 5/16, card 25 9/32" (' in text
    assert "PH-2 40 (" in text
    assert "PH-4 10 (" in text  # 254 mm
    kits = answer("job_kits", {"job": job_of("in", ("PH-1", "1000", mm), ("PH-2", "40", {}))})
    assert isinstance(kits, JobKitsAnswer), kits
    assert 'EMT 1/2, 39 3/8", card 1000 mm: PH-1' in job_kits_text(kits)
    marks = cut_tables(told.cuts, style_of("in"))[0]
    assert {row[4]: row[-1] for row in marks.rows} == {"PH-1": "1000 mm", "PH-2": "", "PH-3": '25 9/32"', "PH-4": ""}
    assert lengths_mm(told)["PH-2"] == pytest.approx(1016.0)


@pytest.mark.parametrize("leg", ["3000", "2999"])
def test_a_piece_about_as_long_as_its_stick_takes_all_of_it(leg: str) -> None:
    """2999 mm would be read 118 1/16 in, which is 0.2 mm short, and 118 1/8 in are more than there is."""
    job = job_of("in", ("PH-1", leg, {"units": "mm"}))
    job["head"]["stock"] = [{"raceway": "EMT 1/2", "length": "3000 mm"}]
    told = cut(job)
    assert lengths_mm(told) == {"PH-1": pytest.approx(3000.0)}
    assert told.cuts[0].plan.new_sticks == 1
    assert "(to the end)" in job_cut_text(told)


def test_bill_and_cut_list_count_the_same_sticks() -> None:
    job = job_of("in", *((f"R-{k}", "1013", {"units": "mm"}) for k in range(9)))
    bill = answer("job_bill", {"job": job})
    assert isinstance(bill, JobBillAnswer)
    assert [one.plan.new_sticks for one in bill.bill.cuts] == [one.plan.new_sticks for one in cut(job).cuts]
