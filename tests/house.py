"""Every file of the house with the first line it says: python tests/house.py > docs/house.md"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
HOMES = ("src/tankwalk", "demo/tankwalk_demo")


def page() -> str:
    """The page: a table a folder, files in order of name."""
    return "\n".join(_lines())


def _lines() -> Iterator[str]:
    yield "# The house, file by file"
    yield ""
    yield "Each file's own first line, by folder. Made by `python tests/house.py > docs/house.md`."
    for home in HOMES:
        folders = sorted({path.parent for path in (ROOT / home).rglob("*.py")})
        for folder in folders:
            face = _first_line(folder / "__init__.py")
            yield ""
            yield f"## {folder.relative_to(ROOT).as_posix()}"
            if face:
                yield ""
                yield face
            yield ""
            yield "| file | its job |"
            yield "| --- | --- |"
            for path in sorted(folder.glob("*.py")):
                if path.name != "__init__.py":
                    yield f"| `{path.name}` | {_first_line(path)} |"


def _first_line(path: Path) -> str:
    """The first line of what a module says of itself."""
    said = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
    return said.split("\n\n")[0].replace("\n", " ").replace("|", "\\|")


if __name__ == "__main__":
    print(page())
