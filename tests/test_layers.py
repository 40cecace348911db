"""The house: each floor leans only on floors below it, and nothing heavy comes in uncalled."""

from __future__ import annotations

import ast
import importlib.util
import os
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import tankwalk
from ledger_support import plainly

HOUSE = Path(tankwalk.__file__).parent

DOORS = {"errors", "rows", "sums", "text", "units", "figures", "quantity", "clock", "paths"}
BELOW: dict[str, set[str]] = {
    "errors": set(),
    "rows": set(),
    "sums": set(),
    "text": {"errors"},
    "units": {"errors", "rows", "text"},
    "figures": set(),
    "quantity": {"errors", "rows", "text", "units", "figures"},
    "clock": {"errors", "rows"},
    "paths": {"errors", "rows", "sums"},
    "science": {"errors", "rows", "quantity", "units"},
    "plan": DOORS | {"science"},
    "ledger": DOORS,
    "practice": DOORS | {"science", "plan", "ledger"},
    "pages": DOORS | {"science", "plan", "ledger", "practice"},
    "exchange": DOORS | {"science", "plan", "ledger", "practice", "pages"},
    "plain_idle": DOORS | {"practice"},
    "plain_flag": DOORS | {"science", "plan", "ledger", "practice", "pages"},
    "plain_feed": DOORS | {"science", "plan", "ledger", "practice", "pages", "plain_idle"},
    "plain": DOORS | {"science", "plan", "ledger", "practice", "pages", "plain_flag", "plain_idle"},
    "plain_count": DOORS | {"practice", "pages", "plain_flag", "plain_idle"},
    "plain_sheet": DOORS | {"practice", "pages", "plain", "plain_flag"},
    "plain_guided": DOORS | {"practice", "pages", "plain_flag"},
    "plain_sample": DOORS | {"practice", "pages", "plain_flag", "plain_idle"},
    "screens": DOORS | {"science", "plan", "ledger", "practice", "pages"},
    "commands": DOORS
    | {
        "science",
        "plan",
        "ledger",
        "practice",
        "pages",
        "exchange",
        "plain",
        "plain_count",
        "plain_sheet",
        "plain_guided",
        "plain_sample",
        "plain_feed",
        "screens",
    },
    "cli": {"errors", "commands"},
    "__main__": {"cli"},
    "__init__": set(),
}
"""Which rooms of the house each room may import from, besides itself."""

GROUND = {"__init__"}
"""The package itself, which holds its version and nothing else."""

OWNED = {
    "sqlite3": {"ledger"},
    "sqlite_utils": {"ledger"},
    "textual": {"screens"},
    "rich": {"screens"},
    "pint": {"units"},
    "wcwidth": {"text"},
    "platformdirs": {"paths"},
    "zoneinfo": {"clock"},
    "tankwalk_demo": {"commands"},
}
"""Which room alone may import each of these."""

SCIENCE_NEEDS = {
    "__future__", "collections", "dataclasses", "datetime", "enum", "functools", "itertools",
    "math", "typing",
}  # fmt: skip


@cache
def files() -> dict[Path, ast.Module]:
    """Every source file of the house, parsed."""
    return {
        path.relative_to(HOUSE): ast.parse(path.read_text("utf-8"))
        for path in sorted(HOUSE.rglob("*.py"))
    }


def room(path: Path) -> str:
    """The room a file belongs to: its folder at the top, or its own name there."""
    return path.parts[0] if len(path.parts) > 1 else path.stem


def imported(path: Path, tree: ast.AST) -> Iterator[str]:
    """Every module that a file imports anywhere in it, as a full dotted name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports by a relative name"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def ours(name: str) -> str | None:
    """The room of the house that an imported name is in, None for what is not ours."""
    first, *rest = name.split(".")
    if first != "tankwalk":
        return None
    if rest and ((HOUSE / rest[0]).is_dir() or (HOUSE / f"{rest[0]}.py").exists()):
        return rest[0]
    return "__init__"


def test_every_room_of_the_house_has_its_place() -> None:
    assert {room(path) for path in files()} == set(BELOW)


def test_no_room_leans_on_one_above_it() -> None:
    found = {
        (str(path), name)
        for path, tree in files().items()
        for name in imported(path, tree)
        if (there := ours(name)) is not None
        and there != room(path)
        and there not in BELOW[room(path)] | GROUND
    }
    assert found == set()


def test_the_order_of_the_rooms_has_no_circle() -> None:
    assert in_circles(BELOW) == set()


def leaning(tree: ast.Module) -> Iterator[str]:
    """Every module a file imports when it runs, anywhere in it: not what only types need."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        yield from imported(Path(), node)


