"""Acts become entries: put in order, judged as the walk judges them, and kept in the record."""

from __future__ import annotations

from collections.abc import Callable

from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import (
    Calibration,
    Detail,
    Entry,
    Fish,
    FollowUp,
    Handover,
    HandoverGist,
    JudgedAs,
    Reading,
    Round,
    Sitting,
)
from tankwalk.ledger.readings import Seen
from tankwalk.pages import handover as page
from tankwalk.plan.bands import band_for
from tankwalk.plan.model import Item
from tankwalk.practice.handover import drafting
from tankwalk.practice.judging.assess import Weighing
from tankwalk.practice.judging.verdict import Flag, Judged, band_text
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.meters.tolerance import right_value
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.workings import deriving
from tankwalk_demo.acts import Act

Told = Callable[[Entry, tuple[Detail, ...]], None]
"""Hears of every entry just before it is kept."""

AGAIN_SECONDS = 9
"""A second reading follows the first with the probe still in the water."""

LOOSE_HOURS = 0.5
"""Readings outside a round that begin within this time belong together."""


class _Walked:
    """A round as far as it has got: what judges it, and what it holds."""

    def __init__(self, site: Site, number: int | None, first: int) -> None:
        self.first = first
        self.weighing = Weighing(site, number, first)
        self.kept: dict[tuple[str, str], list[Seen]] = {}


