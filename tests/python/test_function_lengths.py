# SPDX-License-Identifier: BSD-3-Clause
"""No function of library, bindings and examples is longer than sixty lines: past that, its stages get names.

C++ is looked at by its indentation, which the formatter settles; of Python the body counts, without signature and
docstring. TypeScript has a rule of its own, `max-lines-per-function` in bindings/web/eslint.config.mjs.
"""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 60
NO_FUNCTION = re.compile(
    r"(namespace|class|struct|enum|union|if|for|while|switch|else|do|try|catch|case|default|return|extern)\b|[{}]"
)
# A line that does not end here goes on in the next one.
ENDS = re.compile(r"[;{}]\s*(//.*)?$|^\s*//|^\s*#|^\s*(public|private|protected):$|^\s*$")


def sources(*endings):
    for folder in ("libcapsim", "bindings", "examples"):
        for ending in endings:
            yield from (p for p in (ROOT / folder).rglob("*" + ending) if not {"node_modules", "build"} & set(p.parts))


def cpp_functions(lines):
    """First line, length and head of every definition; what is inside of one belongs to it."""
    end = 0
    for at, line in enumerate(lines):
        if at < end or not line.endswith("{"):
            continue
        first = at
        while first > 0 and not ENDS.search(lines[first - 1]):
            first -= 1
        head = re.sub(r"^template <.*?>\s*(?=[\w\[])", "", " ".join(part.strip() for part in lines[first : at + 1]))
        if "(" not in head or head.endswith("= {") or NO_FUNCTION.match(head):
            continue
        indent = len(lines[first]) - len(lines[first].lstrip())
        end = next((n for n in range(at + 1, len(lines)) if lines[n].startswith(" " * indent + "}")), len(lines)) + 1
        yield first + 1, end - first, head


def python_functions(text):
    """First line, length of the body and name of every function that is not inside another."""
    nodes = [node for node in ast.walk(ast.parse(text)) if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))]
    for node in nodes:
        body = node.body[1:] if ast.get_docstring(node) is not None else node.body
        yield node.lineno, node.end_lineno - body[0].lineno + 1 if body else 0, node.name


def too_long():
    for path in sources(".cpp", ".hpp"):
        for line, length, head in cpp_functions(path.read_text(encoding="utf-8").splitlines()):
            if length > LONGEST:
                yield f"{path.relative_to(ROOT)}:{line}: {length} lines: {head}"
    for path in sources(".py"):
        for line, length, name in python_functions(path.read_text(encoding="utf-8")):
            if length > LONGEST:
                yield f"{path.relative_to(ROOT)}:{line}: {length} lines: {name}"


def test_no_function_is_longer_than_sixty_lines():
    assert list(too_long()) == []


def test_a_long_function_would_be_found():
    body = ["  f();"] * LONGEST
    cpp = ["namespace a {", "double b(int c,", "         int d) {", *body, "}", "}  // namespace a"]
    assert [(line, length) for line, length, _ in cpp_functions(cpp)] == [(2, LONGEST + 3)]
    python = 'def b(c):\n    """What it does."""\n' + "    f()\n" * (LONGEST + 1)
    assert [(line, length) for line, length, _ in python_functions(python)] == [(1, LONGEST + 1)]


def test_functions_are_seen_at_all():
    lengths = [
        length for path in sources(".cpp") for _, length, _ in cpp_functions(path.read_text("utf-8").splitlines())
    ]
    assert len(lengths) > 1000 and sorted(lengths)[len(lengths) // 2] < 15
