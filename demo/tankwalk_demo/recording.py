"""Acts become entries: put in order, numbered, and judged by the program's own rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Detail, Entry, FollowUp, Handover, Reading, Round
from tankwalk.ledger.queries import Seen
from tankwalk.plan.bands import band_for
from tankwalk.plan.model import Band, Item, Kind, Plan
from tankwalk.practice.judging import Flag, band_text, judge
from tankwalk.practice.site import SITE
from tankwalk.practice.slips import Around
from tankwalk.science.oxygen import station_pressure
from tankwalk_demo.acts import Act

Recorded = tuple[Entry, tuple[Detail, ...]]

AGAIN_SECONDS = 9
"""A second reading follows the first with the probe still in the water."""


class Recorder:
    """What a record that is empty at first holds after each act."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.n = 0
        self._named: dict[str, tuple[int, Entry]] = {}
        self._newest: dict[tuple[str, str], Seen] = {}
        self._before: dict[tuple[str, str], Seen] = {}
        self._bands: dict[tuple[str, str, date], tuple[Band | None, str | None]] = {}
        self._tanks = {t.code: t for t in plan.tanks}
        self._pressure = station_pressure(plan.elevation_m)

    def record(self, acts: Iterable[Act]) -> Iterator[Recorded]:
        """The entries of all acts, in the order they were entered."""
        for act in sorted(acts, key=lambda a: a.entered):
            if isinstance(act.detail, Reading):
                yield from self._reading(act, act.detail)
            else:
                yield self._plain(act)

    def _entry(self, act: Act, unit: str = "", later: int = 0) -> Entry:
        observed = Instant(act.at.utc + later, act.at.offset)
        recorded = Instant(act.entered + later, act.at.offset)
        amends, number = None, act.round
        if act.amends:
            # A correction is of the same moment and round as what it corrects.
            amends, old = self._named[act.amends]
            observed, number = old.observed, old.round
        self.n += 1
        entry = Entry(
            act.kind, act.who, observed, recorded, act.place, act.item, unit, number, amends,
            act.reason,
        )  # fmt: skip
        if act.name and not later:
            self._named[act.name] = self.n, entry
        return entry

    def _plain(self, act: Act) -> Recorded:
        detail = act.detail
        if isinstance(detail, Round) and detail.event == "open":
            self._before = dict(self._newest)
        refers = self._named[act.refers][0] if act.refers else None
        if isinstance(detail, FollowUp):
            detail = detail._replace(opened=refers)
        elif isinstance(detail, Handover):
            detail = detail._replace(given=refers)
        unit = self.plan.item(act.item).unit if act.item else ""
        return self._entry(act, unit), (detail, *act.more)

    def _reading(self, act: Act, first: Reading) -> Iterator[Recorded]:
        item = self.plan.item(act.item or "")
        before = self._before if act.round is not None or act.amends else self._newest
        last = before.get((act.place, item.code))
        judged = self._judged(act, item, first, last)
        yield self._keep(act, item, judged, act.more)
        if judged.flag >= Flag.WATCH and item.kind is not Kind.CHOICE and not act.amends:
            second = act.second or first._replace(recheck=True)
            again = self._judged(act, item, second._replace(recheck=True), last)
            yield self._keep(act, item, again, (), AGAIN_SECONDS)

    def _keep(
        self, act: Act, item: Item, reading: Reading, more: tuple[Detail, ...], later: int = 0
    ) -> Recorded:
        entry = self._entry(act, item.unit, later)
        key = act.place, item.code
        old = self._newest.get(key)
        if reading.value is not None and (old is None or entry.observed.utc >= old.at.utc):
            self._newest[key] = _seen(self.n, entry, reading)
        return entry, (reading, *more)

    def _judged(self, act: Act, item: Item, reading: Reading, last: Seen | None) -> Reading:
        """The reading with the band in force and the program's own flag."""
        band, text = self._band(act.place, item, act.at.day)
        if reading.value is None:
            return reading._replace(band=text)
        temperature = self._newest.get((act.place, "temp"))
        around = Around(
            None if last is None else last.value,
            None if temperature is None else temperature.value,
            self._pressure,
        )
        judged = judge(item, reading.value, reading.typed, band, last, act.at, around, sure=True)
        if judged.impossible:
            raise ValueError(f"{act.place} {item.code} {reading.typed}: {judged.question}")
        return reading._replace(band=text, flag=int(judged.flag))

    def _band(self, place: str, item: Item, on: date) -> tuple[Band | None, str | None]:
        key = place, item.code, on
        if key not in self._bands:
            tank = self._tanks.get(place)
            loop = None if tank is not None or place == SITE else place
            band = band_for(self.plan, item, tank=tank, loop=loop, on=on)
            self._bands[key] = band, band_text(band)
        return self._bands[key]


def _seen(n: int, entry: Entry, reading: Reading) -> Seen:
    return Seen(
        n, entry.place or "", entry.item or "", entry.unit, reading.value, reading.typed,
        reading.qualifier, entry.reason, entry.observed, entry.who, reading.instrument,
        reading.flag, reading.recheck, entry.amends,
    )  # fmt: skip
