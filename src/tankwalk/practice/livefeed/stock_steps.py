"""Tins of cysts and bags of feed by number: received, opened, tested, weighed, empty."""

from __future__ import annotations

from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import at, zone
from tankwalk.ledger.feeding import BatchEvent, BatchKind, CountOf
from tankwalk.ledger.follow_up_kinds import FollowUpEvent, FollowUpWhat, MayClose
from tankwalk.practice.dialog import Hand, Step, Talk, writer
from tankwalk.practice.livefeed import asking, batches
from tankwalk.practice.livefeed.asking import number, wanted, whole
from tankwalk.practice.livefeed.on_hand import POOR_SHARE, OnHand, Tin
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import order_of
from tankwalk.science import livefeed

if TYPE_CHECKING:
    from tankwalk.ledger.entries import Closing, FollowUp

MOST_G = 100_000.0

TEST_ML = 0.25
"""One sub-sample of a test hatch, mL: FAO Fisheries Technical Paper 361, from memory."""


ORDERED_DAYS = 120.0
"""An order is here in so many days at most. Common practice, no source."""

OTHER_DAY = "another day"


def ordered(site: Site, hand: Hand, one: OnHand) -> Talk:
    """More was ordered: in how many days it comes. It is a follow-up until it is received."""
    from tankwalk.ledger.entries import Closing, FollowUp

    terms = next((each for each in site.plan.stock if each.of == one.code), None)
    lead = None if terms is None else terms.lead_days
    who = yield from writer(site, hand, f"Who ordered {one.code}?")
    told = f"{one.code} was ordered already." if one.coming is not None else ""
    while True:
        days = yield from wanted(
            number(
                f"{one.code} ordered: it comes in", "d", 0, ORDERED_DAYS, proposed=lead,
                as_what="as planned", told=told,
            )
        )  # fmt: skip
        evening = site.plan.hatching.evening
        on = site.now().day + timedelta(days=ceil(days))
        due = at(on, evening.hour, evening.minute, zone(site.plan.zone))
        words = f"{one.code} ordered, it comes {on:%a} {on.day} {on:%b}"
        doubt = ""
        if one.days is not None and days > one.days:
            doubt = f"What is here lasts {one.days:.0f} d: it is used up before."
        answer = yield Step(f"{words}.", (asking.KEEP, OTHER_DAY), told=doubt)
        if answer.number == 1:
            opens = FollowUp(FollowUpWhat.ACTION.value, FollowUpEvent.OPEN.value, words, None,
                             due.utc)  # fmt: skip
            about = Closing(MayClose.TASK.value, order_of(one.code))
            _follow_up(site, who, opens, about)
            return f"Kept: {words}."


def _follow_up(site: Site, who: str, *details: FollowUp | Closing) -> None:
    """Keep what becomes of an order; `doing` stands above this room, so it is not asked."""
    from tankwalk.ledger.entries import Entry

    now = site.now()
    site.record(Entry("follow-up", site.signs(who), now, now, SITE), *details)


def received(site: Site, hand: Hand, one: OnHand) -> Talk:
    """A tin or a bag came: how much, and a name for its label."""
    from tankwalk.ledger.entries import Batch, BatchOf, FollowUp

    what = "tin" if one.kind is BatchKind.CYSTS else "bag"
    who = yield from writer(site, hand, f"Who received the {what} of {one.code}?")
    grams = yield from wanted(number(f"{one.code} received", "g", 1, MOST_G))
    proposed = batches.free_name(site, f"{one.code}-", site.now())
    name = yield from asking.name(site, proposed)
    lot = yield Step("Lot or best-by on the label:", writes=True, quick=(("/", "none on it"),))
    printed = None if lot.words == "/" else text.clean(lot.words, limit=40)
    batch = Batch(name, BatchEvent.RECEIVED, one.code, grams, text=printed)
    label = f", its label says {printed}" if printed else ""
    words = f"{name}: {grams:,.0f} g of {one.code} received{label}"
    again = yield from asking.kept(site, who, words, (batch, BatchOf(one.kind, one.code)))
    if again:
        return _nothing()
    if one.coming is not None:  # what was ordered is here
        ends = FollowUp(
            FollowUpWhat.ACTION.value, FollowUpEvent.CLOSE.value, f"{name} received",
            opened=one.coming.opened,
        )  # fmt: skip
        _follow_up(site, who, ends)
    return f"Kept: {words}. Write {name} on it."


