"""The page of one batch: how it stands, its story, its balance, and where it went."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.pages import livefeed_words as words
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.pages.when import at_words
from tankwalk.practice.live_feed import BatchView, FedView, by_batch
from tankwalk.practice.livefeed.batches import LiveBatch

if TYPE_CHECKING:
    from tankwalk.practice.feeding.tracing import Balance, BatchTrace, Portion

KINDS = {
    BatchKind.CONE: "cone",
    BatchKind.SHELLED: "shelled cysts",
    BatchKind.ROTIFERS: "rotifers",
    BatchKind.ALGAE: "algae",
    BatchKind.CYSTS: "tin of cysts",
    BatchKind.FEED: "feed",
}


def draw(view: BatchView, width: int) -> list[Line]:
    """The whole page; a screen shows as much of it as there is room for."""
    one, now, trace = view.batch, view.now, view.trace
    title = f" BATCH {one.name}  {KINDS[one.kind]}"
    lines = [spread(width, [title], [f"{now.short()} "], "head")]
    when, tone = words.when_next(one, now)
    lines.append(line(width, Span(f" {_state(one)}", "bold"), Span(f"  {when}", tone)))
    lines += _from(trace, now, width)
    lines += _story(view, width)
    if trace is not None and trace.balance is not None:
        lines += _balance(trace.balance, width)
    lines += _went(() if trace is None else trace.portions, now, width)
    return lines


def _state(one: LiveBatch) -> str:
    """How a batch stands; a tin or a bag by what was done with it."""
    if one.kind not in (BatchKind.CYSTS, BatchKind.FEED):
        return one.state.value
    if one.last(BatchEvent.EMPTY) is not None:
        return "empty"
    return "sealed" if one.last(BatchEvent.OPENED) is None else "open"


def _head(width: int, words_: str, beside: str = "") -> list[Line]:
    return [blank(width), line(width, Span(f" {words_}", "bold"), Span(f"  {beside}", "dim"))]


def _from(trace: BatchTrace | None, now: Instant, width: int) -> list[Line]:
    """What it was made from, and what was made of it."""
    if trace is None:
        return []
    said = []
    if trace.origins:
        back = [
            one.name + (f" ({KINDS[one.kind]})" if one.kind is not None else "")
            for one in trace.origins
        ]
        said.append(f"made from {', from '.join(back)}")
    if trace.made:
        said.append(f"made into {', '.join(trace.made)}")
    return wrapped(width, "; ".join(said), "dim", 4) if said else []


def _story(view: BatchView, width: int) -> list[Line]:
    lines = _head(width, "STORY")
    for event in view.batch.events:
        when = event.at.short() if width >= 70 else event.at.short().partition(" ")[2]
        head = f"   {when.rjust(16 if width >= 70 else 12)}  {event.who.ljust(3)} "
        head += f"{words.event_word(event).ljust(11)}"
        tone = "watch" if event.event == BatchEvent.DISCARD else "plain"
        told = words.what_happened(event)
        eggs = next((c.eggs for c in view.batch.counts if c.n == event.n), None)
        told += "" if eggs is None else f", {eggs:.2f} eggs per female"
        rows = text.wrap(told, max(10, width - len(head) - 1)) or [""]
        for nth, row in enumerate(rows):
            before = head if nth == 0 else " " * len(head)
            lines.append(line(width, Span(before, "dim"), Span(row, tone)))
    return lines


def _balance(one: Balance, width: int) -> list[Line]:
    """Harvested is poured, thrown out, left, and what nobody said."""
    rows = (
        ("harvested", one.harvested),
        ("poured", one.poured),
        ("thrown out", one.discarded),
        ("left", one.left),
        ("not accounted for", one.unsaid),
    )
    lines = _head(width, "BALANCE", "thousand nauplii")
    for said, thousand in rows:
        if said == "not accounted for" and abs(thousand) < 0.5:
            continue
        part = f"{100 * thousand / one.harvested:.0f} %" if one.harvested else ""
        tone = "watch" if thousand < -0.5 else "plain"
        lines.append(line(width, Span(f"   {said:<20}{thousand:>10,.0f}{part:>8}", tone)))
    return lines


def _went(portions: Sequence[Portion], now: Instant, width: int) -> list[Line]:
    """A line a meal, then a line a tank."""
    if not portions:
        return []
    lines = _head(width, "WENT TO", "meal, tanks, mL, thousand, age of the nauplii")
    for at, some in _by_meal(portions):
        ml = sum(one.ml for one in some)
        thousand = sum(one.thousand for one in some)
        ages = [one.age_h for one in some if one.age_h is not None]
        age = f"{min(ages):.0f} h" if ages else ""
        tanks = list(dict.fromkeys(one.place for one in some))
        who = "/".join(dict.fromkeys(one.who for one in some))
        said = f"   {at.short().rjust(16)}  {len(tanks):>2} tanks {ml:>8,.0f} {thousand:>7,.0f}"
        lines.append(line(width, Span(said), Span(f"  {age.rjust(5)}  {who}", "dim")))
    lines += _head(width, "TANKS", "meals, mL, thousand")
    by_tank: dict[str, list[Portion]] = {}
    for one in portions:
        by_tank.setdefault(one.place, []).append(one)
    cells = [
        f"{place:<6}{len(some):>3}{sum(p.ml for p in some):>8,.0f}"
        f"{sum(p.thousand for p in some):>7,.0f}"
        for place, some in sorted(by_tank.items())
    ]
    abreast = max(1, (width - 4) // 28)
    for k in range(0, len(cells), abreast):
        lines.append(line(width, Span("   " + "    ".join(cells[k : k + abreast]))))
    return lines


def _by_meal(portions: Iterable[Portion]) -> list[tuple[Instant, list[Portion]]]:
    found: dict[int, list[Portion]] = {}
    for one in portions:
        found.setdefault((one.meal_at or one.at).utc, []).append(one)
    return [(Instant(utc, some[0].at.offset), some) for utc, some in sorted(found.items())]


def draw_fed(view: FedView, width: int) -> list[Line]:
    """The batches that a tank, or the tanks of a treatment, got lately; newest first."""
    trace, now = view.trace, view.now
    title = f" FED FROM  {view.name}"
    lines = [spread(width, [title], [f"{now.short()} "], "head")]
    tanks = ", ".join(trace.places)
    since = at_words(trace.since, now)
    lines += wrapped(width, f"{tanks}: live feed since {since}, by batch, newest first.", "dim", 3)
    if not trace.portions:
        lines += wrapped(width, "No live feed that says from which batch.", "plain", 2)
    for one in by_batch(trace):
        hatch = "" if one.hatch_percent is None else f", hatch {one.hatch_percent:.0f} %"
        of = f", of {one.of}" if one.of else ""
        many = "meal " if one.meals == 1 else "meals"
        said = f"   {one.batch:<10}{one.meals:>2} {many} {one.ml:>8,.0f} mL "
        said += f"{one.thousand:>7,.0f} thousand"
        lines.append(line(width, Span(said), Span(f"{hatch}{of}", "dim")))
    return lines
