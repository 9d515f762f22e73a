#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Writes what the bindings declare from the lists of the library, so that no list is typed twice.

    PYTHONPATH=build/python python3 bindings/generate.py            writes the files
    PYTHONPATH=build/python python3 bindings/generate.py --check    says which would change, and fails if any would

Observables, outcomes, diagnostics and ends of a run come from the compiled library, scenario types from its schema. Run it after
a build with a new entry; a test compares.
"""

from __future__ import annotations

import json
import re
import sys
import textwrap
import types
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any


def _compiled() -> Any:
    """The compiled module alone: the package around it may not load while a declaration is missing."""
    found = find_spec("capsim")
    if found is None or found.submodule_search_locations is None:
        sys.exit("capsim is not on PYTHONPATH: build it first, then PYTHONPATH=build/python")
    shell = types.ModuleType("capsim")
    shell.__path__ = list(found.submodule_search_locations)
    sys.modules["capsim"] = shell
    return import_module("capsim._core")


sys.path.insert(0, str(Path(__file__).resolve().parent))
from c_functions import table  # noqa: E402
from rust_declarations import declarations  # noqa: E402

_core = _compiled()
BINDINGS = Path(__file__).resolve().parent
SAID_PY = "# Written by bindings/generate.py from the lists of the library: change those, not this file."
SAID_TS = "// Written by bindings/generate.py from the lists of the library: change those, not this file."
SHAPES = {
    "one": "[rows]",
    "xy": "[rows, 2]",
    "clock_hour": "[rows, 12]; column 0 is 12 o'clock, column 3 is 3 o'clock",
    "pupil": f"[rows, {len(_core.pupil_diameters_mm)}]",
    "cut": "[rows, cuts]; only with cut lines",
    "rim_point": "[rows, 2 x points], x0 y0 x1 y1 ...",
    "equator_point": "[rows, 2 x points], x0 y0 x1 y1 ...",
    "ring_point": "[rows, 2 x nodes], x0 y0 x1 y1 ...; only with a ring",
}


# ------------------------------------------------------------------------------------------------ Python


def python_recorded() -> str:
    """The declared series of a history, and its diagnostics."""
    lines = [
        "# SPDX-License-Identifier: BSD-3-Clause",
        SAID_PY,
        '"""What a run records: every series declared with its shape and unit, its diagnostics, and how it may end."""',
        "",
        "from __future__ import annotations",
        "",
        "from dataclasses import dataclass",
        "",
        "from .series_attribute import FloatArray, series",
        "",
        "STATUSES = {",
        *[f'    "{name}": "{sentence}",' for name, sentence in _core.statuses()],
        "}",
        '"""How a run may end, and what each word means."""',
        "",
        "",
        "class RecordedSeries:",
        '    """Every series that a run can record, as an attribute of its own name."""',
        "",
    ]
    for name, unit, axis, sentence in _core.observables():
        text = f"{_with_unit(sentence, unit)[:-1]}, {SHAPES[axis]}."
        lines += _python_series(f"    {name}: FloatArray = series(", text)
    lines += ["", "", "@dataclass(frozen=True)", "class Diagnostics:", '    """How the run went, in numbers.', ""]
    lines += ["    >>> history.diagnostics.steps > 0", "    True", '    """', ""]
    for name, unit, is_count, sentence in _core.diagnostic_fields():
        lines += [f"    {name}: {'int' if is_count else 'float'}", f'    """{_with_unit(sentence, unit)}"""']
    return "\n".join(lines) + "\n"


def _with_unit(sentence: str, unit: str) -> str:
    return sentence if unit == "1" else f"{sentence[:-1]} [{unit}]."


def _python_series(start: str, text: str) -> list[str]:
    """As the formatter has it: on one line where it fits."""
    quoted = json.dumps(text, ensure_ascii=False)
    if len(start) + len(quoted) + 1 <= 120:
        return [f"{start}{quoted})"]
    return [start, *_python_text(text, 8), "    )"]


