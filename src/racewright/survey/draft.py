"""A survey in the making: readings not taken yet get a guess, so that what was read can be drawn already; and what is
still to be measured, in words.

It works on plain data (the written structs' own fields), where a reading not taken yet is '' or left out.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from typing import Any, NamedTuple

import msgspec

from racewright.errors import InputError
from racewright.survey.model import Survey
from racewright.survey.read import read_survey
from racewright.survey.written import WrittenSurvey
from racewright.units.length import parse_length

#: What stands in for a reading not taken yet (mm): about what is met in a shop, so that the picture keeps its form.
GUESSED_MM = {"leg": 900, "height": 50, "reach": 50, "width": 120, "rise": 60, "shift": 60}
#: A box offset whose knockout's height is not known yet.
BOX_RISE_MM = 12
PLACES = ("starts_at", "middle_at", "done_by")
#: What a reading is expected to be.
_READINGS = ("a length", "degrees")
#: Of what is still to be measured so much is told, and the rest counted.
_MOST_TOLD = 8
#: What a field is called, where that is not its own name.
_CALLED = {"box_offset": "box offset", "keep_clear": "thing to keep clear of", "centre": "center"}


class Draft(NamedTuple):
    """`survey` with guesses for what is missing, or None where nothing can be made of it; `wrong`: what was written and
    cannot be taken, each with its field; `guessed`: the fields that stand on a guess; `open`: those without which
    there is no plan, and where nothing is written yet, in the order of the run."""

    survey: Survey | None
    wrong: tuple[InputError, ...]
    guessed: frozenset[str]
    open: tuple[str, ...]


class Unfinished(InputError):
    """A survey cannot be planned as it is: `open` is what is still to be measured, in words, in the order of the run;
    () where what was written cannot be taken. `wrong`: the readings that cannot be read, in words, told beside it."""

    def __init__(self, open_: tuple[str, ...], why: InputError, wrong: tuple[str, ...] = ()) -> None:
        told = [*open_[:_MOST_TOLD], *([f"{len(open_) - _MOST_TOLD} more"] if len(open_) > _MOST_TOLD else [])]
        super().__init__(
            " ".join([f"still to be measured: {'; '.join(told)}.", *wrong])
            if open_
            else " ".join(wrong) or why.message,
            hint=f"take these readings{', mend what cannot be read' if wrong else ''}, then plan it again"
            if open_
            else why.hint,
            field=why.field,
            expected=why.expected,
            example=why.example,
        )
        self.open = open_


def read_finished(written: WrittenSurvey) -> Survey:
    """The survey in mm and radians, a reading that it can do without left out where nothing is written. Raises
    Unfinished."""
    try:
        return read_survey(written)
    except InputError as err:
        why = err
    try:
        return read_survey(msgspec.convert(_lean(msgspec.to_builtins(written)), WrittenSurvey))
    except msgspec.ValidationError:
        pass  # one that it cannot do without
    except InputError as err:
        why = err
    open_ = tuple(_said(written, _open(written, msgspec.to_builtins(written))))
    wrong = read_draft(written).wrong if open_ else (why,)
    raise Unfinished(open_, why, tuple(_by_name(written, err) for err in wrong if err.expected in _READINGS)) from None


def is_finished(written: WrittenSurvey) -> bool:
    """Whether the survey can be read as it is."""
    try:
        read_finished(written)
    except Unfinished:
        return False
    return True


def _open(written: WrittenSurvey, data: Mapping[str, Any]) -> tuple[str, ...]:
    """The fields without which there is no plan, and where nothing is written yet."""
    unsaid = (f"run.{name}" for name in ("name", "raceway") if not getattr(written.run, name).strip())
    return (*unsaid, *_filled(data)[1])


def _said(written: WrittenSurvey, fields: tuple[str, ...]) -> Iterator[str]:
    """Fields as a person knows them: 'length of leg 2', 'suction pipe on leg 1: center, height'."""
    of: dict[str, list[str]] = {}
    things: dict[int, list[str]] = {}
    parts = msgspec.to_builtins(written.run.walk)
    legs = tuple(accumulate(int("leg" in part) for part in parts))
    for field in fields:
        steps = _steps(field)
        if steps[1] != "walk":
            of.setdefault(f"the run's {steps[1]}", [])
            continue
        part = int(steps[2])
        if len(steps) > 4:
            if part not in things:
                things[part] = _things(parts[part]["features"])
            of.setdefault(f"{things[part][int(steps[4])]} on leg {legs[part]}", []).append(_called(str(steps[6])))
        else:
            of.setdefault(f"length of leg {legs[part]}", [])
    yield from (f"{place}: {', '.join(names)}" if names else place for place, names in of.items())


def place_in_words(survey: object, field: str) -> str:
    """Where a field lies in a survey's plain data, be it one that cannot be read: 'leg 2, suction pipe', 'turn 1', 'end
    A'; '' where no part of the run is meant."""
    steps = _steps(field)
    if steps[:1] == ["run"] and steps[1:2] in (["start"], ["end"]):
        return "end A" if steps[1] == "start" else "end B"
    try:
        parts = [_at(survey, ["run", "walk"])[i] for i in range(int(steps[2]) + 1)]
        turns = sum("turn" in part for part in parts)
        if "turn" in parts[-1]:
            return f"turn {turns}"
        place = f"leg {turns + 1}"
        return f"{place}, {_things(parts[-1]['features'])[int(steps[4])]}" if len(steps) > 4 else place
    except (AttributeError, KeyError, IndexError, StopIteration, TypeError, ValueError):
        return ""