class Recorder:
    """Keeps acts in a site's record, in the order they are handed in; nothing from `end` on."""

    def __init__(self, site: Site, end: Instant, told: Told | None = None) -> None:
        self.site = site
        self.end = end
        self.told = told or _nobody
        self._named: dict[str, tuple[int, Entry]] = {}
        self._rounds: dict[int | None, _Walked] = {}
        self._pages: dict[int, str] = {}
        self._loose: tuple[Instant, _Walked] | None = None
        self._worst = Flag.OK

    def put(self, act: Act) -> Flag:
        """Keep one act, and the second reading that is taken where it is out of band.

        Returns the worst flag of what was kept, with what was worked out from it.
        """
        self._worst = Flag.OK
        if isinstance(act.detail, Reading):
            self._reading(act, act.detail)
        else:
            self._plain(act)
        return self._worst

    def _entry(self, act: Act, unit: str = "", later: int = 0) -> Entry:
        observed = Instant(act.at.utc + later, act.at.offset)
        recorded = Instant(act.entered + later, act.at.offset)
        amends, number = None, act.round
        if act.amends:
            # A correction is of the same moment and round as what it corrects.
            amends, old = self._named[act.amends]
            observed, number = old.observed, old.round
        return Entry(
            act.kind, act.who, observed, recorded, act.place, act.item, unit, number, amends,
            act.reason,
        )  # fmt: skip

    def _append(self, act: Act, entry: Entry, *details: Detail) -> int | None:
        """Keep an entry; None from the end on."""
        if entry.recorded.utc >= self.end.utc:
            return None
        self.site.clock = FixedClock(entry.recorded)
        self.told(entry, details)
        n = self.site.ledger.append(entry, *details)
        if act.name and act.name not in self._named:
            self._named[act.name] = n, entry
        return n

    def _plain(self, act: Act) -> None:
        detail = act.detail
        refers = self._named[act.refers][0] if act.refers else None
        if isinstance(detail, FollowUp):
            detail = detail._replace(opened=refers)
        elif isinstance(detail, Handover):
            detail = detail._replace(given=refers)
        elif isinstance(detail, Sitting):
            detail = detail._replace(opened=refers)
        elif isinstance(detail, Fish) and refers is not None:
            detail = detail._replace(sitting=refers)
        entry = self._entry(act, self.site.plan.item(act.item).unit if act.item else "")
        gist: tuple[HandoverGist, ...] = ()
        if isinstance(detail, Handover):
            if entry.recorded.utc >= self.end.utc:
                return
            detail, gist = self._page(entry, detail)
        n = self._append(act, entry, detail, *act.more, *gist)
        if n is not None and isinstance(detail, Round) and detail.event == "open":
            self._rounds[act.round] = _Walked(self.site, act.round, n)
        if n is not None and isinstance(detail, Handover):
            self._pages[n] = detail.text
        if n is not None and isinstance(detail, Calibration):
            self._checked(act, entry, detail)

    def _checked(self, act: Act, entry: Entry, check: Calibration) -> None:
        """What the program does about a failed check: the action it opens has the act's name."""
        if check.passed or check.as_found is None:
            return
        meter = meter_checks.find(self.site.plan, check.instrument)
        right = right_value(meter, check.reference)
        failure = meter_checks.fail(self.site, entry.who, meter, check.as_found, right)
        if act.name and failure.follow_up is not None:
            self._named[act.name] = failure.follow_up, entry

    def _page(self, entry: Entry, detail: Handover) -> tuple[Handover, tuple[HandoverGist, ...]]:
        """A handover with its page: drafted from the record as it stands when the room is given."""
        if detail.given is not None:
            return detail._replace(text=self._pages[detail.given]), ()
        self.site.clock = FixedClock(entry.recorded)
        given = page.given(drafting.draft(self.site))
        return detail._replace(text=given.text), tuple(HandoverGist(*one) for one in given.gist)

    def _reading(self, act: Act, first: Reading) -> None:
        item = self.site.plan.item(act.item or "")
        flag = self._keep(act, item, first, act.more)
        if flag >= Flag.WATCH and item.kind.read_twice and not act.amends:
            second = act.second or first._replace(recheck=True)
            self._keep(act, item, second._replace(recheck=True), (), AGAIN_SECONDS)

    def _keep(
        self, act: Act, item: Item, reading: Reading, more: tuple[Detail, ...], later: int = 0
    ) -> Flag:
        entry = self._entry(act, item.unit, later)
        self.site.clock = FixedClock(entry.recorded)
        walked = self._rounds.get(entry.round) or self._apart(entry)
        judged, text = self._judged(act.place, item, reading, entry.observed, walked)
        why = [JudgedAs(judged.rule or "", judged.sentence)] if judged.flag else []
        kept = reading._replace(band=text, flag=int(judged.flag))
        n = self._append(act, entry, kept, *why, *more)
        seen = None if n is None else self.site.reader.readings.seen(n)
        if seen is not None:
            here = walked.kept.setdefault((seen.place, seen.item), [])
            here[:] = [s for s in here if s.n != seen.amends]
            here.append(seen)
            worked = deriving.follow(self.site, seen, entry.who, entry.round)
            self._worst = max(self._worst, judged.flag, *(Flag(s.flag) for s in worked))
        return judged.flag

    def _apart(self, entry: Entry) -> _Walked:
        """What judges readings outside any round: those soon after one another are one walk."""
        last = self._loose
        if last is None or entry.observed.hours_since(last[0]) > LOOSE_HOURS:
            first = self.site.ledger.db.execute("SELECT max(n) + 1 FROM entry").fetchone()[0] or 1
            last = entry.observed, _Walked(self.site, None, first)
        self._loose = last
        return last[1]

    def _judged(
        self, place: str, item: Item, reading: Reading, at: Instant, walked: _Walked
    ) -> tuple[Judged, str | None]:
        """How the program judges a reading, and the band in force as the record keeps it."""
        plan = self.site.plan
        tank = plan.find_tank(place)
        loop = None if tank is not None or place == SITE else place
        band = band_for(plan, item, tank=tank, loop=loop, on=at.day)
        if reading.value is None:
            return Judged(Flag.OK), band_text(band)
        last = self.site.reader.readings.newest(place, item.code, item.unit, walked.first)
        judged = walked.weighing.weigh(
            place, item, band, reading.instrument, reading.value, reading.typed, last,
            walked.kept, sure=True, below=reading.qualifier == "<",
        )  # fmt: skip
        if judged.impossible:
            raise ValueError(f"{place} {item.code} {reading.typed}: {judged.question}")
        return judged, band_text(band)


def _nobody(_: Entry, __: tuple[Detail, ...]) -> None:
    """Nobody asks what is kept."""