def practice_rooms() -> dict[str, set[str]]:
    """For each room of practice (a folder, or a file beside them) those it leans on."""
    inside = {
        path.relative_to("practice"): tree
        for path, tree in files().items()
        if room(path) == "practice" and path != Path("practice/__init__.py")
    }
    found: dict[str, set[str]] = {room(path): set() for path in inside}
    for path, tree in inside.items():
        for name in leaning(tree):
            package, _, rest = name.partition(".practice.")
            there = rest.split(".")[0]
            if package == "tankwalk" and there in found and there != room(path):
                found[room(path)].add(there)
    return found


def in_circles(below: dict[str, set[str]]) -> set[str]:
    """The rooms that lean on one another in a circle, or on such a one; none where all is well."""
    left = dict(below)
    while free := [name for name, needed in left.items() if not needed & set(left)]:
        for name in free:
            del left[name]
    return set(left)


def test_the_rooms_of_practice_point_one_way() -> None:
    rooms = practice_rooms()
    assert {"judging", "meters"} <= rooms["round"]
    assert in_circles(rooms) == set()


def test_a_circle_of_rooms_is_seen() -> None:
    assert in_circles({"a": {"b"}, "b": {"a"}, "c": set(), "d": {"c"}}) == {"a", "b"}


def test_the_plan_and_the_record_do_not_know_each_other() -> None:
    assert "plan" not in BELOW["ledger"]
    assert "ledger" not in BELOW["plan"]
    assert "practice" not in BELOW["plan"] | BELOW["ledger"]


@pytest.mark.parametrize("library", OWNED)
def test_a_library_is_used_in_one_room_alone(library: str) -> None:
    users = {
        room(path)
        for path, tree in files().items()
        for name in imported(path, tree)
        if name.split(".")[0] == library
    }
    assert users == OWNED[library]


def called_in(tree: ast.Module) -> set[str]:
    """What a file imports by a name in words (import_module, find_spec, __import__)."""
    calls = (node for node in ast.walk(tree) if isinstance(node, ast.Call))
    return {
        str(arg.value).split(".")[0] if isinstance(arg, ast.Constant) else ast.unparse(arg)
        for call in calls
        if ast.unparse(call.func).split(".")[-1] in {"import_module", "find_spec", "__import__"}
        for arg in call.args[:1]
    }


def test_what_may_not_be_installed_is_called_in_where_files_are_written_alone() -> None:
    users = {(room(path), name) for path, tree in files().items() for name in called_in(tree)}
    assert {name for where, name in users if where == "exchange"} == {"matplotlib", "pyarrow"}
    assert {where for where, name in users if name in ("matplotlib", "pyarrow")} == {"exchange"}
    assert not {name for _, name in users} & {*OWNED, "numpy", "pandas", "scipy", "statsmodels"} - {
        "tankwalk_demo"
    }


def test_nothing_is_used_that_the_package_does_not_ask_for() -> None:
    used = {
        name.split(".")[0]
        for path, tree in files().items()
        for name in imported(path, tree)
        if name.split(".")[0] not in sys.stdlib_module_names
    }
    assert used == {"tankwalk", *OWNED} - {"sqlite3", "zoneinfo"}


def test_science_needs_nothing_but_mathematics() -> None:
    used = {
        name.split(".")[0]
        for path, tree in files().items()
        if room(path) == "science"
        for name in imported(path, tree)
    }
    assert used <= SCIENCE_NEEDS | {"tankwalk"}


CLOCKS = {
    "now", "utcnow", "today", "time", "time_ns", "monotonic", "monotonic_ns", "perf_counter",
    "localtime", "gmtime", "fromtimestamp", "utcfromtimestamp",
}  # fmt: skip


def clock_reads(tree: ast.Module) -> set[str]:
    """Places where a file asks the computer what time it is."""
    modules, classes = set(), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            modules |= {
                alias.asname or alias.name
                for alias in node.names
                if alias.name in ("time", "datetime")
            }
        elif isinstance(node, ast.ImportFrom) and node.module == "datetime":
            classes |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module == "time":
            return {f"from time import at line {node.lineno}"}
    return {
        f"{ast.unparse(node)} at line {node.lineno}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and node.attr in CLOCKS - {"fromtimestamp"}
        and ast.unparse(node.value).split(".")[0] in modules | classes
    }


def test_only_the_clock_reads_the_time() -> None:
    found = {str(path): clock_reads(tree) for path, tree in files().items()}
    assert {path for path, reads in found.items() if reads} == {"clock.py"}


