"""The numbers of the sums, found in their source and changed one at a time, for tests/mutate.py."""

from __future__ import annotations

import ast
from pathlib import Path
from types import CodeType
from typing import NamedTuple

ROOT = Path(__file__).parent.parent
SCIENCE = ROOT / "src" / "tankwalk" / "science"


class Literal(NamedTuple):
    """One number as it is written: its place in the walk over its file, and where to read it."""

    nth: int
    line: int
    written: str
    text: str


class Module(NamedTuple):
    """A file of the sums, read once. `name` is short: hydraulics, calculators.water."""

    name: str
    path: Path
    source: str
    literals: tuple[Literal, ...]

    def __str__(self) -> str:
        return f"{self.name} ({len(self.literals)})"


class Numbers(ast.NodeVisitor):
    """The numbers that matter, in the order of the walk."""

    def __init__(self) -> None:
        self.found: list[ast.Constant] = []

    def visit_Constant(self, node: ast.Constant) -> None:
        if type(node.value) in (int, float):  # a bool is an int too, and stays
            self.found.append(node)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "decimals":
            self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        self.visit(node.func)
        for place, argument in enumerate(node.args):
            if (name, place) not in _PASSED_OVER and name != "range":
                self.visit(argument)
        for keyword in node.keywords:
            if (name, keyword.arg) not in (("enumerate", "start"), ("round", "ndigits")):
                self.visit(keyword)


_PASSED_OVER = {("Output", 2), ("round", 1), ("enumerate", 1)}


def numbers(tree: ast.Module) -> list[ast.Constant]:
    finder = Numbers()
    finder.visit(tree)
    return finder.found


def modules() -> list[Module]:
    """Every file of the sums that holds a number."""
    found = []
    for path in sorted(SCIENCE.rglob("*.py")):
        source = path.read_text("utf-8")
        lines = source.splitlines()
        literals = tuple(
            Literal(i, n.lineno, ast.get_source_segment(source, n) or "", lines[n.lineno - 1])
            for i, n in enumerate(numbers(ast.parse(source)))
        )
        name = ".".join(path.relative_to(SCIENCE).with_suffix("").parts)
        if literals:
            found.append(Module(name, path, source, literals))
    return found


def changed(value: float) -> float:
    """1 part in 1000 more; 0 has no part, and becomes a thousandth."""
    return value * 1.001 if value else 0.001


def mutant(module: Module, literal: Literal) -> CodeType:
    """The module compiled with one number changed."""
    tree = ast.parse(module.source)
    node = numbers(tree)[literal.nth]
    assert isinstance(node.value, int | float)
    node.value = changed(node.value)
    code = compile(tree, str(module.path), "exec", dont_inherit=True)
    assert isinstance(code, CodeType)
    return code
