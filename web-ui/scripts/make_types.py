"""Write web-ui/src/engine/types.ts from the message types of those `racewright.operations` that the page asks, and
web-ui/test/record-forms.json, to which the page's tests hold what it offers a shop.

Run: python web-ui/scripts/make_types.py

With --check nothing is written; the exit code is 1 where the file is out of date.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path
from typing import Any

import msgspec
from make_forms import asked_alone

from racewright import __version__
from racewright.cautions import DECIDES
from racewright.codebook.edition import FROM_MEMORY
from racewright.operations.common import MOST_OWN_RUNS, MOST_RUNS, Refused
from racewright.operations.jobs import STATUS_BEFORE
from racewright.operations.operations import OPERATIONS, Operation
from racewright.records.differ import LIST_WORDS, UNSAID, field_words, usual_values
from racewright.records.entry import NOT_BENT, STATUSES
from racewright.records.fields import MOST_COPIES
from racewright.records.kinds import KINDS
from racewright.records.model import JOB_FORMAT
from racewright.records.steps import STEPS
from racewright.records.superseded import AGAINST_CARD
from racewright.store.job_log import JobLog
from racewright.store.job_protocol import RECORDS_FORMAT, Answered, Changes, Offered
from racewright.survey.written import WrittenSurvey

TARGET = Path(__file__).resolve().parents[1] / "src" / "engine" / "types.ts"
UNTOLD = ("title", "description", "default")
FORMS = TARGET.parents[2] / "test" / "record-forms.json"
HEAD = """\
// Written by web-ui/scripts/make_types.py from the message types of racewright.operations. Do not edit.
// Lengths ending in _mm are millimetres, angles ending in _deg degrees; other lengths in requests are text with a unit.
"""


def asked() -> list[Operation]:
    """The operations that the page or its tests ask by name or from a form, in the order of their list."""
    sources = [path for folder in ("src", "test") for path in (TARGET.parents[2] / folder).rglob("*.ts*")]
    text = "".join(path.read_text(encoding="utf-8") for path in sources if path != TARGET)
    names = set(re.findall(r"""\bask\(\s*['"](\w+)['"]""", text)) | {operation.name for operation in asked_alone()}
    return [operation for name, operation in OPERATIONS.items() if name in names]


def ts_type(schema: dict[str, Any]) -> str:
    """The TypeScript type of a JSON schema, inline."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "enum" in schema:
        return " | ".join(json.dumps(value) for value in schema["enum"])
    if "const" in schema:
        return json.dumps(schema["const"])
    if "anyOf" in schema:
        return " | ".join(dict.fromkeys(ts_type(part) for part in schema["anyOf"]))
    kind = schema.get("type")
    if isinstance(kind, list):
        return " | ".join(dict.fromkeys(ts_type({**schema, "type": one}) for one in kind))
    if kind == "array":
        return array_type(schema)
    if kind == "object":
        inner = schema.get("additionalProperties")
        return f"Record<string, {ts_type(inner)}>" if isinstance(inner, dict) and inner else "Record<string, unknown>"
    names = {"string": "string", "number": "number", "integer": "number", "boolean": "boolean", "null": "null"}
    return names.get(str(kind), "unknown")


def array_type(schema: dict[str, Any]) -> str:
    """A tuple where every place has its own type, else an array."""
    if schema.get("prefixItems"):
        return "[" + ", ".join(ts_type(item) for item in schema["prefixItems"]) + "]"
    inner = ts_type(schema.get("items", {}))
    return f"({inner})[]" if "|" in inner else f"{inner}[]"


def comment(text: str, indent: str = "") -> str:
    """A doc comment."""
    lines = [line.strip() for line in text.strip().splitlines()]
    return f"{indent}/** " + f"\n{indent} *  ".join(lines) + " */\n" if text else ""


def sparse(info: Any, found: set[str]) -> set[str]:
    """The names of the structs below that are written without their defaults."""
    if isinstance(info, msgspec.inspect.StructType):
        name = info.cls.__name__
        if name in found or f"-{name}" in found:
            return found
        found.add(name if info.cls.__struct_config__.omit_defaults else f"-{name}")
        for field in info.fields:
            sparse(field.type, found)
    elif isinstance(info, tuple | list):
        for part in info:
            sparse(part, found)
    elif isinstance(info, msgspec.Struct):
        for name in info.__struct_fields__:
            sparse(getattr(info, name), found)
    return found


def by_units(info: Any, path: str = "") -> dict[str, str]:
    """The fields below, by path without places in lists, whose plain numbers are in the survey's units, and as what."""
    found: dict[str, str] = {}
    if isinstance(info, msgspec.inspect.Metadata) and (info.extra or {}).get("is") in ("length", "temperature"):
        found[path] = (info.extra or {})["is"]
    elif isinstance(info, msgspec.inspect.StructType):
        for field in info.fields:
            found |= by_units(field.type, f"{path}.{field.encode_name}".lstrip("."))
    elif isinstance(info, msgspec.inspect.VarTupleType):
        found = by_units(info.item_type, path)
    elif isinstance(info, msgspec.inspect.UnionType):
        for part in info.types:
            found |= by_units(part, path)
    return found


