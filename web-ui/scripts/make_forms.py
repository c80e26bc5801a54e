"""Write web-ui/src/engine/forms.ts: what can be worked out without a run, what each question is asked with, and what a
person sets for a job.

Run: python web-ui/scripts/make_forms.py

Fields, help, choices and defaults are those of the requests of `racewright.operations`; a field's `title` is its label.
With --check nothing is written; the exit code is 1 where the file is out of date.
"""

from __future__ import annotations

import json
import sys
from inspect import getdoc
from pathlib import Path
from typing import Any, get_args

import msgspec
from msgspec import inspect

from racewright.catalogue.raceways import all_raceways, raceway_types
from racewright.codebook.edition import DEFAULT_EDITION, Metal, edition_names, load_edition
from racewright.operations.operations import OPERATIONS, Operation
from racewright.operations.wires_common import CodeAnswer
from racewright.records.job_settings import HeadChange, PersonChange, PriceChange
from racewright.units.length import parse_length
from racewright.wires.box_fill import all_boxes
from racewright.wires.impedance import Material

TARGET = Path(__file__).resolve().parents[1] / "src" / "engine" / "forms.ts"
HEAD = """\
// Written by web-ui/scripts/make_forms.py from the requests of racewright.operations. Do not edit.

/** A reading or a choice. `of`: what a run can fill it with; `usual`: what is taken where nothing is said. */
export interface FormField {
  name: string;
  kind: 'length' | 'distance' | 'angle' | 'number' | 'switch' | 'choice' | 'text' | 'list' | 'parts' | 'bender';
  label: string;
  help: string;
  required?: true;
  signed?: true;
  unit?: string;
  of?: string;
  usual?: string;
  /** a value and what it is called; `numbers`: the values are numbers */
  choices?: readonly (readonly [string, string])[];
  numbers?: true;
}

/** A question: its fields stand under `under` where that is said, those of `beside` at the top of the request. */
export interface Form {
  key: string;
  operation: %s;
  view: 'code' | 'pull' | 'shape';
  title: string;
  about: string;
  under?: string;
  fields: readonly FormField[];
  beside: readonly FormField[];
}
"""


def asked_alone() -> list[Operation]:
    """The questions that need no run."""
    return [op for name, op in OPERATIONS.items() if name.startswith("wires_") or name in ("pull", "shape")]


def _choices() -> dict[str, tuple[str, ...]]:
    book = load_edition(DEFAULT_EDITION)
    sizes = dict.fromkeys(raceway.trade_size for raceway in all_raceways())
    boxes = all_boxes(book)
    return {
        "raceway types": raceway_types(),
        "raceways": tuple(raceway.name for raceway in all_raceways()),
        "trade sizes": tuple(sorted(sizes, key=lambda size: parse_length(size.replace("-", " "), "in"))),
        "metals": get_args(Metal),
        "systems": ("single", "three"),
        "raceways and materials": (*raceway_types(), *get_args(Material)),
        "editions": edition_names(),
        "boxes": tuple(box.name for box in boxes),
        "box shapes": tuple(dict.fromkeys(box.shape for box in boxes)),
    }


CHOICES = _choices()


def form_field(field: inspect.Field) -> dict[str, Any] | None:
    """A field as a form has it; None for what nobody types, such as a whole profile of a bender."""
    kind: Any = field.type
    words, extra = {}, {}
    if isinstance(kind, inspect.UnionType):  # where nothing need be said
        said = [part for part in kind.types if not isinstance(part, inspect.NoneType)]
        kind = said[0] if len(said) == 1 else kind
    if isinstance(kind, inspect.Metadata):
        words, extra, kind = kind.extra_json_schema or {}, kind.extra or {}, kind.type
    if isinstance(kind, inspect.UnionType):
        kind = next(part for part in kind.types if not isinstance(part, inspect.NoneType))
    if isinstance(kind, inspect.StructType | inspect.UnionType):
        return None
    made: dict[str, Any] = {"name": field.encode_name, "kind": _kind(kind, extra, field.name)}
    made["label"] = words.get("title") or field.name.replace("centre", "center").replace("_", " ").capitalize()
    made["help"] = str(words.get("description", "")).replace("centre", "center")
    made |= {"required": True} if field.required else {}
    made |= {"signed": True} if extra.get("signed") else {}
    made |= {"unit": extra["unit"]} if "unit" in extra else {}
    made |= {"of": extra.get("of") or extra["choose"]} if {"of", "choose"} & extra.keys() else {}
    if isinstance(field.default, str | int | float) and field.default not in ("", 0):
        made["usual"] = str(field.default)
    made |= {"usual": extra["usual"]} if "usual" in extra else {}
    if isinstance(kind, inspect.LiteralType):
        made["choices"] = [[str(value), str(value).replace("centre", "center")] for value in kind.values]
        made |= {"numbers": True} if isinstance(kind.values[0], int) else {}
    elif extra.get("choose") in CHOICES:
        made["choices"] = [[value, value] for value in CHOICES[extra["choose"]]]
    return made