def _things(features: Sequence[Mapping[str, Any]]) -> list[str]:
    """What is met on a leg: each by its name, else its kind, with a number where the leg meets several."""
    kinds = [next(iter(one)) for one in features]
    many, met = Counter(kinds), Counter[str]()
    out = []
    for one, kind in zip(features, kinds, strict=True):
        met[kind] += 1
        given = one[kind]
        name = str(given.get("name", "")).strip() if isinstance(given, Mapping) else ""
        out.append(name or f"{_CALLED.get(kind, kind)}{f' {met[kind]}' if many[kind] > 1 else ''}")
    return out


def _by_name(written: WrittenSurvey, err: InputError) -> str:
    """What is wrong with a reading, by what a person calls that: "length of leg 2: cannot take ..."."""
    if not re.fullmatch(r"run\.walk\[\d+\]\.(leg|features\[\d+\]\.\w+\.\w+)", err.field):
        return err.message
    (name,) = _said(written, (err.field,))
    return err.message.replace(err.field, name, 1)


def _called(field: str) -> str:
    return _CALLED.get(field, field.replace("_", " "))


def read_draft(written: WrittenSurvey) -> Draft:
    """The survey as far as it goes. What the reader refuses is set aside and told; the rest is read on."""
    data: dict[str, Any] = msgspec.to_builtins(written)
    wrong: list[InputError] = []
    open_ = _open(written, data)
    guessed: frozenset[str] = frozenset()
    for _ in range(_count(data)):
        filled, fields = _filled(data)
        guessed = frozenset(fields)
        try:
            return Draft(read_survey(msgspec.convert(filled, WrittenSurvey)), tuple(wrong), guessed, open_)
        except msgspec.ValidationError:
            break  # an empty value that no guess stands in for
        except InputError as err:
            if _is_own(err, guessed):
                wrong.append(err)
            if not _set_aside(data, err.field):
                break
    return Draft(None, tuple(wrong), guessed, open_)


def bare(survey: Survey, field: str = "") -> Survey:
    """The survey without the things met on its legs: on the leg that `field` lies in, or on all."""
    legs = tuple(
        msgspec.structs.replace(leg, features=()) if field.startswith(f"{leg.field}.") or not field else leg
        for leg in survey.legs
    )
    return msgspec.structs.replace(survey, legs=legs)


def _count(data: Any) -> int:
    """No more can be set aside than there are values."""
    if isinstance(data, Mapping):
        return 1 + sum(_count(value) for value in data.values())
    return 1 + sum(_count(value) for value in data) if isinstance(data, list | tuple) else 1


