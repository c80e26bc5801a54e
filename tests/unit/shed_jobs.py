"""Jobs along the packing shed's walls, for hypothesis: some runs round a corner, with what lies beside them."""

from __future__ import annotations

from hypothesis import strategies as st

from racewright.records.model import Job, JobHead, JobRun, Stock
from racewright.survey.from_data import survey_from_data

QUARTERS = st.integers(48, 480)


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """One to five runs along the packing shed's walls, some round a corner, with what lies beside them."""
    runs = []
    for number in range(draw(st.integers(1, 5))):
        walk: list[dict[str, object]] = [{"leg": draw(st.integers(80, 1400)) / 4}]
        if draw(st.booleans()):
            walk += [{"turn": draw(st.sampled_from(["left", "away"]))}, {"leg": draw(QUARTERS) / 4}]
        run: dict[str, object] = {
            "name": f"shed {number}",
            "raceway": draw(st.sampled_from(["EMT 1/2", "RMC 1"])),
            "walk": walk,
            "offcuts": [n / 4 for n in draw(st.lists(QUARTERS, max_size=3))],
        }
        if draw(st.integers(0, 3)) == 0:
            run["cut"] = "after"
        if draw(st.integers(0, 3)) == 0:
            run["stock"] = draw(st.sampled_from([["20 ft"], ["8 ft", "12 ft"]]))
        data = {"racewright": 1, "units": "in", "run": run}
        runs.append(JobRun(key=f"PS-{number}", survey=survey_from_data(data)))
    own = [Stock(raceway="EMT 1/2", length=str(n / 4), offcut=True) for n in draw(st.lists(QUARTERS, max_size=2))]
    if draw(st.integers(0, 2)) == 0:
        own.append(Stock(raceway="EMT 1/2", length=draw(st.sampled_from(["20 ft", "3 m"]))))
    return Job(head=JobHead(name="Packing shed", stock=tuple(own)), runs=tuple(runs))