def _python_text(text: str, indent: int) -> list[str]:
    if len(json.dumps(text, ensure_ascii=False)) <= 120 - indent:
        return [" " * indent + json.dumps(text, ensure_ascii=False)]
    pieces = textwrap.wrap(text, 120 - indent - 3)
    quoted = [piece + " " for piece in pieces[:-1]] + pieces[-1:]
    return [" " * indent + json.dumps(piece, ensure_ascii=False) for piece in quoted]


def python_scenario() -> str:
    """Every section of a scenario as it may be written, and what is known of every field."""
    schema = json.loads(_core.scenario_schema())
    facts = _facts()
    sections = _python_sections(schema)
    lines = [
        "# SPDX-License-Identifier: BSD-3-Clause",
        SAID_PY,
        '"""How a scenario is written: each section with its fields, and of each field default, limits, mark and source.',
        "",
        "Marks: READ seen in the published source; DER derived from it; MEM from memory; PROTO from an earlier prototype;",
        "calibrated: fitted to published cohorts; choice: a convention or neutral setting. See libcapsim/doc/parameters.md.",
        '"""',
        "",
        "from __future__ import annotations",
        "",
        "from collections.abc import Mapping, Sequence",
        "from typing import Any, Literal, TypedDict, Union",
        "",
        "import numpy as np",
        "from numpy.typing import NDArray",
        "",
        'Number = Union[float, "np.floating[Any]"]',
        'Whole = Union[int, "np.integer[Any]"]',
        "ByHourValues = Union[Mapping[int, Number], Mapping[str, Number]]",
        "Numbers = Union[Sequence[float], NDArray[Any]]",
        "Points = Union[Sequence[Sequence[float]], NDArray[Any]]",
    ]
    for path, node in sections.items():
        last = path.split(".")[-1].removesuffix("[]")
        name = {"anterior_thickness_profile": "ThicknessKnot", "events": "Event"}.get(last, _camel(last))
        lines += ["", "", f"class {name}Values(TypedDict, total=False):"]
        lines += [f'    """Values of `{path}`; what is not said keeps its default."""', ""]
        for field, value in node["properties"].items():
            lines += [f"    {field}: {_python_type(field, value)}"]
            fact = facts.get(f"{path}.{field}", "")
            lines += _python_docstring(fact) if fact else []
    lines += ["", "", "FIELD_FACTS = {"]
    for path, fact in facts.items():
        start, quoted = f"    {json.dumps(path)}: ", json.dumps(fact, ensure_ascii=False)
        if len(start) + len(quoted) + 1 <= 120:
            lines.append(f"{start}{quoted},")
        else:
            lines += [f"{start}(", *_python_text(fact, 8), "    ),"]
    lines += ["}", '"""Default, limits, mark and source of every field, by its path."""']
    return "\n".join(lines) + "\n"


def _python_sections(schema: dict) -> dict[str, dict]:
    """Everything in a scenario that has fields of its own, by its path."""
    event = schema["properties"]["events"]["items"]
    knots = schema["properties"]["capsule"]["properties"]["anterior_thickness_profile"]["items"]
    found = {}
    for name, node in schema["properties"].items():
        if name == "mesh":
            merged: dict[str, Any] = {}
            for choice in node["oneOf"]:
                merged.update(choice["properties"])
            found[name] = {"properties": merged}
        elif name in schema["$defs"]:
            found[name] = schema["$defs"][name]
        elif "properties" in node:
            if name == "capsule":
                found["capsule.anterior_thickness_profile[]"] = knots
            found[name] = node
        elif name == "lens":
            found[name] = next(choice for choice in node.get("anyOf", node.get("oneOf")) if "properties" in choice)
    for name, node in event["properties"].items():
        if "properties" in node:
            found[f"events[].{name}"] = node
    found["events[]"] = event
    return found


def _python_type(field: str, node: dict) -> str:
    """The type of a field; sections by the name of their own."""
    if "$ref" in node:
        return f"{_camel(node['$ref'].rsplit('/', 1)[1])}Values"
    for choice in ("anyOf", "oneOf"):
        if choice in node and "type" not in node:
            return " | ".join(dict.fromkeys(_python_type(field, one) for one in node[choice]))
    if "enum" in node or "const" in node:
        words = node.get("enum", [node.get("const")])
        said = f"Literal[{', '.join(json.dumps(word) for word in words if word is not None)}]"
        return f"{said} | None" if None in words else said
    kinds = node["type"] if isinstance(node["type"], list) else [node["type"]]
    return " | ".join(_python_kind(field, kind, node) for kind in kinds)


