"""Cold start of the command beside a bare `python -c pass`: the ratio within one run is what counts.

Aim: a card in at most 12 times the bare start, and under 200 ms.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SADDLE = ROOT / "examples" / "pump-house-saddle.yaml"
ROUNDS = 15
CASES = {
    "python -c pass": [sys.executable, "-c", "pass"],
    "racewright --version": [sys.executable, "-m", "racewright", "--version"],
    "racewright (newcomer's page)": [sys.executable, "-m", "racewright"],
    "racewright plan, card": [sys.executable, "-m", "racewright", "plan", str(SADDLE)],
    "racewright plan --json": [sys.executable, "-m", "racewright", "plan", str(SADDLE), "--json"],
}


def once(command: list[str]) -> float:
    begin = time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


def main() -> None:
    times: dict[str, list[float]] = {name: [] for name in CASES}
    for _ in range(ROUNDS):
        for name, command in CASES.items():  # interleaved, so that a busy moment hits all alike
            times[name].append(once(command))
    bare = statistics.median(times["python -c pass"])
    for name, values in times.items():
        middle = statistics.median(values)
        print(f"{name:32} {middle * 1e3:8.1f} ms   {middle / bare:5.1f} x bare start")


if __name__ == "__main__":
    main()
