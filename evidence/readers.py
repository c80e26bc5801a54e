"""The readers of what a person writes, each a function from text that ends well or with an error of Racewright's own.

Left out are the commands of `NOT_RUN`. A reader of a file says how its refusals must call the file.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import shlex
import shutil
import tempfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import msgspec

from racewright.catalogue.raceways import find_raceway
from racewright.cli.cmd_diagnose import request_of
from racewright.cli.cmd_remark import made_reading
from racewright.cli.main import COMMANDS, main
from racewright.codebook.edition import load_edition
from racewright.errors import InputError, RacewrightError
from racewright.operations.answer import ask, ask_json
from racewright.operations.operations import OPERATIONS
from racewright.operations.remark import RemarkRequest
from racewright.records.prices import decimal
from racewright.store.benders_before import load_records
from racewright.store.finished_file import load_finished
from racewright.store.job_file import job_from_json
from racewright.store.job_protocol import Offered, offer
from racewright.store.job_store import JobStore
from racewright.store.survey_file import survey_from_text
from racewright.survey.from_data import survey_from_data
from racewright.survey.read import read_survey
from racewright.units.angle import read_degrees
from racewright.units.length import parse_length
from racewright.wires.conductors import parse_group
from racewright.wires.pull_path import parse_path

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
SURVEYS = [path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*.yaml"))]
#: Ids of the small job and its first run.
JOB, RUN = "c" * 32, "a" * 32
#: Commands that wait for somebody, write a whole site, or plan on all cores.
NOT_RUN = ("serve", "site", "job plan")


class Reader(NamedTuple):
    """`share`: its part of all texts, in thousandths. `read` returns a word for the count. `file`: what a
    refusal names."""

    name: str
    share: int
    samples: list[str]
    read: Callable[[str], str]
    file: str = ""


class EngineFault(Exception):
    """An operation answered that the program failed: as bad as a trace."""


def all_readers(folder: Path) -> list[Reader]:
    """Every reader; those of files read them in `folder`."""
    bench = Bench(folder / "bench")
    spoilt = folder / "spoilt"
    spoilt.mkdir()
    survey_json = [msgspec.json.encode(_data(text)).decode() for text in SURVEYS]
    job = _small_job()
    return [
        Reader("survey, YAML", 150, SURVEYS, _survey, "shed-7.yaml"),
        Reader("survey, JSON", 60, survey_json, _survey, "shed-7.yaml"),
        Reader("survey, request's data", 60, survey_json, _survey_data),
        Reader("length", 150, LENGTHS, _length),
        Reader("angle", 70, ANGLES, lambda text: _done(read_degrees(text, least=-360.0, most=360.0))),
        Reader("wires", 80, WIRES, lambda text: _done(parse_group(text, load_edition("NFPA 70-2023")))),
        Reader("raceway and size", 30, SIZES, _size),
        Reader("path of a pull", 60, PATHS, lambda text: _done(parse_path(text, find_raceway("EMT", "2")))),
        Reader("amount of money", 40, ["14.20", "0.35", "1250"], lambda text: _done(decimal(text, "price"))),
        Reader("bends that are made", 30, ["1: angle 47, mark 18 9/16", "2: start 21 1/8, roll 3"], _made()),
        Reader(
            "bender file",
            50,
            BENDERS,
            _file(spoilt / "benders.toml", _own_benders),
            "benders.toml",
        ),
        Reader("finished pieces", 10, FINISHED, _file(spoilt / "made.yaml", _finished), "made.yaml"),
        Reader(
            "job file",
            40,
            [job, _as_before(job)],
            lambda text: _done(job_from_json(text, name="shed.json")),
            "shed.json",
        ),
        Reader("offer of a device", 30, _offers(), _offered(spoilt / "shop.rwshop")),
        Reader("operation", 40, _requests(survey_json), _ask),
        Reader("command line", 60, COMMAND_LINES, _command(bench)),
        Reader("survey in a job", 40, SURVEYS, _in_a_job(bench), "run.yaml"),
    ]


LENGTHS = ['31 5/16"', "31-5/16", "2' 7 5/16\"", "4 7/8 in", "795 mm", "79.5 cm", ".5", "7/8", "12 ft 3", "½"]
ANGLES = ["22 1/2", "22-1/2 deg", "37.8°", "90", "45 degrees", "1/2"]
WIRES = ["3 x 8 THHN", "1 x 10 bare solid ground", "6 XHHW", "2 x cable 0.46 in", "12 THHN/THWN-2", "250 kcmil XHHW-2"]
SIZES = ["EMT 1/2", "RMC 1-1/4", "PVC-40 2", "IMC MD 35"]
PATHS = ["straight 200, bend 90 r 24, straight 30 up", "bend 45, pull point, straight 12 slope 5"]
BENDERS = [
    '[benders."pump-house-half"]\nraceway = "EMT"\nsize = "1/2"\ntake_up = "5 in"\ngain = "2 5/8 in"\n',
    '[benders.shop]\nraceway = "RMC"\nsize = "1"\nradius = "9 in"\ncenter = "3 in"\nspringback_b0_deg = 2.0\n'
    "springback_b1 = 0.02\n",
]
FINISHED = [
    (EXAMPLES / "finished" / "orchard-three-pieces.yaml").read_text(encoding="utf-8").replace("../", f"{EXAMPLES}/")
]
COMMAND_LINES = [
    "plan run.yaml",
    "plan run.yaml --json --fraction 8",
    "check run.yaml --worst",
    "export run.yaml --dxf out.dxf",
    "plan run.yaml --svg card.svg --strip strip.svg",
    "shape offset --rise 6 --angle 30 --at 30",
    "shape saddle --rise 3-1/4 --center 23 --length 56",
    "shape four-bend-saddle --obstacle square --height 4 --width 6 --clearance 1/4 --centre 27",
    "shape stub --height 14 --unit mm --json",
    "shape kick --rise 4 --travel 20",
    "shape concentric --radius 24 --count 3 --spacing 3",
    "shape segmented --radius 30 --shots 9",
    "bender show emt-1/2",
    "bender add mine --raceway EMT --size 1/2 --take-up 5 --gain '2 5/8'",
    "bender calibrate mine --raceway EMT --size 1/2 --bend 'angle=90 stub=12 leg=30 cut=39 3/8 mark=7'",
    "tweak run.yaml --end-up 1/4 --angle 1=47",
    "remark run.yaml --made '1: angle 20, mark 18'",
    "diagnose made.yaml",
    "wires ampacity '12 THHN' --carrying 30 --ambient-c 40",
    "wires fit '3 x 8 THHN' '1 x 10 bare' --raceway EMT",
    "wires drop 6 --current 40 --volts 240 --length 120",
    "wires ground --device 60",
    "wires box --conductors '4 x 12' --devices 1 --volume 18",
    "wires pullbox --pull 'left 3 right 3' --width 24 --height 24",
    "pull --raceway EMT --size 2 --wires '3 x 4/0 THHN' --path 'straight 90, bend 90 r 24' --friction 0.5",
    "job new shed --shop s.rwshop",
    "job import job.json --shop s.rwshop",
    "job list --shop s.rwshop",
    "job add run.yaml --key PH-9 --by Kim",
    "job add run.yaml --key PH-1 --replace --revision 1",
    "job set bent PH-1 PH-2 --by Kim",
    "job remove PH-2",
    "job record PH-1 --angle 1=47 --off up=1/4@30 --note 'by the door'",
    "job undo PH-1 --to 1",
    "job show PH-1 --survey",
    "job log PH-3 --refused",
    "job status --json",
    "job bill --split runs --out bill.csv",
    "job cut --raceway 'EMT 1/2' --effort 0 --out cuts.csv",
    "job pack pack.pdf --no-cards --made-by Kim",
    "job models --gltf job.glb",
    "job export out.json --job orchard",
    "job backup copy.rwshop",
    "job check",
    "schema",
]


def _done(result: object) -> str:
    return "read"


def _data(text: str) -> object:
    import yaml

    return yaml.load(text, Loader=yaml.BaseLoader)


def _survey(text: str) -> str:
    return _done(survey_from_text(text, name="shed-7.yaml").survey)


def _survey_data(text: str) -> str:
    try:
        data = msgspec.json.decode(text)
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return "no JSON"
    return _done(read_survey(survey_from_data(data)))


def _length(text: str) -> str:
    return _done(parse_length(text, "mm" if len(text) % 2 else "in", allow_negative=len(text) % 3 == 0))


def _size(text: str) -> str:
    kind, _, size = text.partition(" ")
    return _done(find_raceway(kind, size))


def _own_benders(path: Path) -> object:
    return load_records(path)


def _finished(path: Path) -> object:
    file = load_finished(path)
    with file.told_by_line():
        return ask("diagnose", request_of(file))


def _made() -> Callable[[str], str]:
    survey = survey_from_data(_data((EXAMPLES / "pump-house-saddle.yaml").read_text(encoding="utf-8")))
    return lambda text: _done(ask("remark", RemarkRequest(survey=survey, made=(made_reading(text),))))


def _file(path: Path, load: Callable[[Path], object]) -> Callable[[str], str]:
    def read(text: str) -> str:
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        return _done(load(path))

    return read


def _small_job() -> str:
    surveys = [{"key": f"PH-{k}", "survey": _data(text)} for k, text in enumerate(SURVEYS[:3], 1)]
    prices = {"items": [{"item": "EMT 1/2", "per": "100 ft", "price": "61.50"}], "labour_rate": "85"}
    head = {"name": "Orchard", "prices": prices, "stock": [{"raceway": "EMT 1/2", "length": "10 ft"}]}
    entries = [
        {
            "run": RUN,
            "piece": 1,
            "what": {"kind": "readings", "measured": [{"type": "off", "way": "up", "off_mm": 3.2}]},
        },
        {"run": RUN, "what": {"kind": "status", "status": "in"}, "by": "Kim", "pins": {"run": 1, "marks": "K7M3QX"}},
    ]
    surveys[0]["id"] = RUN
    return json.dumps({"racewright_job": 2, "head": head, "runs": surveys, "entries": entries}, indent=1)


def _as_before(job: str) -> str:
    """The same as a job file of format 1 had it."""
    data = json.loads(job)
    del data["entries"], data["runs"][0]["id"]
    data["runs"][0] |= {"status": "in", "tweaks": [{"moves": [{"number": 1, "by_rad": 0.02}], "by": "Kim"}]}
    return json.dumps({**data, "racewright_job": 1}, indent=1)


def _offers() -> list[str]:
    """What a device sends: a run, an entry, a removal, the job's head; made from revisions that stand or do not."""
    job = json.loads(_small_job())
    run = {"kind": "run", "id": RUN, "base": 1, "data": job["runs"][0]}
    entry = {"kind": "entry", "id": "b" * 32, "data": {"id": "b" * 32, **job["entries"][1]}}
    head = {"kind": "job", "id": JOB, "base": 3, "data": job["head"]}
    gone = {"kind": "run", "id": RUN, "base": 2, "data": None}
    return [json.dumps(records) for records in ([run], [entry, run], [head], [gone, entry])]