def _python_kind(field: str, kind: str, node: dict) -> str:
    if kind == "array":
        item = node["items"]
        if item.get("type") == "array":
            return "Points"
        return "Sequence[ThicknessKnotValues]" if "properties" in item else "Numbers"
    if kind == "object":
        return "ByHourValues" if "patternProperties" in node else f"{_camel(field)}Values"
    return {"string": "str", "number": "Number", "integer": "Whole", "boolean": "bool", "null": "None"}[kind]


def _python_docstring(text: str) -> list[str]:
    if len(text) <= 120 - 4 - 6:
        return [f'    """{text}"""']
    wrapped = textwrap.wrap(text, 120 - 4 - 6)
    return [f'    """{wrapped[0]}', *(f"    {line}" for line in wrapped[1:-1]), f'    {wrapped[-1]}"""']


def _facts() -> dict[str, str]:
    """Default, limits, mark and source of every field, from the page of parameters."""
    page = (BINDINGS.parent / "libcapsim" / "doc" / "parameters.md").read_text(encoding="utf-8")
    found = {}
    for row in re.findall(r"^\| (`[^|]*`[^|]*\|.*)\|$", page, re.MULTILINE):
        path, default, unit, allowed, mark, source = (cell.strip() for cell in row.split("|"))
        if not mark:
            continue
        source = re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", source).replace("`", "")
        unit = "" if unit in ("", "1") else f" {unit}"
        text = f"Default {default}{unit}{f'; allowed {allowed}' if allowed else ''}. {mark}"
        found[path.strip("`")] = (f"{text}: {source}." if source else f"{text}.").replace('"', "'")
    return found


def python_signature() -> str:
    """scenario.py with the signature of its constructor written anew."""
    schema = json.loads(_core.scenario_schema())
    text = (BINDINGS / "python" / "capsim" / "scenario.py").read_text(encoding="utf-8")
    lines = []
    for name, node in schema["properties"].items():
        if name in ("format", "version"):
            continue
        camel = _camel(name)
        if name == "events":
            kind, default = "Sequence[EventValues | Event]", "()"
        elif name == "eye":
            kind, default = "str | None", "None"
        elif name in ("tension_ring", "lens"):
            kind, default = f"{camel}Values | {camel} | None", "None" if name == "tension_ring" else "{}"
        elif node.get("type") == "object" or name == "mesh":
            kind, default = f"{camel}Values | {camel}", "{}"
        else:
            kind, default = _python_type(name, node), json.dumps(node["default"])
        lines.append(f"            {name}: {kind} = {default},{'  # noqa: B006' if default == '{}' else ''}")
    first, last = "            # from the library's list: signature\n", "            # end of the list: signature\n"
    before, rest = text.split(first)
    return before + first + "".join(line + "\n" for line in lines) + last + rest.split(last)[1]


# ---------------------------------------------------------------------------------------------------- C


def c_header() -> str:
    """capsim.h with its generated parts written anew, between the two lines that name them."""
    text = (BINDINGS / "c" / "capsim.h").read_text(encoding="utf-8")
    ends = [
        f"  CAPSIM_END_{name.upper()} = {number}, /**< {sentence} */"
        for number, (name, sentence) in enumerate(_core.statuses())
    ]
    fields = [
        f"  {'int64_t' if is_count else 'double'} {name}; /**< {sentence} */"
        for name, _, is_count, sentence in _core.diagnostic_fields()
    ]
    for what, lines in {"version": _version_macros(), "ends of a run": ends, "diagnostics": fields}.items():
        text = _between(text, what, lines)
    return text


def _version_macros() -> list[str]:
    numbers = [int(number) for number in _core.version.split(".")]
    macros = [f"#define CAPSIM_VERSION_{part} {number}" for part, number in zip(("MAJOR", "MINOR", "PATCH"), numbers)]
    return [*macros, f"#define CAPSIM_VERSION_NUMBER {10000 * numbers[0] + 100 * numbers[1] + numbers[2]}"]


