"""Cold start of the command beside a bare `python -c pass`: CPU time; the ratio within one run
is what counts.

Aim: a card in at most 12 times the bare start, and under 200 ms.
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
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
    """Seconds of CPU of the command, the system's for it included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


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