def opened(site: Site, hand: Hand, tin: Tin) -> Talk:
    """A tin or bag was opened."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who opened {tin.name}?")
    words = f"{tin.name} opened"
    again = yield from asking.kept(site, who, words, (Batch(tin.name, BatchEvent.OPENED, tin.of),))
    test = " Do a test hatch before you rely on it." if tin.kind is BatchKind.CYSTS else ""
    return f"Kept: {words}.{test}" if not again else _nothing()


def tested(site: Site, hand: Hand, tin: Tin) -> Talk:
    """A test hatch was counted: nauplii, umbrella stages and embryos."""
    from tankwalk.ledger.entries import Batch, Counted

    who = yield from writer(site, hand, f"Who counted the test hatch of {tin.name}?")
    while True:
        nauplii = yield from whole("Nauplii", 100_000)
        umbrella = yield from whole("Umbrella stages", 100_000)
        embryos = yield from whole("Embryos that did not hatch", 100_000)
        percent = livefeed.hatch_percent(nauplii, umbrella, embryos)
        counts = tuple(
            Counted(what, TEST_ML, 1.0, str(many))
            for what, many in (
                (CountOf.NAUPLII, nauplii), (CountOf.UMBRELLA, umbrella), (CountOf.EMBRYOS, embryos)
            )
        )  # fmt: skip
        lot = next((c for c in site.plan.cysts if c.code == tin.of), None)
        doubts = []
        if lot is not None and lot.hatch and percent < 100 * POOR_SHARE * lot.hatch:
            doubts.append(f"The plan counts on {100 * lot.hatch:.0f} %: set more, or another tin.")
        batch = Batch(tin.name, BatchEvent.TEST_HATCH, tin.of, hatch_percent=percent)
        words = f"{tin.name} test hatch: {percent:.0f} %"
        again = yield from asking.kept(site, who, words, (batch, *counts), doubts)
        if not again:
            return f"Kept: {words}."


def weighed(site: Site, hand: Hand, tin: Tin) -> Talk:
    """What is left of a tin or bag was weighed."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who weighed {tin.name}?")
    while True:
        grams = yield from wanted(number(f"{tin.name} left", "g", 0, MOST_G))
        doubts = []
        if tin.grams is not None and abs(grams - tin.grams) > max(5.0, 0.2 * tin.grams):
            doubts.append(f"By what was taken {tin.grams:,.0f} g should be left.")
        words = f"{tin.name}: {grams:,.0f} g left"
        batch = Batch(tin.name, BatchEvent.WEIGHED, tin.of, grams)
        again = yield from asking.kept(site, who, words, (batch,), doubts)
        if not again:
            return f"Kept: {words}."


def empty(site: Site, hand: Hand, tin: Tin) -> Talk:
    """A tin or bag is empty or was thrown out."""
    from tankwalk.ledger.entries import Batch

    who = yield from writer(site, hand, f"Who emptied {tin.name}?")
    why = yield Step(f"{tin.name} is gone:", ("used up", "spoiled", "too old"), "other words", True)
    reason = text.clean(why.words, limit=60)
    words = f"{tin.name} empty: {reason}"
    batch = Batch(tin.name, BatchEvent.EMPTY, tin.of, text=reason)
    again = yield from asking.kept(site, who, words, (batch,))
    return f"Kept: {words}." if not again else _nothing()


def _nothing() -> str:
    return "Nothing was kept: Enter begins again."