def _kind(kind: Any, extra: dict[str, Any], name: str) -> str:
    if isinstance(kind, inspect.BoolType):
        return "switch"
    if isinstance(kind, inspect.IntType | inspect.FloatType):
        return "number"
    if isinstance(kind, inspect.VarTupleType):
        return "list"
    if isinstance(kind, inspect.LiteralType) or extra.get("choose") in CHOICES:
        return "choice"
    if name == "bender_name":
        return "bender"
    named = {"distance": "distance", "parts": "parts"}.get(str(extra.get("of")))
    return named or {"LENGTH": "length", "DEG": "angle"}.get(str(extra.get("metavar")), "text")


def fields_of(request: type[msgspec.Struct]) -> list[dict[str, Any]]:
    """The fields of a request, in its order; those that have a usual value and are no question's own come last."""
    kind = inspect.type_info(request)
    assert isinstance(kind, inspect.StructType)
    made = [one for field in kind.fields if (one := form_field(field)) is not None]
    return [one for one in made if one["name"] != "edition"] + [one for one in made if one["name"] == "edition"]


def forms_of(operation: Operation) -> list[dict[str, Any]]:
    """One form, or one for each of the shapes that the request takes one of."""
    view = "code" if issubclass(operation.answer, CodeAnswer) else operation.name
    info = inspect.type_info(operation.request)
    assert isinstance(info, inspect.StructType)
    said = {"operation": operation.name, "view": view}
    under = next((f for f in info.fields if f.required and isinstance(f.type, inspect.UnionType)), None)
    if under is None:
        title = operation.name.removeprefix("wires_").capitalize()
        about, fields = operation.about, fields_of(operation.request)
        return [{"key": operation.name, **said, "title": title, "about": about, "fields": fields, "beside": []}]
    beside = fields_of(operation.request)
    return [
        {
            "key": f"{operation.name}/{part.tag}",
            **said,
            "title": str(part.tag).replace("-", " ").capitalize(),
            "about": getdoc(part.cls) or "",
            "under": under.name,
            "fields": fields_of(part.cls),
            "beside": beside,
        }
        for part in _structs(under.type)
    ]


def _structs(kind: Any) -> list[inspect.StructType]:
    return [part for part in kind.types if isinstance(part, inspect.StructType)]


def ts_file() -> str:
    """The whole file; what stands beside every shape is written once."""
    forms = [form for operation in asked_alone() for form in forms_of(operation)]
    names = " | ".join(f"'{operation.name}'" for operation in asked_alone())
    beside = next(form["beside"] for form in forms if form["beside"])
    rows = "".join(f"  {_ts(one)},\n" for one in beside)
    out = [
        HEAD % names,
        f"const BESIDE: readonly FormField[] = [\n{rows}];\n",
        "export const FORMS: readonly Form[] = [\n",
    ]
    for form in forms:
        head = "".join(
            f"    {name}: {_ts(value)},\n" for name, value in form.items() if name not in ("fields", "beside")
        )
        rows = "".join(f"      {_ts(one)},\n" for one in form["fields"])
        besides = "BESIDE" if form["beside"] else "[]"
        out[-1] += f"  {{\n{head}    fields: [\n{rows}    ],\n    beside: {besides},\n  }},\n"
    out[-1] += "];\n"
    out.append("/** What a person sets for a job and its shop, by what is set. */")
    out[-1] += "\nexport const SETTINGS = {\n"
    for kind in get_args(PriceChange | HeadChange | PersonChange):
        if not kind.__struct_config__.tag.startswith("no "):
            rows = "".join(f"    {_ts(one)},\n" for one in fields_of(kind))
            out[-1] += f"  {kind.__struct_config__.tag}: [\n{rows}  ],\n"
    out[-1] += "} satisfies Readonly<Record<string, readonly FormField[]>>;\n"
    return "\n".join(out)


def _ts(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def main() -> int:
    """Write, or compare with --check."""
    text = ts_file()
    if "--check" in sys.argv[1:]:
        return int(not TARGET.exists() or TARGET.read_text(encoding="utf-8") != text)
    TARGET.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
