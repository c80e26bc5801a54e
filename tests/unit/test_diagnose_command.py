"""`racewright diagnose`: what is found in the example, what is refused, and the effect of the shoe's marks."""

import json
from math import radians
from pathlib import Path

import msgspec
import pytest
from typed import typed

from racewright.bends.model import Bend, BentPiece
from racewright.catalogue.raceways import find_raceway
from racewright.cli import cmd_diagnose
from racewright.errors import InputError, LimitError
from racewright.fit.diagnose import FinishedPiece, diagnose, with_causes
from racewright.fit.measured import ApexRise, BendAngle, LegLean, Measured, OffAt
from racewright.marks.mark import arc_start_from_mark_mm, mark_mm
from racewright.operations.bent import bent, readings
from racewright.operations.common import NOTHING_KNOWN
from racewright.operations.diagnose import DiagnoseRequest, MeasuredPiece
from racewright.operations.diagnose import diagnose as diagnose_asked
from racewright.store.finished_file import load_finished
from racewright.tools.benders import REFERENCES, Reference, profile_from_radius_and_take_up
from racewright.units.tape import TapeStyle

EXAMPLE = Path(__file__).parents[2] / "examples" / "finished" / "orchard-three-pieces.yaml"
ROOT = EXAMPLE.parent


def ask(capsys: pytest.CaptureFixture[str], path: Path, *args: str) -> tuple[int, str]:
    code = typed(cmd_diagnose, str(path), *args)
    return code, capsys.readouterr().out


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "finished.yaml"
    path.write_text(text.replace("EXAMPLES", str(ROOT.parent)), encoding="utf-8")
    return path


def test_the_example_finds_what_its_readings_were_made_with(capsys: pytest.CaptureFixture[str]) -> None:
    """The readings were made up from a take-up 1/8 in (3.2 mm) short, 1.5 degrees over, and rounded to the tape."""
    code, out = ask(capsys, EXAMPLE, "--json")
    told = json.loads(out)
    assert code == 0
    found = {c["cause"]: c for c in told["causes"]}
    assert set(found) == {"take-up", "radius", "overbend"}
    for cause, true in (("take-up", 3.2), ("radius", 0.0), ("overbend", radians(1.5))):
        assert abs(found[cause]["value"] - true) < 2.0 * found[cause]["standard_error"], cause
    assert told["rank"] == told["unknowns"] == 3
    assert told["readings"] == 19
    assert told["left"] < 1.5
    assert 1.0 <= told["condition"] < 200.0


def test_the_text_gives_standard_errors_rank_and_condition(capsys: pytest.CaptureFixture[str]) -> None:
    _, out = ask(capsys, EXAMPLE)
    for text in ("standard error", "condition number", "rank 3", "saddle over the suction pipe", "give or take"):
        assert text in out
    assert " mm" not in out


def test_one_piece_is_refused_and_told_what_to_measure(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    one = written(
        tmp_path, "pieces:\n  - plan: EXAMPLES/pump-house-saddle.yaml\n    measured: [{bend: 2, angle: 47}]\n"
    )
    with pytest.raises(LimitError, match="from one piece the cause cannot be told: rank") as caught:
        ask(capsys, one)
    assert "measure a second piece" in caught.value.hint


def test_what_is_not_told_apart_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    args = [word for cause in ("take-up", "radius", "overbend", "mark bias") for word in ("--cause", cause)]
    with pytest.raises(LimitError, match="do not tell these apart") as caught:
        ask(capsys, EXAMPLE, *args)
    assert "hook the other way round" in caught.value.hint


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("angle: 46.5", "angle: wide"), "an angle"),
        (("{bend: 2, angle: 46.5}", "{bend: 7, angle: 46.5}"), "3 marks"),
        (("{bend: 2, angle: 46.5}", "{bend: 2}"), "does not make a reading"),
        (("{bend: 2, angle: 46.5}", "{bend: 2, angle: 46.5, off: 1}"), "does not make a reading"),
        (("{bend: 2, angle: 46.5}", "{bow: 2}"), "bow"),
        (("end: up, off: 3/4", "end: sideways, off: 3/4"), "sideways"),
        (("end: up, off: 3/4", "end: up, off: some"), "some"),
        (("- name: saddle over the suction pipe", "- name: saddle\n    piece: 4"), "the run has 1"),
        (("causes: [take-up, radius", "causes: [take-up, weather"), "weather"),
        (("length: 1/16", "length: 0"), "0"),
        (("workshop-bench-u", "workshop-panel-stub"), "different shoes"),
        (("workshop-bench-u", "no-such-run"), "cannot be read"),
        (("units: in", "units: ell"), "ell"),
        (("pieces:", "pieces: [a"), "layout cannot be read"),
    ],
)
def test_a_spoilt_file_is_refused_with_a_hint(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, change: tuple[str, str], said: str
) -> None:
    text = EXAMPLE.read_text(encoding="utf-8").replace("plan: ../", "plan: EXAMPLES/")
    assert change[0] in text
    with pytest.raises(InputError, match=said) as caught:
        ask(capsys, written(tmp_path, text.replace(*change)))
    assert caught.value.hint


