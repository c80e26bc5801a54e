"""Marks of a three-bend run, of 10,000 runs, and the bare geometry beside a CAD kernel building the same chain.

Aim: the marks of a three-bend run in about 1 ms, its full plan in 8. CPU time; ratios within one run are what counts.
"""

from __future__ import annotations

import platform
import statistics
import time
from collections.abc import Callable
from pathlib import Path

from racewright.geometry.chain import Centreline, corners_to_turns
from racewright.plan.pipeline import mark_run, plan_survey
from racewright.plan.plan_run import choose_bender
from racewright.store.survey_file import read_survey_file

ROOT = Path(__file__).resolve().parent.parent
RUNS = 10_000


def median_time(call: Callable[[], object], rounds: int) -> float:
    times = []
    for _ in range(rounds):
        begin = time.process_time()
        call()
        times.append(time.process_time() - begin)
    return statistics.median(times)


def kernel_chain(points: tuple[tuple[float, float, float], ...], radius: float) -> float:
    """The same centreline in the CAD kernel: a polyline with filleted corners, its length."""
    from build123d import FilletPolyline

    return float(FilletPolyline(*points, radius=radius).length)


def main() -> None:
    print(f"{platform.python_implementation()} {platform.python_version()}, {platform.machine()}, 2 cores")
    survey = read_survey_file(ROOT / "examples" / "pump-house-saddle.yaml").survey
    bender = choose_bender(survey)
    plan = plan_survey(survey, bender)
    one = median_time(lambda: mark_run(survey, bender), 300)
    print(f"marks of one 3-bend run           {one * 1e3:8.3f} ms")
    whole = median_time(lambda: plan_survey(survey, bender), 30)
    print(f"with rules, forecast, way in      {whole * 1e3:8.3f} ms   {whole / one:5.1f} x the marks alone")
    begin = time.process_time()
    for _ in range(RUNS):
        mark_run(survey, bender)
    many = time.process_time() - begin
    print(f"{RUNS} runs                        {many:8.2f} s    {many / RUNS / one:5.2f} x the single run, each")
    points = plan.corners_mm

    def ours() -> float:
        fit = corners_to_turns(points, bender.radius_mm)
        return Centreline.from_turns(*fit).length_mm

    chain = median_time(ours, 2000)
    print(f"corner points to centreline       {chain * 1e6:8.1f} us")
    try:
        kernel_length = kernel_chain(points, bender.radius_mm)
    except ImportError:
        print("CAD kernel: not installed (pip install 'racewright[oracle]')")
        return
    kernel = median_time(lambda: kernel_chain(points, bender.radius_mm), 60)
    print(f"the same chain in the CAD kernel  {kernel * 1e6:8.1f} us   {kernel / chain:5.0f} x ours")
    print(f"lengths agree to {abs(kernel_length - ours()):.1e} mm")


if __name__ == "__main__":
    main()