@pytest.mark.parametrize(
    "code",
    [
        "import time\ntime.time()", "import time as t\nt.monotonic()", "from time import time",
        "from datetime import datetime\ndatetime.now()", "import datetime\ndatetime.date.today()",
        "from datetime import datetime as d\nd.utcnow()",
    ],
)  # fmt: skip
def test_the_look_for_clocks_sees_one_where_there_is_one(code: str) -> None:
    assert clock_reads(ast.parse(code))
    assert not clock_reads(ast.parse("from datetime import time\ntime(7, 30)"))


# ---- what comes in when


HEAVY = {
    "textual", "rich", "pint", "sqlite_utils", "sqlite3", "numpy", "pandas", "scipy", "matplotlib",
    "statsmodels",
}  # fmt: skip


def loaded_after(code: str, home: Path) -> set[str]:
    """Which heavy libraries another Python has loaded after some code of ours."""
    script = (
        "import io, sys, contextlib\n"
        "out = sys.stdout\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        + "".join(f"    {line}\n" for line in code.splitlines())
        + "print(*(m.split('.')[0] for m in sys.modules), file=out)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "TANKWALK_HOME": str(home)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = set(done.stdout.split()) & HEAVY
    # Both import these where they are installed, as the cross-checks of the sums install them.
    return found - {"numpy", "pandas"} if found & {"pint", "sqlite_utils"} else found


def below_the_screens() -> list[str]:
    """Every module of the package but the screens."""
    names = [m.name for m in pkgutil.walk_packages([str(HOUSE)], "tankwalk.")]
    return sorted(
        name
        for name in names
        if not name.startswith("tankwalk.screens") and name != "tankwalk.__main__"
    )


def test_nothing_below_the_screens_brings_a_screen_library(tmp_path: Path) -> None:
    modules = below_the_screens()
    assert {"tankwalk.cli", "tankwalk.plain", "tankwalk.ledger.migrations"} <= set(modules)
    loaded = loaded_after(f"import {', '.join(modules)}", tmp_path)
    assert loaded <= {"sqlite3", "sqlite_utils", "pint"}
    assert "sqlite_utils" in loaded, "what would bring them along is really there"


def test_the_screens_do_bring_it(tmp_path: Path) -> None:
    assert {"textual", "rich"} <= loaded_after("import tankwalk.screens.app", tmp_path)


def test_the_command_line_alone_brings_nothing_heavy(tmp_path: Path) -> None:
    assert loaded_after("import tankwalk.cli", tmp_path) == set()


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["board", "--help"]])
def test_help_brings_nothing_heavy(words: list[str], tmp_path: Path) -> None:
    code = f"import tankwalk.cli\ntry:\n    tankwalk.cli.main({words!r})\nexcept SystemExit: pass"
    assert loaded_after(code, tmp_path) == set()


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new site, made by the command."""
    folder = tmp_path_factory.mktemp("site")
    code = (
        "import tankwalk.cli\n"
        f"assert tankwalk.cli.main(['start', {str(folder)!r}, '--zone', 'America/Chicago']) == 0"
    )
    loaded_after(code, folder / "home")
    return folder


@pytest.mark.parametrize("page", ["board", "handover", "sheet"])
def test_a_printed_page_brings_only_the_database(site: Path, page: str) -> None:
    code = (
        "import tankwalk.cli\n"
        f"assert tankwalk.cli.main([{page!r}, '--site', {str(site)!r}]) == 0"
    )  # fmt: skip
    assert loaded_after(code, site / "home") == {"sqlite3"}


def test_a_round_in_plain_lines_brings_the_database_and_units_alone(site: Path) -> None:
    code = (
        "import sys, io\n"
        "import tankwalk.cli\n"
        "sys.stdin = io.TextIOWrapper(io.BytesIO(b'1\\n' * 12))\n"
        "walked = ['walk', '--plain', '--who', 'AB', '--round', 'am']\n"
        f"tankwalk.cli.main([*walked, '--site', {str(site)!r}])"
    )
    assert loaded_after(code, site / "home") - {"pint"} == {"sqlite3"}
    with plainly(site / "ledger.sqlite") as db:
        assert db.execute("SELECT count(*) FROM readings").fetchone()[0] > 2


def test_the_demo_leans_only_on_the_house() -> None:
    found = importlib.util.find_spec("tankwalk_demo")
    assert found is not None
    assert found.origin is not None
    for path in Path(found.origin).parent.glob("*.py"):
        for name in imported(path, ast.parse(path.read_text("utf-8"))):
            first = name.split(".")[0]
            assert first in {"tankwalk", "tankwalk_demo"} | set(sys.stdlib_module_names) - {
                "sqlite3"
            }
            # A handover keeps the words of its page, which pages alone make.
            assert ours(name) not in {"screens", "cli", "commands", "plain"}