def cpp_version() -> str:
    """version.hpp with the macros of the version written anew."""
    text = (BINDINGS.parent / "libcapsim" / "include" / "capsim" / "version.hpp").read_text(encoding="utf-8")
    return _between(text, "version", _version_macros())


def _between(text: str, what: str, lines: list[str]) -> str:
    marks = rf"([ ]*/[*/] from the library's list: {what}[^\n]*\n).*?([ ]*/[*/] end of the list: {what}[^\n]*\n)"
    found = re.search(marks, text, re.S)
    if found is None:
        sys.exit(f"a header has no place for the list: {what}")
    return text[: found.end(1)] + "".join(line + "\n" for line in lines) + text[found.start(2) :]


# --------------------------------------------------------------------------------------------- TypeScript


def typescript_recorded() -> str:
    """Ends of a run, names of series, axes and diagnostics."""
    lines = [
        "// SPDX-License-Identifier: BSD-3-Clause",
        SAID_TS,
        "/** What a run records, and how it may end. */",
        "",
        "/** How a run ended. Everything but `completed` leaves a partial history. */",
        "export type Status =",
        *[f'  | "{name}" // {sentence}' for name, sentence in _core.statuses()],
    ]
    lines[-1] = _ended(lines[-1])
    lines += ["", "/** What the values of one row of a series are. */", "export type Axis ="]
    lines += [f'  | "{axis}" // {words}' for axis, words in {**SHAPES, "other": "of another version"}.items()]
    lines[-1] = _ended(lines[-1])
    lines += ["", "/** Every series that a run can record. */", "export type SeriesName ="]
    lines += [f'  | "{name}" // {sentence}' for name, _, _, sentence in _core.observables()]
    lines[-1] = _ended(lines[-1])
    lines += ["", "/** Every outcome that a run can have; with a number, one for each day of cuts. */"]
    lines += ["export type OutcomeName ="]
    lines += [f"  | {_outcome_name(name)} // {sentence}" for name, _, _, sentence in _core.known_outcomes()]
    lines[-1] = _ended(lines[-1])
    lines += ["", "/** How the run went, in numbers. */", "export interface Diagnostics {"]
    lines += [f"  {name}: number; // {sentence}" for name, _, _, sentence in _core.diagnostic_fields()]
    pupils = ", ".join(f"{size:g}" for size in _core.pupil_diameters_mm)
    lines += ["}", "", "/** Pupils that a clear fraction is given for. */"]
    lines += [f"export const pupilDiameters_mm = [{pupils}] as const;"]
    return "\n".join(lines) + "\n"


def _ended(line: str) -> str:
    """The last line of a union with its semicolon before the comment."""
    return re.sub(r'" //', '"; //', line, count=1)


def _outcome_name(name: str) -> str:
    """A name, or the pattern of the names with a day."""
    return f"`{name.replace('{day}', '${number}')}`" if "{day}" in name else f'"{name}"'


def typescript_scenario() -> str:
    """Types of a scenario as it may be written, from the schema."""
    schema = json.loads(_core.scenario_schema())
    lines = [
        "// SPDX-License-Identifier: BSD-3-Clause",
        SAID_TS,
        "/** A scenario as the library reads and writes it: plain JSON, the unit of each number in its name.",
        " *  Every field but `format` and `version` may be left out; the engine fills in its default. */",
        "",
        'export type ClockHour = "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "10" | "11" | "12";',
        "/** Values by clock hour. */",
        "export type ByHour = { [hour in ClockHour]?: number };",
        "export type Point = [number, number];",
    ]
    for name, node in schema["$defs"].items():
        lines += _interface(_camel(name), node)
    for name, node in schema["properties"].items():
        if node.get("type") == "object":
            lines += _interface(_camel(name), node)
        elif name == "mesh":
            lines += ["", "/** Numbers of elements, or a level that stands for them. */"]
            choices = [_type(choice) for choice in node["oneOf"]]
            lines += ["export type Mesh =", *(f"  | {choice}" for choice in choices[:-1]), f"  | {choices[-1]};"]
        elif "enum" in node:
            lines += ["", f"export type {_camel(name)} = {_type(node)};"]
    lines += _events(schema["properties"]["events"]["items"])
    lines += _interface("Scenario", schema, {"events": "ScenarioEvent[]"})
    lines += ["", 'export type ContractionLaw = NonNullable<Contraction["law"]>;']
    return "\n".join(lines) + "\n"


