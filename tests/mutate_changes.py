"""Small changes to what judges and keeps, found in its source, for tests/mutate.py --judgement.

A comparison flipped, a branch taken always or never, a limit moved, `and` for `or`, a `not` taken
out, a write skipped, what is returned replaced, an order reversed, a sign flipped. Left as they
are: words and how they are written, docstrings, types, what is raised, the values of an enum.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from pathlib import Path
from types import CodeType
from typing import NamedTuple

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src" / "tankwalk"
ROOMS = ("practice", "plan/bands.py", "ledger")
"""What this check reaches: folders, walked to the bottom, and a file."""

Apply = Callable[[], None]

_FLIPPED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
_TURNED = {"min": "max", "max": "min", "reversed": "iter", "any": "all", "all": "any"}


class Change(NamedTuple):
    """One change: its place in the walk over its file, the lines it stands on, and what it does.

    `names` are the constants of the module that the changed statement gives a value: empty inside
    a function.
    """

    nth: int
    line: int
    end: int
    what: str
    text: str
    names: tuple[str, ...]


class Source(NamedTuple):
    """A file that is changed, read once. `name` is its path below tankwalk, without ".py"."""

    name: str
    path: Path
    text: str
    changes: tuple[Change, ...]

    @property
    def room(self) -> str:
        """The folder it stands in; for a file named in `ROOMS`, itself."""
        one = next((r for r in ROOMS if r == f"{self.name}.py"), None)
        return self.name if one else str(Path(self.name).parent)


class _Found(NamedTuple):
    node: ast.expr | ast.stmt
    what: str
    apply: Apply
    names: tuple[str, ...]


class _Finder(ast.NodeVisitor):
    """Every change to a tree, in the order of the walk."""

    def __init__(self) -> None:
        self.found: list[_Found] = []
        self._names: tuple[str, ...] = ()
        self._returns: list[str] = []
        self._inside = False

    def _add(self, node: ast.expr | ast.stmt, what: str, apply: Apply) -> None:
        self.found.append(_Found(node, what, apply, () if self._inside else self._names))

    # ---- left as they are

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Words."""

    def visit_Raise(self, node: ast.Raise) -> None:
        """Words, again."""

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self._named([node.target], node.value)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        enum = any("Enum" in ast.unparse(base) for base in node.bases)
        for one in node.body:
            if not enum or isinstance(one, ast.FunctionDef):
                self.visit(one)

    # ---- where it stands

    def visit_Assign(self, node: ast.Assign) -> None:
        self._named(node.targets, node.value)

    def _named(self, targets: list[ast.expr], value: ast.expr) -> None:
        if not self._inside:
            inner = (n for target in targets for n in ast.walk(target))
            self._names = tuple(n.id for n in inner if isinstance(n, ast.Name))
        self.visit(value)
        self._names = ()

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        inside, self._inside = self._inside, True
        self._returns.append("" if node.returns is None else ast.unparse(node.returns))
        for one in node.body:
            self.visit(one)
        self._returns.pop()
        self._inside = inside

    # ---- what is changed

    def visit_If(self, node: ast.If) -> None:
        if ast.unparse(node.test) != "TYPE_CHECKING":
            self._branch(node, node.test)
            self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._branch(node, node.test)
        self.generic_visit(node)

    def _branch(self, node: ast.If | ast.IfExp, test: ast.expr) -> None:
        for always, said in ((True, "always"), (False, "never")):
            self._add(test, f"taken {said}", _set(node, "test", ast.Constant(always)))

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for nth, test in enumerate(node.ifs):
            self._add(test, "all let through", _put(node.ifs, nth, ast.Constant(True)))
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for nth, op in enumerate(node.ops):
            other = _FLIPPED[type(op)]
            what = f"{type(op).__name__} to {other.__name__}"
            self._add(node, what, _put(node.ops, nth, other()))
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        self._add(node, f"{type(node.op).__name__} to {type(other).__name__}",
                  _set(node, "op", other))  # fmt: skip
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not):
            twice = ast.UnaryOp(ast.Not(), node.operand)
            self._add(node, "not taken out", _set(node, "operand", twice))
        elif isinstance(node.op, ast.USub):
            self._add(node, "sign flipped", _set(node, "op", ast.UAdd()))
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if isinstance(node.op, ast.Add | ast.Sub) and not _words(node):
            other = ast.Sub() if isinstance(node.op, ast.Add) else ast.Add()
            self._add(node, f"{type(node.op).__name__} to {type(other).__name__}",
                      _set(node, "op", other))  # fmt: skip
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, bool):
            self._add(node, f"{value} to {not value}", _set(node, "value", not value))
        elif isinstance(value, int | float):
            for moved in dict.fromkeys((value * 2, value / 2) if value > 1 else (value + 1,)):
                new = int(moved) if isinstance(value, int) else moved
                self._add(node, f"{value} to {new}", _set(node, "value", new))

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        ordered = name == "sorted" or (
            isinstance(node.func, ast.Attribute) and node.func.attr == "sort"
        )
        if name in _TURNED:
            self._add(node, f"{name} to {_TURNED[name]}", _set(node.func, "id", _TURNED[name]))
        if ordered:
            self._add(node, "order reversed", lambda: _reverse(node))
        self.visit(node.func)
        for nth, argument in enumerate(node.args):
            if (name, nth) != ("round", 1):  # how many digits are shown
                self.visit(argument)
        for keyword in node.keywords:
            self.visit(keyword.value)

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Call):
            self._add(node, "not done", _set(node, "value", ast.Constant(None)))
        self.generic_visit(node)

    def visit_Return(self, node: ast.Return) -> None:
        told, value = self._returns[-1], node.value
        plain = isinstance(value, ast.Constant)
        if value is not None and told == "bool" and not plain:
            self._add(node, "returns the opposite",
                      _set(node, "value", ast.UnaryOp(ast.Not(), value)))  # fmt: skip
        elif value is not None and told.endswith("| None") and not plain:
            self._add(node, "returns None", _set(node, "value", ast.Constant(None)))
        self.generic_visit(node)


