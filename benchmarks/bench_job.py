"""What planning a job costs: 40, 400 and 10,000 runs, kept in a shop file and planned. The cost of a run must not grow.

python benchmarks/bench_job.py [--processes N] [--most 10000]

Every run has a length of its own, so that none is planned by looking another up. Aim: 10,000 runs on two cores in 60 s.
The CPU time of a run, of all processes, is what counts where other work is done beside.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import tempfile
import time
from pathlib import Path

import msgspec

from racewright.job.batch import plan_chunks
from racewright.job.plan_job import chunks_of
from racewright.records.ids import new_id
from racewright.records.model import Job, JobRun
from racewright.store.job_file import load_job
from racewright.store.job_store import JobStore
from racewright.units.length import parse_length

DEMO = Path(__file__).parents[1] / "examples" / "orchard-job.json"
SIZES = (40, 400, 10_000)
#: A run of the largest job may cost so much more than one of the smallest; the rest is noise of the machine.
MOST_GROWTH = 1.25


def copied(run: JobRun, copy: int) -> JobRun:
    """The run with its last leg longer by some hundredths of a mm for each copy."""
    walk = run.survey.run.walk
    last = walk[-1]
    assert last.leg is not None
    leg = f"{float(parse_length(last.leg)) + 0.05 * copy:.2f} mm"
    inner = msgspec.structs.replace(run.survey.run, walk=(*walk[:-1], msgspec.structs.replace(last, leg=leg)))
    survey = msgspec.structs.replace(run.survey, run=inner)
    return msgspec.structs.replace(run, id=new_id(), key=f"{run.key}.{copy}", survey=survey)


def job_of(size: int) -> Job:
    """The demo job's runs over and over."""
    demo = load_job(DEMO)
    runs = tuple(copied(demo.runs[i % len(demo.runs)], i // len(demo.runs)) for i in range(size))
    return Job(head=demo.head, runs=runs)


def cpu() -> float:
    """Seconds of CPU until now: of this process and of those that it waited for."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in used)


def measure(size: int, processes: int) -> tuple[float, float, float, float, int]:
    """Seconds to save, to open and load, to plan, its CPU time; and the size of the shop file in bytes."""
    job = job_of(size)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.rwshop"
        began = time.perf_counter()
        with JobStore.open(path, create=True) as store:
            store.create_job("bench", job)
        saved = time.perf_counter()
        with JobStore.open(path) as store:
            job = store.load("bench")
        loaded, used = time.perf_counter(), cpu()
        results = [r for part in plan_chunks(chunks_of(job, job.runs), processes=processes) for r in part]
        planned = time.perf_counter()
        bad = [r for r in results if r.outcome != "planned"]
        assert len(results) == size, f"{len(results)} of {size}"
        assert not bad, f"{bad[0].key}: {bad[0].message}"
        return saved - began, loaded - saved, planned - loaded, cpu() - used, path.stat().st_size


def main() -> int:
    """Prints a table; exit code 1 where the cost of a run grows."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--most", type=int, default=SIZES[-1])
    args = parser.parse_args()
    print(f"{args.processes} processes")
    print(f"{'runs':>6} {'save s':>8} {'load s':>8} {'plan s':>8} {'CPU ms/run':>12} {'file kB':>8}")
    costs = []
    for size in (s for s in SIZES if s <= args.most):
        save, load, plan, used, bytes_ = measure(size, args.processes)
        costs.append(used / size)
        print(f"{size:6} {save:8.2f} {load:8.2f} {plan:8.2f} {1000 * used / size:12.2f} {bytes_ / 1000:8.0f}")
        sys.stdout.flush()
    growth = costs[-1] / costs[0]
    print(f"a run of the largest job costs {growth:.2f} of one of the smallest (at most {MOST_GROWTH})")
    return 0 if growth <= MOST_GROWTH else 1


if __name__ == "__main__":
    sys.exit(main())