def figures(schema: dict[str, Any]) -> list[dict[str, str]]:
    """The fields of a struct that have a title: name, whether text or number, title and description."""
    return [
        {
            "field": name,
            "type": "text" if part.get("type") == "string" else "number",
            "title": part["title"],
            "help": part["description"],
        }
        for name, part in schema["properties"].items()
        if "title" in part
    ]


def ts_interface(name: str, schema: dict[str, Any], *, whole: bool) -> str:
    """One exported interface; with `whole` every field is always there."""
    required = set(schema.get("properties", {}) if whole else schema.get("required", ()))
    rows = []
    for field, part in schema.get("properties", {}).items():
        mark = "" if field in required else "?"
        key = field if field.isidentifier() else json.dumps(field)
        rows.append(f"  {key}{mark}: {ts_type(part)};\n")
    return f"{comment(schema.get('description', ''))}export interface {name} {{\n{''.join(rows)}}}\n"


def ts_file() -> str:
    """The whole file."""
    operations = asked()
    types: list[Any] = [t for op in operations for t in (op.request, op.answer)] + [
        Refused,
        Changes,
        Offered,
        Answered,
        JobLog,
    ]
    _, parts = msgspec.json.schema_components(types, ref_template="#/{name}")
    if two := [name for name in parts if "." in name]:
        raise SystemExit(f"two message types have one name: {', '.join(sorted(two))}")
    may_lack = sparse(msgspec.inspect.multi_type_info(types), set())
    out = [HEAD, f"/** Stands under every answer. */\nexport const DECIDES =\n  {json.dumps(DECIDES)};\n"]
    out.append("/** What a finding rests on is from no book at hand. */")
    out[-1] += f"\nexport const FROM_MEMORY = {json.dumps(FROM_MEMORY)};\n"
    out.append("/** What the page called a status before it had those of a job. */")
    out[-1] += "\nexport const STATUS_BEFORE: Readonly<Record<string, Status>> = "
    out[-1] += f"{json.dumps(STATUS_BEFORE)};\n"
    out.append(
        "/** How far a run has come, in this order; with those of NOT_BENT its conduit is not cut and bent yet. */"
    )
    out[-1] += f"\nexport const STATUSES = {json.dumps(STATUSES)} as const;\n"
    out[-1] += "export type Status = (typeof STATUSES)[number];\n"
    out[-1] += f"export const NOT_BENT: readonly Status[] = {json.dumps(NOT_BENT)};\n"
    steps = {
        name: {one: getattr(row, one) for one in ("done", "of", "planned", "counted", "cut", "again", "in_place")}
        for name, row in STEPS.items()
    }
    out.append("/** The steps that are no bends, as a record keeps that they are done (records/steps.py). */")
    out[-1] += '\nexport interface StepRow {\n  done: string;\n  of: "marks" | "plan";\n'
    out[-1] += '  planned: Plan["steps"][number]["kind"] | null;\n'
    out[-1] += '  counted: "" | "bend" | "step";\n  cut: "" | "is" | "was";\n'
    out[-1] += "  again: boolean;\n  in_place: boolean;\n}\n"
    out[-1] += f"export const STEPS: Readonly<Record<StepMade['kind'], StepRow>> = {json.dumps(steps, indent=2)};\n"
    out.append("/** The rules of what a record says against its card, in the order in which it is told. */")
    out[-1] += f"\nexport const AGAINST_CARD = {json.dumps(AGAINST_CARD)} as const;\n"
    out[-1] += "export type AgainstCard = (typeof AGAINST_CARD)[number];\n"
    out.append(
        "/** So often one run is made alike at most; so many runs a server takes in one question, and the browser's"
    )
    out[-1] += f"\n *  own engine. */\nexport const MOST_COPIES = {MOST_COPIES};\n"
    out[-1] += f"export const MOST_RUNS = {MOST_RUNS};\nexport const MOST_OWN_RUNS = {MOST_OWN_RUNS};\n"
    out.append("/** The engine that this page goes with, and the formats of records and job files that both know. */")
    out[-1] += f"\nexport const ENGINE = {json.dumps(__version__)};\nexport const RECORDS_FORMAT = {RECORDS_FORMAT};\n"
    out[-1] += f"export const JOB_FORMAT = {JOB_FORMAT};\n"
    kinds = {
        k.name: {"member": k.member, "called": k.called, "ofShop": k.of_shop, "pinned": k.pinned}
        for k in KINDS.values()
    }
    out.append(
        "/** The kinds of record, in the order in which those of one change go in. `member`: where they stand in a"
    )
    out[-1] += (
        "\n *  job file; `called`: one in words, with the field that tells it apart; `ofShop`: of the whole shop, and"
    )
    out[-1] += "\n *  of no job; `pinned`: runs stay on it as it was at a revision. */"
    out[-1] += "\nexport interface Kind {\n  member: keyof Job;\n  called: string;\n  ofShop: boolean;\n"
    out[-1] += "  pinned: boolean;\n}\n"
    out[-1] += f"export const KINDS: Readonly<Record<string, Kind | undefined>> = {json.dumps(kinds, indent=2)};\n"
    united = "".join(
        f"  {json.dumps(path)}: {json.dumps(kind)},\n"
        for path, kind in by_units(msgspec.inspect.type_info(WrittenSurvey)).items()
    )
    out.append("/** Where a survey's plain numbers are in its units, by path without places in lists. */")
    out[-1] += f"\nexport const BY_UNITS: Readonly<Record<string, 'length' | 'temperature'>> = {{\n{united}}};\n"
    out.append(
        "/** What a field of a record says where nothing is written, by kind and path without places in lists. */"
    )
    out[-1] += f"\nexport const USUAL: Readonly<Record<string, string>> = {json.dumps(usual_values(), indent=2)};\n"
    out.append(
        "/** What every field of a record is called ('': it goes without saying), and the places of lists, in turn; and"
    )
    out[-1] += "\n *  the fields that name a record, and say nothing of what it is. */"
    out[-1] += (
        f"\nexport const FIELD_WORDS: Readonly<Record<string, string>> = {json.dumps(field_words(), indent=2)};\n"
    )
    out[-1] += f"export const LIST_WORDS: Readonly<Record<string, readonly string[]>> = {json.dumps(LIST_WORDS)};\n"
    out[-1] += f"export const UNSAID: readonly string[] = {json.dumps(UNSAID)};\n"
    out.append("/** The figures of a bending tool in the order in which they are written down, with what each is. */")
    out[-1] += f"\nexport const BENDER_FIGURES = {json.dumps(figures(parts['BenderRecord']), indent=2)} as const;\n"
    for name, schema in sorted(parts.items()):
        if schema.get("type") == "object":
            out.append(ts_interface(name, schema, whole=name not in may_lack))
        else:
            out.append(f"{comment(schema.get('description', ''))}export type {name} = {ts_type(schema)};\n")
    out.append(
        "/** Every operation that the page asks: what goes in and what comes out. */\nexport interface Operations {\n"
    )
    for op in operations:
        out[-1] += (
            f"  /** {op.about} */\n  {op.name}: {{ request: {op.request.__name__}; answer: {op.answer.__name__} }};\n"
        )
    out[-1] += "}\n\nexport type OperationName = keyof Operations;\n"
    return "\n".join(out)


def bare(schema: Any) -> Any:
    """A JSON schema without what is there to be read."""
    if isinstance(schema, dict):
        told = {key: part for key, part in schema.items() if isinstance(part, dict) or key not in UNTOLD}
        return {key: bare(part) for key, part in told.items()}
    return [bare(part) for part in schema] if isinstance(schema, list) else schema


def record_forms() -> str:
    """The form of each kind of record, of an offer and of its answer, as JSON Schema."""
    types = [*(kind.holds for kind in KINDS.values()), Offered, Answered, Changes]
    _, parts = msgspec.json.schema_components(types, ref_template="#/{name}")
    kinds = {kind.name: {"$ref": f"#/{kind.holds.__name__}"} for kind in KINDS.values()}
    return json.dumps(bare(parts) | kinds, indent=1, sort_keys=True) + "\n"


def main() -> int:
    """Write, or compare with --check."""
    texts = {TARGET: ts_file(), FORMS: record_forms()}
    if "--check" in sys.argv[1:]:
        return int(any(not path.exists() or path.read_text(encoding="utf-8") != text for path, text in texts.items()))
    for path, text in texts.items():
        path.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