def _is_own(err: InputError, guessed: frozenset[str]) -> bool:
    """Whether an error is about what was written: the text itself, or readings among which none is a guess."""
    place = re.sub(r"\.features\[\d+\]\.\w+$|\.\w+$", "", err.field) if "features[" in err.field else err.field
    return err.expected in _READINGS or not any(name.startswith(place) for name in guessed)


def _steps(field: str) -> list[str | int]:
    return [int(number) if number else name for name, number in re.findall(r"([^.\[\]]+)|\[(\d+)\]", field)]


def _set_aside(data: dict[str, Any], field: str) -> bool:
    """Empty the field, or where it is no single reading the leg's features; False where there is nothing to empty."""
    steps = _steps(field)
    for last in range(len(steps), 0, -1):
        try:
            holder = _at(data, steps[: last - 1])
            value = holder[steps[last - 1]]
        except (KeyError, IndexError, TypeError):
            continue
        if isinstance(value, str | int | float) and value != "":
            holder[steps[last - 1]] = ""
            return True
        if steps[last - 1] == "features" and value:
            holder["features"] = []
            return True
    return False


def _at(data: Any, steps: list[str | int]) -> Any:
    for step in steps:
        data = data[step]
    return data


def _filled(data: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The data without empty values, guesses put in where the reader needs a reading; and the fields guessed."""
    filled: dict[str, Any] = _lean(data)
    run = filled["run"]
    run.setdefault("name", "run")
    run.pop("climate", None)
    guessed: list[str] = []
    asked_parts = data["run"]["walk"]
    for i, part in enumerate(run["walk"]):
        if "leg" not in asked_parts[i]:
            continue
        if "leg" not in part:
            part["leg"] = f"{GUESSED_MM['leg']} mm"
            guessed.append(f"run.walk[{i}].leg")
        features = part.get("features", [])
        for j, feature in enumerate(features):
            for kind, given in feature.items():
                asked = asked_parts[i]["features"][j][kind]
                known = any(run.get(end, {}).get("height") for end in ("start", "end"))
                for name in _needed(kind, asked, known=known):
                    if name in given:
                        continue
                    share = (j + 1) / (len(features) + 1)
                    given[name] = _guess(kind, name, str(part["leg"]), filled.get("units", "in"), share)
                    guessed.append(f"run.walk[{i}].features[{j}].{kind}.{name}")
    return filled, tuple(guessed)


def _blank(value: Any) -> bool:
    return isinstance(value, str) and not value.strip()


def _lean(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _lean(inner) for name, inner in value.items() if not _blank(inner)}
    return [_lean(inner) for inner in value] if isinstance(value, list | tuple) else value


def _needed(kind: str, asked: Mapping[str, Any], *, known: bool) -> Iterator[str]:
    """The readings that a thing on a leg cannot do without, by what is asked of it. `known`: a knockout's height is."""
    if kind in ("saddle", "keep_clear"):
        sideways = asked.get("toward") in ("left", "right")
        stands = kind == "keep_clear" or "rise" not in asked
        yield "centre"
        yield ("reach" if sideways else "height") if stands else "rise"
        if stands and (kind == "keep_clear" or sideways or asked.get("over") == "square"):
            yield "width"
        return
    if kind != "kick" or "angle" not in asked:
        yield next((name for name in PLACES if name in asked), "starts_at")
    if (kind != "box_offset" and ("rise" in asked or "shift" not in asked)) or (kind == "box_offset" and not known):
        yield "rise"
    if "shift" in asked:
        yield "shift"


def _guess(kind: str, name: str, leg: str, unit: Any, share: float) -> str:
    if name in ("centre", *PLACES):
        try:
            length_mm = float(parse_length(leg, unit))
        except InputError:
            length_mm = GUESSED_MM["leg"]
        return f"{length_mm * share:.3f} mm"
    return f"{BOX_RISE_MM if kind == 'box_offset' else GUESSED_MM[name]} mm"
