"""A long file comes in a portion at a time: others write meanwhile, nothing half stands."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from import_support import LATER, keep, tried, values, written
from ledger_support import OFFICE, plainly, temp
from ledger_support import told as sentence
from site_support import opened
from tankwalk.exchange.incoming.dry_run import Trial
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.ledger import bundles, chain
from tankwalk.ledger.inspect import inspect
from tankwalk.ledger.store import FILE, Ledger
from tankwalk.practice.importing import keeping

HERE = Told(place="T01")

LINES = [f"2026-05-{1 + k // 24:02} {k % 24:02}:00,17.{k % 10}" for k in range(500)]

LEFT = "an import that did not end"


@pytest.fixture(autouse=True)
def few_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five hundred values are five portions."""
    monkeypatch.setattr(bundles, "PORTION", 100)


def long_file(folder: Path, name: str = "long.csv", lines: list[str] = LINES) -> Path:
    """A file of several portions."""
    return written(folder, "time,temp\n" + "\n".join(lines), name)


def test_others_write_while_a_file_is_put_in_and_see_none_of_it_before_all_of_it(
    tmp_path: Path,
) -> None:
    with tried(tmp_path, long_file(tmp_path), HERE) as trial:
        path, site = tmp_path / "site" / FILE, trial.site
        assert trial.incoming is not None
        with trial.incoming.put() as put, Ledger.open(path, OFFICE) as other:
            assert site.ledger.db.execute("SELECT count(*) FROM imported").fetchone() == (500,)
            other.append(*temp(0, 17.0))
            assert other.reader.imports.values("T01", "temp", "degC", 0) == []
            assert inspect(path).sound
            n = put.keep(site.record, keeping.entry(site, "AB"), trial.file())
            assert n == 3
            assert len(other.reader.imports.values("T01", "temp", "degC", 0)) == 500
        assert chain.verify(site.ledger.db) is None
        assert LEFT not in " ".join(inspect(path).sentences)


KILLED = """
import os, signal, sys
from pathlib import Path
from tankwalk.ledger import bundles
from tankwalk.ledger.store import Ledger
from import_support import LATER, keep
from site_support import opened
from tankwalk.exchange.incoming.understanding import Told
bundles.PORTION = 100
folder, file, stop = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
done, begun = 0, Ledger._begun
def count(ledger):
    global done
    done += 1
    if done > stop:
        os.kill(os.getpid(), signal.SIGKILL)
    return begun(ledger)
Ledger._begun = count
with opened(folder, now=LATER) as site:
    keep(site, file, Told(place="T01"))
"""


@pytest.mark.parametrize("portions", [1, 3, 5])
def test_an_import_killed_on_its_way_leaves_nothing_that_stands_and_the_next_takes_it_away(
    tmp_path: Path, portions: int
) -> None:
    folder, file = tmp_path / "site", long_file(tmp_path)
    with opened(folder, now=LATER) as site:
        before = site.reader.spine.last_number()
    tests = str(Path(__file__).parent)
    told = {**os.environ, "PYTHONPATH": os.pathsep.join([tests, *sys.path])}
    command = [sys.executable, "-c", KILLED, str(folder), str(file), str(portions)]
    ended = subprocess.run(command, env=told, capture_output=True, check=False)
    assert ended.returncode == -signal.SIGKILL, ended.stderr.decode()
    checked = inspect(folder / FILE)
    assert checked.sound
    assert f"{100 * portions} values of {LEFT}" in " ".join(checked.sentences)
    other = long_file(tmp_path, "other.csv", LINES[:50])
    with opened(folder, now=LATER) as site:
        assert site.reader.spine.last_number() == before
        assert values(site) == []
        keep(site, other, HERE)
        assert site.ledger.db.execute("SELECT count(*) FROM imported").fetchone() == (50,)
        keep(site, file)
        assert len(values(site)) == 500
        assert chain.verify(site.ledger.db) is None
    assert LEFT not in " ".join(inspect(folder / FILE).sentences)
    assert sorted(one.name for one in folder.iterdir()) == [FILE, "plan.toml"]


def test_one_file_is_put_in_at_a_time(tmp_path: Path) -> None:
    with tried(tmp_path, long_file(tmp_path), HERE) as trial:
        assert trial.incoming is not None
        with trial.incoming.put(), opened(tmp_path / "site", now=LATER) as other:
            again = long_file(tmp_path, "again.csv", LINES[:250])
            told = sentence(lambda: keep(other, again, HERE))
            assert told.startswith("Another file is being imported: nothing was kept.")
        keeping.keep(trial.site, "AB", trial.file(), trial.incoming)
        assert len(values(trial.site)) == 500


def test_what_does_not_come_to_its_end_is_taken_away_at_once(tmp_path: Path) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        trial = Trial(site, long_file(tmp_path), HERE)
        trial.lay()
        assert trial.incoming is not None
        with pytest.raises(KeyboardInterrupt), trial.incoming.put():
            raise KeyboardInterrupt
        trial.close()
        assert site.ledger.db.execute("SELECT count(*) FROM imported").fetchone() == (0,)


def test_a_file_whose_values_were_taken_away_meanwhile_is_refused(tmp_path: Path) -> None:
    with tried(tmp_path, long_file(tmp_path), HERE) as trial:
        assert trial.incoming is not None
        site = trial.site
        with trial.incoming.put() as put:
            with plainly(tmp_path / "site" / FILE) as db:
                db.execute("DELETE FROM imported WHERE line = 7")
            told = sentence(lambda: put.keep(site.record, keeping.entry(site, "AB"), trial.file()))
        assert "taken away by another program: nothing was kept" in told
        assert site.reader.imports.newest() == []


def test_values_that_stand_are_not_taken_away_and_none_is_put_beside_them(tmp_path: Path) -> None:
    with opened(tmp_path / "site", now=LATER) as site:
        keep(site, long_file(tmp_path), HERE)
        db = site.ledger.db
        (n,) = db.execute("SELECT id FROM bundle").fetchone()
        for statement in (
            "DELETE FROM imported WHERE line = 7",
            f"INSERT INTO imported VALUES ({n}, 1, 17.0, 0, 9, NULL)",
            "DELETE FROM bundle",
            "UPDATE bundle SET id = 77",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                db.execute(statement)
        db.execute("INSERT INTO imported VALUES (77, 1, 17.0, 0, 9, NULL)")
        db.execute("DELETE FROM imported WHERE bundle = 77")
        assert len(values(site)) == 500
