"""Two devices that ask a server's first questions at the same moment are both answered."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

CODE = """
import sys, threading
from pathlib import Path
from racewright.store.served_shop import ServedShop
from racewright.web import app
from racewright.web.guard import ServerSettings

app.build_app(ServerSettings(hosts=frozenset(), shop=ServedShop(Path("none"))), {})
from racewright.operations.answer import answer

sys.setswitchinterval(1e-6)
walk = [{"leg": "50"}, {"turn": "away"}, {"leg": "30"}]
survey = {"run": {"name": "Packing shed", "raceway": "EMT 1/2", "walk": walk}}
asked = [("plan", {"survey": survey}), ("sketch", {"survey": survey}), ("card", {"survey": survey}),
         ("plan", {"survey": survey}), ("catalogue", {}), ("practice", {"count": 1})]
answers = []
at_once = threading.Barrier(len(asked))

def ask(question):
    at_once.wait()
    answers.append(type(answer(*question)).__name__)

threads = [threading.Thread(target=ask, args=(question,)) for question in asked]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(*sorted(answers))
"""


def test_first_questions_at_once_are_all_answered() -> None:
    for _ in range(4):  # without the types made ready one process in five ended by a fault of memory
        done = subprocess.run(
            [sys.executable, "-c", CODE],
            env=os.environ | {"PYTHONPATH": str(ROOT / "src")},
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, (done.returncode, done.stderr[-2000:])
        assert done.stdout.split() == sorted(
            ["PlanAnswer", "SketchAnswer", "CardAnswer", "PlanAnswer", "Catalogue", "PracticeSheet"]
        )