def _offered(path: Path) -> Callable[[str], str]:
    """The offers go into one shop file, whose every row must check afterwards."""
    store = JobStore.open(path, create=True)
    store.create_job("orchard", msgspec.structs.replace(job_from_json(_small_job()), id=JOB))

    def read(text: str) -> str:
        try:
            records = msgspec.json.decode(text, type=list[Offered])
        except (msgspec.DecodeError, UnicodeError) as err:
            raise InputError(str(err)) from None  # the server's own refusal stands in for it
        answers = offer(store, JOB, records, by="phone")
        store.check()
        json.loads(msgspec.json.encode(answers))
        return "read" if {answer.outcome for answer in answers} <= {"saved", "stale"} else "refused"

    return read


def _requests(surveys: list[str]) -> list[str]:
    small = [text for text in surveys if len(text) < 700] or surveys
    out = [json.dumps({"operation": "plan", "survey": json.loads(text), "pictures": []}) for text in small]
    first = json.loads(small[0])
    job = {"racewright_job": 4, "head": {"name": "a"}, "runs": [{"key": "a", "survey": first}]}
    out += [
        json.dumps({"operation": "parse_length", "text": "31 5/16", "unit": "in"}),
        json.dumps({"operation": "shape", "shape": {"name": "offset", "rise": "6", "room": "40"}}),
        json.dumps(
            {
                "operation": "tweak",
                "survey": first,
                "piece": 1,
                "measured": [{"what": "off", "way": "up", "off": "1/4"}],
            }
        ),
        json.dumps({"operation": "remark", "survey": first, "piece": 1, "made": [{"number": 1, "angle_deg": 20}]}),
        json.dumps({"operation": "practice", "seed": 3, "count": 2}),
        json.dumps({"operation": "job_cut", "job": job}),
        json.dumps({"operation": "card", "survey": first, "what": "strip"}),
    ]
    return out


