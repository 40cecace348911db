"""A data package of this program read back: every entry as it was, in its order.

The tables of a package come in the order of their entries, so that all of them are gone through
side by side: a package of any size takes the same memory.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger import entries as kinds
from tankwalk.ledger.entries import Detail, Entry
from tankwalk.ledger.export_columns import FLAGS
from tankwalk.ledger.export_tables import TABLES
from tankwalk.ledger.incoming import Channel, Row
from tankwalk.rows import NamedTuple

Cells = dict[str, str]
"""A row of a table, by the names of its columns."""

NO_PHONE = ""
"""Numbers that were called are not exported."""

KIND = {
    "withdrawn": "void", "rounds": "round", "looks": "look", "sheet_stops": "sheet",
    "second_entries": "sheet", "notes": "note", "movements": "movement", "meals": "meal",
    "samples": "sample", "sittings": "sampling", "fish": "fish", "batches": "batch",
    "meter_checks": "calibration", "suspects": "suspect", "doses": "dose", "flags": "flag",
    "done": "done", "calls": "call", "follow_ups": "follow-up", "handovers": "handover",
    "plan_versions": "plan", "imports": "import",
}  # fmt: skip
"""The kind of entry that a table holds; readings say it themselves, other tables stand beside."""


class About(NamedTuple):
    """What a package says of itself: its site, its seal, how many entries, rows by table."""

    site: str
    seal: str
    entries: int
    rows: dict[str, int]
    plan: str
    """The text of the newest plan in it."""


class Whole(NamedTuple):
    """An entry with its details; of a file that was imported also its series and their values."""

    n: int
    entry: Entry
    details: tuple[Detail, ...]
    channels: tuple[Channel, ...] = ()
    values: tuple[Row, ...] = ()


def is_package(path: Path) -> bool:
    """Whether a path is a folder with such a package."""
    return (path / "datapackage.json").is_file()


def about(folder: Path) -> About:
    """What a package says of itself, once its checksums hold.

    Raises:
        Refusal: it is damaged, a part of a record, or written for spreadsheets.
    """
    try:
        said = json.loads((folder / "datapackage.json").read_text("utf-8"))
        own = said["tankwalk"]
        rows = {one["name"]: int(one["rows"]) for one in said["resources"]}
        last = int(own["entries"])
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise Refusal(
            f"{folder} is no data package of this program: nothing was imported."
        ) from fault
    if own.get("part"):
        raise Refusal(
            "This package holds a part of a record, and only a whole one can be read back: export "
            "without --from, --to, --tank and --item. Its readings.csv can be imported as a file."
        )
    if own.get("flavor") != "plain":
        raise Refusal(
            "This package was written for spreadsheets, which changes words: export it again "
            "with --flavor plain. Nothing was imported."
        )
    _check_sums(folder)
    plans = sorted((folder / "plans").glob("plan-*.toml"), key=_number_of)
    text = plans[-1].read_bytes().decode("utf-8", "surrogatepass") if plans else ""
    return About(str(own["site"]), str(own["seal"]), last, rows, text)


def _number_of(plan: Path) -> int:
    digits = plan.stem.rpartition("-")[2]
    return int(digits) if digits.isdecimal() else 0


def _check_sums(folder: Path) -> None:
    """Refusal for the first file that is not as it was written."""
    try:
        listed = (folder / "SHA256SUMS").read_text("utf-8").splitlines()
    except OSError as fault:
        raise Refusal(f"{folder} has no SHA256SUMS: nothing was imported.") from fault
    for one in listed:
        digest, _, name = one.partition("  ")
        found = sha256()
        try:
            with (folder / name).open("rb") as stream:
                while chunk := stream.read(1 << 20):
                    found.update(chunk)
        except OSError as fault:
            raise Refusal(f"The package lacks {name}: nothing was imported.") from fault
        if found.hexdigest() != digest:
            raise Refusal(f"The file {name} is not as it was exported: nothing was imported.")


class _Table:
    """The rows of one table, taken entry by entry."""

    def __init__(self, folder: Path, name: str) -> None:
        self._stream = (folder / f"{name}.csv").open(encoding="utf-8", newline="")
        self._rows = csv.DictReader(self._stream)
        self._next: Cells | None = next(self._rows, None)

    def of(self, n: int) -> list[Cells]:
        """The rows of an entry; entries are asked for in order."""
        found = []
        while self._next is not None and int(self._next["entry"]) == n:
            found.append(self._next)
            self._next = next(self._rows, None)
        return found

    def close(self) -> None:
        self._stream.close()


def entries(folder: Path, last: int) -> Iterator[Whole]:
    """Every entry of a package, 1 to `last`.

    Raises:
        Refusal: an entry is missing, or a cell is not understood.
    """
    csv.field_size_limit(1 << 27)  # a handover's page is one cell
    tables = {table.name: _Table(folder, table.name) for table in TABLES}
    bands = {row["band"]: row["limits"] for row in _listed(folder, "bands")}
    workings = {row["working"]: row for row in _listed(folder, "workings")}
    try:
        for n in range(1, last + 1):
            found = {name: rows for name, one in tables.items() if (rows := one.of(n))}
            try:
                yield _whole(folder, n, found, bands, workings)
            except (KeyError, ValueError, IndexError) as fault:
                raise Refusal(
                    f"Entry {n} of the package is not understood ({fault}): nothing was imported."
                ) from fault
    finally:
        for one in tables.values():
            one.close()


def _listed(folder: Path, name: str) -> list[Cells]:
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def _whole(
    folder: Path,
    n: int,
    found: dict[str, list[Cells]],
    bands: dict[str, str],
    workings: dict[str, Cells],
) -> Whole:
    """An entry from its rows of all tables."""
    if "readings" in found:
        (head,) = found["readings"]
        kind = "derived" if head["source"] == "worked out" or "derived" in found else "reading"
    else:
        name = next((name for name in KIND if name in found), None)
        if name is None:
            raise Refusal(f"Entry {n} is missing from the package: nothing was imported.")
        head, kind = found[name][0], KIND[name]
    observed = _moment(head["observed"])
    entry = Entry(
        kind, head["who"], observed,
        observed._replace(utc=observed.utc + int(head["late_s"])),
        _place(head, kind), head.get("item") or None, head.get("unit") or "",
        _whole_or(head["round"]), _whole_or(head["supersedes"]), head["reason"] or None,
    )  # fmt: skip
    if entry.item is None:
        entry = entry._replace(unit="")
    details: list[Detail] = []
    for name, rows in found.items():
        make = MAKE.get(name)
        for row in rows if make else ():
            details += make(row) if make else ()
    if "readings" in found:
        details.append(_reading(head, bands))
    details += [_derived(workings[row["working"]]) for row in found.get("derived", ())]
    if "plan_versions" in found:
        text = (folder / head["file"]).read_bytes().decode("utf-8", "surrogatepass")
        details.append(kinds.PlanVersion(head["digest"], text))
    if head["typist"]:
        details.append(kinds.Transcribed(head["typist"]))
    series = found.get("series", [])
    channels = tuple(Channel(row["place"], row["item"], row["unit"]) for row in series)
    values = tuple(_imported(row) for row in found.get("imported", ()))
    return Whole(n, entry, tuple(details), channels, values)


def _place(head: Cells, kind: str) -> str | None:
    """The place of an entry; the few tables without one are of the whole site."""
    if "place" not in head:
        return "site"
    return head["place"] or None


def _moment(words: str) -> Instant:
    when = datetime.fromisoformat(words)
    offset = when.utcoffset()
    if offset is None:
        raise ValueError(words)
    return Instant(int(when.timestamp()), int(offset.total_seconds() // 60))


def _second(words: str) -> int | None:
    return _moment(words).utc if words else None


def _at(words: str) -> int:
    return _moment(words).utc


def _whole_or(words: str) -> int | None:
    return int(words) if words else None


def _number(words: str) -> float | None:
    return float(words) if words else None


def _true(words: str) -> bool:
    return words == "true"


def _reading(row: Cells, bands: dict[str, str]) -> kinds.Reading:
    value = _number(row["value"])
    typed = row["text"] or ("" if value is None else number_text(value))
    return kinds.Reading(
        value, typed, row["text_unit"] or None, row["qualifier"] or None, row["meter"] or None,
        bands[row["band"]] if row["band"] else None, FLAGS.index(row["flag"]),
        _true(row["recheck"]),
    )  # fmt: skip


def _derived(working: Cells) -> kinds.Derived:
    return kinds.Derived(working["calculator"], working["equation"], working["facts"])


def _imported(row: Cells) -> Row:
    return (
        int(row["nth"]), _at(row["at"]), int(row["line"]), float(row["value"]),
        int(_true(row["below"])), row["text"] or None,
    )  # fmt: skip


def _meal(r: Cells) -> list[Detail]:
    made: list[Detail] = [
        kinds.Meal(
            r["feed"], float(r["amount"]), r["unit"], _number(r["planned"]),
            _whole_or(r["left_over"]), r["event"] or None,
        )
    ]  # fmt: skip
    return made + ([kinds.Served(_at(r["meal_at"]))] if r["meal_at"] else [])


def _batch(r: Cells) -> list[Detail]:
    grams, litres, temperature, ph, salinity, per_ml, hatched = (
        _number(r[name])
        for name in (
            "grams", "litres", "temperature", "ph", "salinity", "per_ml", "hatch_percent",
        )
    )  # fmt: skip
    made: list[Detail] = [
        kinds.Batch(
            r["batch"], r["event"], r["lot"] or None, grams, litres, temperature, ph, salinity,
            per_ml, hatched, _second(r["due_at"]), r["text"] or None,
        )
    ]  # fmt: skip
    return made + ([kinds.BatchOf(r["kind"], r["made_from"] or None)] if r["kind"] else [])


def _flag(r: Cells) -> list[Detail]:
    made: list[Detail] = [kinds.FlagEvent(r["event"], r["meter"] or None, _second(r["until"]))]
    if r["kind"]:
        made.append(
            kinds.FoundFlag(
                r["kind"], r["code"], r["rule"], int(r["level"]), r["sentence"], r["response"],
                r["places"],
            )
        )  # fmt: skip
    return made


def _follow_up(r: Cells) -> list[Detail]:
    made: list[Detail] = [
        kinds.FollowUp(
            r["what"], r["event"], r["text"], r["owner"] or None, _second(r["due_at"]),
            _whole_or(r["opened"]),
        )
    ]  # fmt: skip
    return made + ([kinds.Closing(r["rule"], r["about"] or None)] if r["rule"] else [])


MAKE: dict[str, Callable[[Cells], Any]] = {
    "causes": lambda r: [kinds.Mort(r["cause"], int(r["fish"]))],
    "flag_reasons": lambda r: [kinds.JudgedAs(r["rule"], r["sentence"])],
    "parts": lambda r: [kinds.Part(r["input"], int(r["of_entry"]))],
    "rounds": lambda r: [
        kinds.Round(int(r["number"]), r["checklist"], r["event"], r["meaning"] or None)
    ],
    "looks": lambda r: [kinds.Look(int(r["number"]), r["event"], r["items"])],
    "sheet_stops": lambda r: [
        kinds.SheetStop(int(r["number"]), r["stop"], _at(r["at"]), r["walker"])
    ],
    "second_entries": lambda r: [kinds.SecondEntry(int(r["of_entry"]), r["text"])],
    "notes": lambda r: [kinds.Note(r["text"])],
    "movements": lambda r: [
        kinds.Movement(
            r["what"], int(r["fish"]), _number(r["plus_minus"]), r["method"] or None,
            r["other_place"] or None,
        )
    ],
    "meals": _meal,
    "poured": lambda r: [kinds.Poured(r["batch"], float(r["ml"]), float(r["per_ml"]))],
    "samples": lambda r: [
        kinds.Sample(
            r["what"], int(r["looked_at"]), _whole_or(r["with_it"]), _number(r["mean"]),
            _number(r["sd"]), r["unit"] or None,
        )
    ],
    "sittings": lambda r: [
        kinds.Sitting(
            r["event"], r["what"], int(r["planned"]), _whole_or(r["opened"]), r["fate"] or None
        )
    ],
    "fish": lambda r: [
        kinds.Fish(
            int(r["sitting"]), int(r["nth"]), _number(r["length_mm"]), _number(r["mass_mg"]),
            _whole_or(r["bladder"]), _whole_or(r["gut"]), _whole_or(r["deformed"]),
            r["left_out"] or None,
        )
    ],
    "batches": _batch,
    "counts": lambda r: [
        kinds.Counted(r["what"], float(r["ml"]), float(r["dilution"]), r["counts"])
    ],
    "meter_checks": lambda r: [
        kinds.Calibration(
            r["meter"], r["what"], _number(r["reference"]), _number(r["as_found"]),
            _number(r["as_left"]), r["unit"] or None, _true(r["passed"]),
        )
    ],
    "suspects": lambda r: [kinds.Suspect(r["meter"], _at(r["since"]), _at(r["until"]))],
    "doses": lambda r: [
        kinds.Dose(
            r["chemical"], float(r["amount"]), r["unit"], _number(r["volume_l"]),
            _number(r["expected"]), r["expected_unit"] or None,
        )
    ],
    "flags": _flag,
    "done": lambda r: [
        kinds.DoneAbout(r["text"], _whole_or(r["step"]), _whole_or(r["flagged"]))
    ],
    "calls": lambda r: [
        kinds.Call(r["whom"], NO_PHONE, _true(r["reached"]), r["said"] or None)
    ],
    "follow_ups": _follow_up,
    "handovers": lambda r: [
        kinds.Handover(r["event"], r["text"], r["how"] or None, _whole_or(r["given"]))
    ],
    "said_back": lambda r: [kinds.SaidBack(r["question"], r["answer"], int(r["tries"]))],
    "handover_gists": lambda r: [kinds.HandoverGist(r["section"], r["text"])],
    "imports": lambda r: [
        kinds.ImportFile(
            r["logger"], r["file"], r["digest"], r["head"], r["understood"], int(r["kept"]),
            int(r["refused"]),
        )
    ],
}  # fmt: skip
"""What the rows of each table are as details of their entry; a few are made in `_whole`."""
