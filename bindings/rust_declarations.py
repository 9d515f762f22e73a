# SPDX-License-Identifier: BSD-3-Clause
"""Rust declarations of everything in capsim.h: the header is the one description of the C interface.

The header keeps to a plain form (one declaration a statement, no nested types), which is what is read here; a form that
is not known is an error, never left out.
"""

from __future__ import annotations

import re

SIMPLE = {
    "void": "c_void",
    "char": "c_char",
    "double": "f64",
    "size_t": "usize",
    "int32_t": "i32",
    "int64_t": "i64",
    "uint64_t": "u64",
}
KEYWORDS = {"type", "move", "match", "in", "ref", "use", "where", "box", "final", "loop", "fn"}
HEAD = """// SPDX-License-Identifier: BSD-3-Clause
// Written by bindings/generate.py from bindings/c/capsim.h: change that, not this file.
//! What `capsim.h` declares, as it is: every call is unsafe here. The crate's own types are the safe way.
#![allow(non_camel_case_types, non_snake_case, missing_docs)]

use core::ffi::{c_char, c_void};
"""


def declarations(header: str) -> str:
    """The whole file."""
    text = re.sub(r"/\*.*?\*/", "", header, flags=re.S)
    numbers = re.findall(r"^#define (CAPSIM_C_API|CAPSIM_VERSION_\w+) (\d+)$", text, re.M)
    text = re.sub(r"^#(?:.*\\\n)*.*$", "", text, flags=re.M)
    text = text.split('extern "C" {', 1)[1].rsplit("}", 1)[0]
    lines, functions = [f"pub const {name}: i32 = {number};" for name, number in numbers], []
    for statement in _statements(text):
        (functions if statement.startswith("CAPSIM_FUNCTION") else lines).extend(_declared(statement))
    return "\n".join([HEAD, *lines, "", 'unsafe extern "C" {', *functions, "}"]) + "\n"


def _statements(text: str) -> list[str]:
    """At every semicolon outside braces."""
    found, depth, start = [], 0, 0
    for place, sign in enumerate(text):
        depth += (sign == "{") - (sign == "}")
        if sign == ";" and depth == 0:
            found.append(" ".join(text[start:place].split()))
            start = place + 1
    return [statement for statement in found if statement]


def _declared(statement: str) -> list[str]:
    if match := re.fullmatch(r"CAPSIM_FUNCTION (.+?)(\w+)\((.*)\)", statement):
        result, name, arguments = match.groups()
        return [f"    pub fn {name}({_arguments(arguments)}){_result(result)};"]
    if match := re.fullmatch(r"enum \{ (.*) \}", statement):
        entries = re.findall(r"(\w+) = (-?\d+)", match[1])
        return [f"pub const {name}: i32 = {number};" for name, number in entries]
    if match := re.fullmatch(r"typedef struct (\w+) \{ (.*); \} \1", statement):
        members = [_member(member) for member in match[2].split("; ")]
        return ["#[repr(C)]", "#[derive(Clone, Copy)]", f"pub struct {match[1]} {{", *members, "}"]
    if match := re.fullmatch(r"typedef struct (\w+) \1", statement):
        return ["#[repr(C)]", f"pub struct {match[1]} {{", "    _private: [u8; 0],", "}"]
    if match := re.fullmatch(r"typedef (.+?)\(\*(\w+)\)\((.*)\)", statement):
        return [f"pub type {match[2]} = {_function(match[1], match[3])};"]
    if match := re.fullmatch(r"typedef (\w+) (\w+)", statement):
        return [f"pub type {match[2]} = {SIMPLE[match[1]]};"]
    raise ValueError(f"capsim.h has a declaration of an unknown form: {statement}")


def _member(member: str) -> str:
    if match := re.fullmatch(r"(.+?)\(\*(\w+)\)\((.*)\)", member):
        return f"    pub {match[2]}: {_function(match[1], match[3])},"
    if match := re.fullmatch(r"(.+?)(\w+)\[(\d+)\]", member):
        return f"    pub {match[2]}: [{_type(match[1])}; {match[3]}],"
    kind, name = re.fullmatch(r"(.+?)(\w+)", member).groups()
    return f"    pub {_safe(name)}: {_type(kind)},"


def _function(result: str, arguments: str) -> str:
    return f'Option<unsafe extern "C" fn({_arguments(arguments)}){_result(result)}>'


def _arguments(text: str) -> str:
    if text == "void":
        return ""
    found = [re.fullmatch(r"(.+?)(\w+)", argument).groups() for argument in text.split(", ")]
    return ", ".join(f"{_safe(name)}: {_type(kind)}" for kind, name in found)


def _result(kind: str) -> str:
    return "" if kind.strip() == "void" else f" -> {_type(kind)}"


def _type(kind: str) -> str:
    """`const capsim_scenario* const*` reads from the right: a pointer to const pointers to const scenarios."""
    base, *pointers = re.sub(r"\s*\*\s*", " * ", kind).split(" * ")
    words = base.split()
    constant, name = "const" in words, next(word for word in words if word != "const")
    made = SIMPLE.get(name, name)
    for after in pointers:
        made = f"*{'const' if constant else 'mut'} {made}"
        constant = "const" in after
    return made


def _safe(name: str) -> str:
    return f"r#{name}" if name in KEYWORDS else name
