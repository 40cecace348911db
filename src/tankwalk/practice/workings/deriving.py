"""Keeping what is worked out: with its parts, its equation and the band in force.

When a part is kept, whatever can be worked out from it is kept beside it; a correction of a part
works it out anew, as an amendment; what is undone takes it along.
"""

from __future__ import annotations

import json

from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger.entries import Derived, Entry, JudgedAs, Part, Reading
from tankwalk.ledger.readings import Seen
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item
from tankwalk.practice.judging.verdict import Flag, band_text
from tankwalk.practice.site import Site
from tankwalk.practice.workings.derived import Read, band_of, gather, worked
from tankwalk.practice.workings.parts import places_of
from tankwalk.practice.workings.unsure import flag_of

CORRECTED = "a part of it was corrected"
"""Why a derived reading is amended."""


def follow(site: Site, kept: Seen, who: str, number: int | None) -> list[Seen]:
    """Work out and keep what follows from a reading that was just kept.

    Joins the open transaction. What it amends is worked out anew in every reading that used it;
    otherwise each derived item this reading is a part of is worked out at the places it holds for.
    """
    if kept.value is None:
        if kept.amends is not None:
            undone(site, kept.amends, who, number)
        return []
    if kept.amends is not None:
        return _anew(site, kept, who, number)
    found = []
    read: Read = {}
    for item in site.plan.items:
        if not item.derived or kept.item not in {c for _, c in BY_CODE[item.code].items}:
            continue
        for place in places_of(site.plan, item, kept.place):
            gathered = gather(site, item, place, kept.at, read)
            if not gathered.why and kept.n in {s.n for s in gathered.parts.values()}:
                found += _keep(site, item, place, gathered.parts, who, number, recheck=kept.recheck)
    return found


def _anew(site: Site, kept: Seen, who: str, number: int | None) -> list[Seen]:
    """Amend every derived reading that was worked out from what `kept` corrects."""
    found = []
    for old in site.reader.readings.worked_from(kept.amends or 0):
        item = site.plan.find_item(old.item)
        working = site.reader.readings.working(old.n)
        if item is None or working is None or not item.derived:
            continue
        parts = {key: site.reader.readings.seen(n) for key, n in working.parts.items()}
        whole = {
            key: kept if seen.n == kept.amends else seen
            for key, seen in parts.items()
            if seen is not None
        }
        found += _keep(site, item, old.place, whole, who, number, amends=old)
    return found


def undone(site: Site, n: int, who: str, number: int | None) -> None:
    """Void every derived reading that was worked out from an entry that no longer stands."""
    for one in site.reader.readings.worked_from(n):
        _void(site, one, who, number)


def _void(site: Site, old: Seen, who: str, number: int | None) -> None:
    now = site.now()
    site.record(
        Entry("void", who, now, now, old.place, old.item, old.unit, number, old.n,
              "a part of it no longer stands")
    )  # fmt: skip


def _keep(
    site: Site,
    item: Item,
    place: str,
    parts: dict[str, Seen],
    who: str,
    number: int | None,
    *,
    amends: Seen | None = None,
    recheck: bool = False,
) -> list[Seen]:
    """One derived reading on the disk; nothing where the sum is refused.

    What is worked out from a second reading is a second reading.
    """
    try:
        value, equation, facts = worked(site, item, place, parts)
    except Refusal:
        if amends is not None:
            _void(site, amends, who, number)
        return []
    now = site.now()
    observed = amends.at if amends else max((s.at for s in parts.values()), default=now)
    band = band_of(site, item, place, observed)
    flag = Flag.OK if band is None else flag_of(site, item, place, parts, value, band.limits)
    below = "<" if any(s.qualifier == "<" for s in parts.values()) else None
    shown = item.shown(value)
    why = [JudgedAs("band", f"{item.label} {shown}")] if flag else []
    entry = Entry(
        "derived", who, observed, now, place, item.code, item.unit, number,
        None if amends is None else amends.n, None if amends is None else CORRECTED,
    )  # fmt: skip
    n = site.record(
        entry,
        Reading(
            value,
            number_text(value),
            None,
            below,
            None,
            band_text(band),
            int(flag),
            recheck or (amends is not None and amends.recheck),
        ),
        *why,
        Derived(item.derived, equation, json.dumps(facts, sort_keys=True)),
        *(Part(key, seen.n) for key, seen in sorted(parts.items())),
    )
    kept = site.reader.readings.seen(n)
    return [] if kept is None else [kept]