def _ask(text: str) -> str:
    try:
        data = json.loads(text)
        name = data.pop("operation", "plan") if isinstance(data, dict) else "plan"
        body = json.dumps(data)
    except (ValueError, RecursionError):
        name, body = "plan", text
    raw = body.encode("utf-8", "surrogatepass")
    told = json.loads(ask_json(name if isinstance(name, str) and name in OPERATIONS else "plan", raw))
    if "error" not in told:
        return "read"
    if told["error"]["kind"] == "engine":
        raise EngineFault(told["error"]["message"])
    raise InputError(told["error"]["message"])


def _command(bench: Bench) -> Callable[[str], str]:
    """A command line in a folder where a survey, a job file, a shop and a file of finished pieces lie."""
    shop = bench.shop("job import job.json --key orchard")

    def run(text: str) -> str:
        try:
            words = shlex.split(text)
        except ValueError:
            words = text.split()
        if _kept_out(words):
            return "not run"
        bench.lay_out(shop)
        code, _ = bench.main(words)
        if code in (2, 3, 4):
            raise InputError("refused")
        return "read"

    return run


def _kept_out(words: list[str]) -> bool:
    """What waits, what plans on all cores, and what would write outside the folder."""
    first, second = (*words, "", "")[:2]
    outside = any(part.startswith("/") or ".." in part for word in words for part in re.split("[=:]", word))
    return first in NOT_RUN or f"{first} {second}" in NOT_RUN or outside or (first not in COMMANDS and len(first) > 200)