def _events(item: dict) -> list[str]:
    """One interface with exactly one action each."""
    properties = dict(item["properties"])
    day = properties.pop("day")
    lines = []
    for name, node in properties.items():
        if "$ref" not in node:
            lines += _interface(_camel(name), node)
    lines += ["", "/** What happens on one day: exactly one action. */", "export type ScenarioEvent ="]
    for name, node in properties.items():
        kind = _type(node) if "$ref" in node else _camel(name)
        members = [f"day: {_type(day)}", f"{name}: {kind}"] + [
            f"{other}?: never" for other in properties if other != name
        ]
        if len(one := f"  | {{ {'; '.join(members)} }}") < 120:
            lines.append(one)
        else:
            lines += ["  | {", *(f"      {member};" for member in members), "    }"]
    lines[-1] += ";"
    return lines


def _interface(name: str, node: dict, given: dict[str, str] | None = None) -> list[str]:
    required = node.get("required", [])
    lines = ["", f"export interface {name} {{"]
    for field, value in node["properties"].items():
        kind = (given or {}).get(field)
        if kind is None and node.get("title") and (value.get("type") == "object" or field == "mesh" or "enum" in value):
            kind = _camel(field)
        lines.append(f"  {field}{'' if field in required else '?'}: {kind or _type(value)};{_limits(value)}")
    return [*lines, "}"]


def _limits(node: dict) -> str:
    """The limits of a number, in a comment."""
    signs = {"minimum": ">=", "exclusiveMinimum": ">", "maximum": "<="}
    said = [f"{sign} {node[key]:g}" for key, sign in signs.items() if key in node]
    return f" // {' and '.join(said)}" if said else ""


def _type(node: dict) -> str:
    if "$ref" in node:
        return _camel(node["$ref"].rsplit("/", 1)[1])
    for choice in ("anyOf", "oneOf"):
        if choice in node and "type" not in node:
            return " | ".join(_type(one) for one in node[choice])
    if "const" in node:
        return json.dumps(node["const"])
    if "enum" in node:
        return " | ".join(json.dumps(word) for word in node["enum"])
    kinds = node["type"] if isinstance(node["type"], list) else [node["type"]]
    return " | ".join(_simple(kind, node) for kind in kinds)


def _simple(kind: str, node: dict) -> str:
    if kind == "array":
        item = _type(node["items"])
        if item == "number" and node.get("minItems") == node.get("maxItems") == 2:
            return "Point"
        return f"({item})[]" if " | " in item else f"{item}[]"
    if kind == "object":
        if "patternProperties" in node:
            return "ByHour"
        required = node.get("required", [])
        fields = [f"{f}{'' if f in required else '?'}: {_type(v)}" for f, v in node["properties"].items()]
        return "{ " + "; ".join(fields) + " }"
    return {"string": "string", "number": "number", "integer": "number", "boolean": "boolean", "null": "null"}[kind]


def _camel(name: str) -> str:
    return "".join(word.capitalize() for word in name.split("_"))


# ------------------------------------------------------------------------------------------------- command

FILES = {
    "python/capsim/recorded.py": python_recorded,
    "python/capsim/scenario_values.py": python_scenario,
    "python/capsim/scenario.py": python_signature,
    "c/capsim.h": c_header,
    "c/functions.md": lambda: table(c_header()),
    "../libcapsim/include/capsim/version.hpp": cpp_version,
    "rust/src/ffi.rs": lambda: declarations(c_header()),
    "web/src/recorded.ts": typescript_recorded,
    "web/src/scenario.ts": typescript_scenario,
}


def main() -> int:
    check = "--check" in sys.argv[1:]
    stale = []
    for name, make in FILES.items():
        path, text = BINDINGS / name, make()
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale.append(name)
        if not check:
            path.write_text(text, encoding="utf-8")
    for name in stale:
        print(f"{'differs from the lists of the library' if check else 'written'}: bindings/{name}")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
