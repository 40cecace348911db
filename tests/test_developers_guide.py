"""DEVELOPERS.md names files and functions: each of them is there."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

import house

ROOT = Path(__file__).parents[1]
GUIDE = ROOT / "DEVELOPERS.md"
FLOORS = (ROOT, ROOT / "src/tankwalk")
"""What a path may begin from."""

OF_OTHERS = {"plan.toml", "datetime.now"}
"""Names of what is not in the repository: a site's plan, and Python's own."""

PLACEHOLDER = re.compile("NAME|TOPIC|SPECIES|DIR")
"""Words that stand for a name the reader chooses."""


@cache
def words() -> tuple[str, ...]:
    """Everything the guide sets in code, in its order."""
    blocks = "\n".join(re.findall(r"```sh\n(.*?)```", GUIDE.read_text("utf-8"), re.S))
    prose = re.sub(r"```.*?```", "", GUIDE.read_text("utf-8"), flags=re.S)
    code = re.findall(r"`([^`\n]+)`", prose) + blocks.split("\n")
    return tuple(dict.fromkeys(part for piece in code for part in piece.split("#")[0].split()))


def paths() -> list[str]:
    """What reads as a path."""
    path = re.compile(r"[\w./-]+(/|\.py|\.md|\.toml|/[\w.-]+)")
    found = [word for word in words() if path.fullmatch(word) and not word.startswith(".venv/")]
    return [one for one in found if not PLACEHOLDER.search(one) and one not in OF_OTHERS]


def names() -> list[str]:
    """What reads as a name of a module or a class, and one in it."""
    name = re.compile(r"[A-Za-z_]+(\.[A-Za-z_]+)+")
    found = [word.removesuffix("()") for word in words()]
    return [
        one
        for one in found
        if name.fullmatch(one) and one not in OF_OTHERS and one not in paths()
        and not PLACEHOLDER.search(one)
    ]  # fmt: skip


@cache
def known() -> frozenset[str]:
    """Every name that stands in a file, after its module and after its class."""
    found = set()
    for folder in ("src/tankwalk", "tests", "demo"):
        for path in (ROOT / folder).rglob("*.py"):
            parts = path.relative_to(ROOT / folder).with_suffix("").parts
            tree = ast.parse(path.read_text("utf-8"))
            for name in stands(tree.body):
                found |= {".".join((*parts[-n:], name)) for n in range(1, len(parts) + 1)}
            for node in tree.body:
                if isinstance(node, ast.ClassDef):
                    found |= {f"{node.name}.{name}" for name in stands(node.body)}
    return frozenset(found)


def stands(body: list[ast.stmt]) -> set[str]:
    """Names that are made at this level."""
    made = set()
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            made.add(node.name)
        elif isinstance(node, ast.Assign):
            made |= {one.id for one in node.targets if isinstance(one, ast.Name)}
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            made.add(node.target.id)
    return made


def test_the_guide_names_files_and_functions_at_all() -> None:
    assert {"plan/kinds.py", "practice/judging/", "tests/test_kinds.py", ".ci/run"} <= set(paths())
    assert {"Walk.answer", "pages.walk.draw", "flags.SHORT_RULES"} <= set(names())


@pytest.mark.parametrize("path", paths())
def test_every_file_the_guide_names_is_there(path: str) -> None:
    assert any((floor / path).exists() for floor in FLOORS)


@pytest.mark.parametrize("name", names())
def test_every_function_the_guide_names_is_in_its_module(name: str) -> None:
    assert name in known()


def test_single_names_of_the_guide_stand_in_the_source() -> None:
    text = "\n".join(
        path.read_text("utf-8")
        for folder in ("src", "tests", "demo")
        for path in (ROOT / folder).rglob("*.py")
        if path != Path(__file__)
    )
    single = re.compile(r"_?[A-Z][A-Za-z_]+|[a-z]+_[a-z_]+")
    missing = [
        one
        for one in words()
        if single.fullmatch(one) and not PLACEHOLDER.search(one)
        and not re.search(rf"\b{re.escape(one)}\b", text)
    ]  # fmt: skip
    assert missing == []


def test_the_house_is_told_file_by_file_as_each_file_says_itself() -> None:
    assert (ROOT / "docs/house.md").read_text("utf-8") == house.page() + "\n"


def test_every_file_says_its_job_in_its_first_line() -> None:
    silent = [row for row in house.page().splitlines() if row.endswith("|  |")]
    assert silent == []