def test_no_reading_at_all_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    piece = "  - plan: EXAMPLES/pump-house-saddle.yaml\n    measured: []\n"
    with pytest.raises(LimitError, match="do not tell these apart"):
        ask(capsys, written(tmp_path, "pieces:\n" + 2 * piece))


def test_where_nothing_tells_two_causes_apart_no_endless_figure_is_given(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    piece = (
        "  - plan: EXAMPLES/workshop-panel-stub.yaml\n    measured: [{bend: 1, angle: 91}, {bend: 1, angle: 91.5}]\n"
    )
    args = ("--cause", "overbend", "--cause", "overbend per angle")
    with pytest.raises(LimitError, match="do not tell these apart") as caught:
        ask(capsys, written(tmp_path, "pieces:\n" + 2 * piece), *args)
    assert "rank 1 against 2 unknowns)" in caught.value.message
    assert "clearly different angles" in caught.value.hint


def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        ask(capsys, tmp_path / "none.yaml")


@pytest.mark.parametrize("hook", ["A", "B"])
@pytest.mark.parametrize("reference", REFERENCES)
def test_causes_move_a_bend_as_another_shoe_on_the_same_pencil_mark_does(reference: Reference, hook: str) -> None:
    """Marks from one profile, bent on a shoe of another: the marks' own formulas must give what the causes give."""
    raceway = find_raceway("EMT", "1/2")
    used = profile_from_radius_and_take_up("used", raceway, 113.6, 127.0)
    true = profile_from_radius_and_take_up("true", raceway, 117.6, 129.0)
    angle = radians(30.0)
    bend = Bend(arc_start_mm=300.0, angle_rad=angle, roll_rad=0.0, radius_mm=113.6)
    mark = mark_mm(bend.arc_start_mm, bend.arc_end_mm, hook, reference, used)  # type: ignore[arg-type]
    piece = BentPiece(cut_length_mm=900.0, outside_diameter_mm=raceway.outside_diameter_mm, bends=(bend,))
    finished = FinishedPiece(name="x", piece=piece, measured=(), hooks=(hook,), references=(reference,))  # type: ignore[arg-type]
    made = with_causes(finished, ("take-up", "radius"), (2.0, 4.0)).bends[0]
    wanted = arc_start_from_mark_mm(mark, angle, hook, reference, true)  # type: ignore[arg-type]
    assert made.arc_start_mm == pytest.approx(wanted, abs=1e-9)


def test_words_in_millimetres() -> None:
    bends = (Bend(arc_start_mm=300.0, angle_rad=radians(45.0), roll_rad=0.0, radius_mm=113.6),)
    piece = BentPiece(cut_length_mm=900.0, outside_diameter_mm=17.9, bends=bends)
    from racewright.fit.measured import OffAt

    readings = (OffAt(way="up", off_mm=5.0), OffAt(way="forward", off_mm=2.0), BendAngle(number=1, angle_rad=0.8))
    pieces = [FinishedPiece(name=n, piece=piece, measured=readings) for n in "ab"]
    told = diagnose(pieces, causes=("take-up",), tape=TapeStyle("mm", 1))
    assert " mm (give or take " in told.causes[0].words
    assert '"' not in told.causes[0].words


def kept_pieces() -> tuple[MeasuredPiece, ...]:
    """The pieces of the example as a job keeps their readings: mm and radians."""
    file = load_finished(EXAMPLE)
    pieces = []
    for piece in file.pieces:
        written = MeasuredPiece(survey=piece.file.survey, plan=piece.file.plan, piece=piece.piece)
        kept = readings(bent(written, NOTHING_KNOWN), piece.measured, "in", "measured")
        pieces.append(msgspec.structs.replace(written, kept=kept))
    return tuple(pieces)


def test_readings_that_a_job_keeps_say_what_the_same_say_as_written() -> None:
    file = load_finished(EXAMPLE)
    as_written = diagnose_asked(cmd_diagnose.request_of(file), NOTHING_KNOWN)
    as_kept = diagnose_asked(
        DiagnoseRequest(pieces=kept_pieces(), causes=cmd_diagnose.request_of(file).causes), NOTHING_KNOWN
    )
    assert [(one.cause, one.found) for one in as_kept.causes] == [(one.cause, one.found) for one in as_written.causes]
    assert as_kept.readings == as_written.readings == 19


def test_a_piece_that_was_bent_by_another_plan_is_left_out_and_told() -> None:
    first, *rest = kept_pieces()
    other = msgspec.structs.replace(first, marks="ZZZZZZ")
    told = diagnose_asked(DiagnoseRequest(pieces=(*rest, other), causes=("overbend",)), NOTHING_KNOWN)
    assert len(told.pieces) == len(rest)
    assert any("bent for plan ZZZZZZ; the plan is now " in words for words in told.not_included)
    assert not told.findings
    plan = bent(first, NOTHING_KNOWN, "").plan
    for marks in (plan.digest, plan.digest_before):
        own = msgspec.structs.replace(first, marks=marks)
        request = DiagnoseRequest(pieces=(*rest, own), causes=("overbend",))
        assert len(diagnose_asked(request, NOTHING_KNOWN).pieces) == len(rest) + 1
    with pytest.raises(LimitError, match="no finished piece") as caught:
        diagnose_asked(DiagnoseRequest(pieces=(other,)), NOTHING_KNOWN)
    assert "bent for plan ZZZZZZ" in caught.value.hint


def test_a_piece_of_which_the_rest_was_bent_by_new_marks_is_left_out_and_told() -> None:
    first, *rest = kept_pieces()
    anew = msgspec.structs.replace(first, anew=True, name="PH-01-1")
    told = diagnose_asked(DiagnoseRequest(pieces=(*rest, anew), causes=("overbend",)), NOTHING_KNOWN)
    without = diagnose_asked(DiagnoseRequest(pieces=tuple(rest), causes=("overbend",)), NOTHING_KNOWN)
    assert (told.causes, told.readings) == (without.causes, without.readings)
    assert (
        "PH-01-1: its rest was bent by new marks, and what it shows cannot be held to the plan's." in told.not_included
    )
    with pytest.raises(LimitError, match="no finished piece") as caught:
        diagnose_asked(DiagnoseRequest(pieces=(anew,)), NOTHING_KNOWN)
    assert "bent by new marks" in caught.value.hint


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        (OffAt(way="up", off_mm=27432.0), "'off up by 1080\" at end B' is left out: a piece of "),
        (
            LegLean(way="up", lean_rad=-radians(90.0)),
            "'last leg leans down 90°' is left out: a last leg that leans by 90° has",
        ),
        (ApexRise(rise_mm=27432.0, number=1), "'rise under mark 1: 1080\"' is left out: a piece of "),
        (
            OffAt(way="up", off_mm=1.0, station_mm=27432.0),
            '1080" from end A\' is left out: the place 1080" from end A is not',
        ),
    ],
)
def test_a_reading_on_record_that_cannot_be_holds_up_no_others(slip: Measured, words: str) -> None:
    """It was kept before such readings were asked back."""
    first, *rest = kept_pieces()
    spoilt = msgspec.structs.replace(first, kept=(*first.kept, slip), name="PH-01-1")
    told = diagnose_asked(DiagnoseRequest(pieces=(spoilt, *rest), causes=("overbend",)), NOTHING_KNOWN)
    without = diagnose_asked(DiagnoseRequest(pieces=kept_pieces(), causes=("overbend",)), NOTHING_KNOWN)
    assert (told.causes, told.readings) == (without.causes, without.readings)
    (finding,) = told.findings
    assert (finding.rule, finding.severity, finding.where) == ("diagnose.left_out", "caution", "PH-01-1")
    assert finding.message.startswith("PH-01-1: the reading ")
    assert words in finding.message
    assert "`racewright job undo RUN --" in finding.message
    with pytest.raises(LimitError) as caught:
        diagnose_asked(DiagnoseRequest(pieces=(spoilt,)), NOTHING_KNOWN)
    assert words in caught.value.hint