#: What follows on a survey that a job took.
THEN = [
    "job bill --split runs",
    "job bill --out bill.csv",
    "job cut --effort 0",
    "job pack pack.pdf --no-cards",
    "job export whole.json",
    "job backup copy.rwshop",
    "job set bent run",
    "job show run",
    "job status --json",
    "job models --gltf run.glb",
    "plan run.yaml --svg card.svg",
    "plan run.yaml --strip strip.svg",
    "check run.yaml --json",
]


def _in_a_job(bench: Bench) -> Callable[[str], str]:
    """A survey added to a job, and one thing done with the job, or a drawing made of the survey."""
    shop = bench.shop("job new orchard")

    def read(text: str) -> str:
        bench.lay_out(shop, run=text)
        code, said = bench.main(["job", "add", "run.yaml"])
        if code:
            raise InputError(said)
        bench.main(THEN[zlib.crc32(text.encode("utf-8", "surrogatepass")) % len(THEN)].split())
        return "read"

    return read


class Bench:
    """A folder in which commands run, laid out anew for each."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.files = {
            "run.yaml": next(text for text in SURVEYS if "saddle" in text).encode(),
            "job.json": _small_job().encode(),
            "made.yaml": FINISHED[0].encode(),
        }

    def lay_out(self, shop: bytes = b"", run: str = "") -> None:
        """The files as they should be, and no other."""
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir()
        for name, data in (self.files | ({"jobs.rwshop": shop} if shop else {})).items():
            (self.folder / name).write_bytes(data)
        if run:
            (self.folder / "run.yaml").write_bytes(run.encode("utf-8", "surrogatepass"))

    def shop(self, command: str) -> bytes:
        """The shop file that one command makes."""
        self.lay_out()
        code, said = self.main(command.split())
        assert code == 0, said
        return (self.folder / "jobs.rwshop").read_bytes()

    def main(self, words: list[str]) -> tuple[int, str]:
        """Exit code and all that a command prints in the folder. Raises EngineFault for what no command may do."""
        out, code, before = io.StringIO(), 0, Path.cwd()
        os.chdir(self.folder)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
                code = main(words)
        except SystemExit as left:  # the option parser's own way out
            code = left.code if isinstance(left.code, int) else 2
        finally:
            os.chdir(before)
        if code not in range(5):
            raise EngineFault(f"exit code {code}")
        if any(not (c.isprintable() or c in "\n\t") for c in out.getvalue()):
            raise EngineFault("control characters printed")
        return code, out.getvalue()


@contextlib.contextmanager
def own_home() -> Iterator[Path]:
    """A folder of its own for files, benders and shops."""
    with tempfile.TemporaryDirectory() as name:
        before = os.environ.get("RACEWRIGHT_HOME")
        os.environ["RACEWRIGHT_HOME"] = name
        try:
            yield Path(name)
        finally:
            if before is None:
                del os.environ["RACEWRIGHT_HOME"]
            else:
                os.environ["RACEWRIGHT_HOME"] = before


__all__ = ["EngineFault", "RacewrightError", "Reader", "all_readers", "own_home"]
