"""A dry run: a file understood, laid out beside the record, and told as one value; nothing kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tankwalk import text
from tankwalk.clock import Instant, Zone, instant, zone
from tankwalk.exchange.incoming import understanding
from tankwalk.exchange.incoming.cells import Cells, Tally
from tankwalk.exchange.incoming.opened import opened
from tankwalk.exchange.incoming.understanding import Told, Understood
from tankwalk.ledger.entries import ImportFile
from tankwalk.ledger.imports import ImportSeen
from tankwalk.ledger.incoming import Incoming, Laid
from tankwalk.plan.loggers import find_logger
from tankwalk.practice.importing.view import Ask, DryRun, FirstValue
from tankwalk.practice.site import Site

FIRST = 5
"""So many of the first values are shown as understood, and so many cells that are not taken."""

SAME_MOMENT = "Line {line} has a value of the same moment."

_SEPARATORS = {"\t": "tab", ";": "semicolon", "|": "bar", ",": "comma"}


class Trial:
    """One file under way into the record."""

    def __init__(self, site: Site, path: Path, told: Told) -> None:
        self.site = site
        sheet = opened(path)
        head = understanding.head_in(sheet, told)
        self.again: ImportSeen | None = None
        if head.line:  # columns without names are no kind of file
            self.again = site.reader.imports.of_head(head.fingerprint)
        if self.again is not None:
            before = understanding.told_from(self.again.understood)
            told = told.over(before._replace(source=self.again.source))
        told = told._replace(source=text.clean(told.source or path.stem))
        logger = find_logger(site.plan, told.source)
        if logger is not None:
            told = told.over(Told(place=logger.place, item=logger.item, zone=logger.zone))
        self.how: Understood = understanding.understood(site.plan, sheet, told)
        self.incoming: Incoming | None = None
        self.laid: tuple[Laid, ...] = ()
        self.tally: Tally | None = None

    def lay(self, progress: Callable[[float], None] | None = None) -> None:
        """Lay all of it out beside the record; not where something is still to be told."""
        if self.how.questions:
            return
        self.incoming = Incoming(self.site.ledger)
        self.tally = Cells(self.site.plan, self.how, self.site.now().utc).lay(
            self.incoming, progress
        )
        self.laid = tuple(self.incoming.settle(SAME_MOMENT, self.how.told.source))
        if progress:
            progress(1.0)

    def view(self) -> DryRun:
        """The file as it would be imported."""
        how, tz = self.how, zone(self.site.plan.zone)
        values: list[FirstValue] = []
        reasons: tuple[tuple[str, int], ...] = ()
        if self.incoming is not None:
            items = {item.code: item for item in self.site.plan.items}
            for channel, at, value, below, line, cell in self.incoming.first_values(FIRST):
                shown = items[channel.item].shown(value)
                when = _moment(at, tz)
                values.append(
                    FirstValue(
                        line, cell, channel.place, channel.item, when, f"{'<' * below}{shown}"
                    )
                )
            reasons = tuple(self.incoming.reasons())
        columns = [(one.name, how.told.columns[one.name]) for one in how.columns]
        return DryRun(
            how.sheet.path.name,
            how.told.source,
            how.sheet.encoding,
            _SEPARATORS.get(how.sheet.separator, how.sheet.separator),
            how.head.line,
            how.head.first,
            self.tally.lines if self.tally else 0,
            tuple(columns),
            how.notes,
            tuple(Ask(one.words, one.flag) for one in how.questions),
            self.again,
            self.site.reader.imports.of_digest(how.sheet.digest),
            self.laid,
            tuple(values),
            tuple(self.tally.without.most_common(8)) if self.tally else (),
            reasons,
            tuple(self.incoming.turned_down(FIRST)) if self.incoming else (),
            self.tally.twice if self.tally else 0,
            tz.key,
        )

    def file(self) -> ImportFile:
        """What the record keeps of the file beside its values."""
        how, refused = self.how, sum(many for _, many in self._reasons())
        kept = sum(one.values for one in self.laid)
        return ImportFile(
            how.told.source,
            text.clean(how.sheet.path.name),
            how.sheet.digest,
            how.head.fingerprint if how.head.line else "",
            how.told.words(),
            kept,
            refused,
        )

    def _reasons(self) -> list[tuple[str, int]]:
        return self.incoming.reasons() if self.incoming is not None else []

    def close(self) -> None:
        """Drop what lies beside the record."""
        if self.incoming is not None:
            self.incoming.close()


def _moment(at: int, tz: Zone) -> Instant:
    return instant(datetime.fromtimestamp(at, UTC), tz)


def refused_to(path: Path, trial: Trial) -> int:
    """Write every cell that is not taken to a CSV file, with its line and why; returns how many."""
    import csv

    many = 0
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(("line", "column", "cell", "reason"))
        if trial.incoming is not None:
            for one in trial.incoming.turned_down():
                writer.writerow(one)
                many += 1
    return many
