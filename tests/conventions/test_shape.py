"""No function of the program is longer than a page."""

import ast
from pathlib import Path

import nuttery

LONGEST = 60


def body_lines(function):
    """Lines of a function without its head and docstring."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return function.end_lineno - body[0].lineno + 1 if body else 0


def test_no_function_is_longer_than_sixty_lines():
    source = Path(nuttery.__file__).parent
    long = [
        f"{file.relative_to(source)}: {node.name} {body_lines(node)}"
        for file in sorted(source.rglob("*.py"))
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and body_lines(node) > LONGEST
    ]
    assert long == []