def _words(node: ast.BinOp) -> bool:
    """Whether words are put together, which have no sign."""
    parts = (n for n in ast.walk(node) if isinstance(n, ast.Constant | ast.JoinedStr))
    return any(isinstance(n, ast.JoinedStr) or isinstance(n.value, str) for n in parts)


def _set(node: ast.AST, field: str, new: ast.AST | str | bool | float) -> Apply:
    return lambda: setattr(node, field, new)


def _put(place: list[ast.cmpop] | list[ast.expr], nth: int, new: ast.AST) -> Apply:
    def apply() -> None:
        place[nth] = new  # type: ignore[call-overload]

    return apply


def _reverse(node: ast.Call) -> None:
    here = next((k for k in node.keywords if k.arg == "reverse"), None)
    if here is None:
        node.keywords.append(ast.keyword("reverse", ast.Constant(True)))
    else:
        here.value = ast.UnaryOp(ast.Not(), here.value)


def _found(tree: ast.Module) -> list[_Found]:
    finder = _Finder()
    finder.visit(tree)
    return finder.found


def _files() -> Iterator[Path]:
    for room in ROOMS:
        whole = SOURCE / room
        yield from [whole] if whole.is_file() else sorted(whole.rglob("*.py"))


def sources() -> list[Source]:
    """Every file that this check reaches and that something can be changed in."""
    found = []
    for path in _files():
        text = path.read_text("utf-8")
        lines = text.splitlines()
        changes = tuple(
            Change(
                nth, one.node.lineno, one.node.end_lineno or one.node.lineno, one.what,
                lines[one.node.lineno - 1].strip(), one.names,
            )
            for nth, one in enumerate(_found(ast.parse(text)))
        )  # fmt: skip
        if changes:
            name = path.relative_to(SOURCE).with_suffix("").as_posix()
            found.append(Source(name, path, text, changes))
    return found


def mutant(source: Source, change: Change) -> CodeType:
    """The file compiled with one change made."""
    tree = ast.parse(source.text)
    _found(tree)[change.nth].apply()
    code = compile(ast.fix_missing_locations(tree), str(source.path), "exec", dont_inherit=True)
    assert isinstance(code, CodeType)
    return code


def lines_naming(name: str) -> dict[Path, set[int]]:
    """Where a constant is used, in all that this check reaches: a line runs, its definition not."""
    found: dict[Path, set[int]] = {}
    for path in _files():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            used = node.id if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) else ""
            if name in (used, node.attr if isinstance(node, ast.Attribute) else ""):
                assert isinstance(node, ast.expr)
                found.setdefault(path, set()).add(node.lineno)
    return found
