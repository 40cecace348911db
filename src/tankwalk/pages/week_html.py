"""A week's feed for the printer: a table a feed with its bars drawn, and how it was eaten."""

from __future__ import annotations

from tankwalk.pages import feed_week as words
from tankwalk.pages.due_words import day_words
from tankwalk.pages.paper import PORTRAIT, Markup, document, el, header, heading
from tankwalk.practice.feeding.week import Answered, Gave, Week

_STYLE = (
    PORTRAIT
    + """
table { width: 100%; }
th { border-bottom: 0.2mm solid #000; }
td.n, th.n { text-align: right; white-space: nowrap; }
td.bar { width: 45%; padding-right: 0; }
svg { display: block; width: 100%; height: 1.1em; }
.all td { border-top: 0.2mm solid #000; }
"""
)

WIDE = 200
"""Units across a bar that is as long as the largest amount."""


def week(page: Week, seal: str) -> str:
    """The page; black on white, bars from zero, what was planned as an outline."""
    inside = []
    if len(page.tanks) > 1:
        many = f"Mean of {len(page.tanks)} tanks: {', '.join(page.tanks)}; lowest to highest."
        inside.append(el("p", many))
    for nth, head in enumerate(page.feeds):
        inside += [heading(head.label, head.unit), _feed(page, nth)]
    for nth, answered in enumerate(page.days[0].answered):
        inside += [heading(answered.item.label), _answers(page, nth)]
    rows = words.apart(page)
    if rows:
        inside.append(heading("NOT GIVEN"))
        inside.append(el("ul", *(el("li", f"{when}: {said}") for when, said in rows)))
    title = f"FEED {page.whom}"
    return document(
        f"{title}, {page.site}, {page.now.short()}",
        _STYLE,
        page.now,
        seal,
        header(f"{title}  {page.label}", page.site, page.now),
        *inside,
    )


def _feed(page: Week, nth: int) -> Markup:
    unit = page.feeds[nth].unit
    most = words.largest(page, nth)
    many = len(page.tanks) > 1
    rows = [
        el(
            "tr",
            el("th", "day"),
            el("th", "dph", class_="n"),
            el("th", "planned", class_="n"),
            el("th", "given", class_="n"),
            *((el("th", "from - to", class_="n"),) if many else ()),
            el("th", ""),
            el("th", "not as planned"),
        )
    ]
    for day in page.days:
        gave = day.feeds[nth]
        marks = words.marks(day, nth)
        ends = "" if gave is None else f"{_n(gave.low, unit)} - {_n(gave.high, unit)}"
        rows.append(
            el(
                "tr",
                el("td", day_words(day.day)),
                el("td", "" if day.age is None else str(day.age[0]), class_="n"),
                el("td", "-" if gave is None else _n(gave.planned, unit), class_="n"),
                el("td", "-" if gave is None else _n(gave.given, unit), class_="n"),
                *((el("td", ends, class_="n"),) if many else ()),
                el("td", *(() if gave is None else (_bar(gave, most),)), class_="bar"),
                el("td", marks),
                class_="flag" if marks else "",
            )
        )
    planned, given = page.total(nth)
    share = f"{100 * given / planned:.0f} % of the plan" if planned else ""
    rows.append(
        el(
            "tr",
            el("td", f"{len(page.days)} days"),
            el("td", ""),
            el("td", _n(planned, unit), class_="n"),
            el("td", _n(given, unit), class_="n"),
            *((el("td", ""),) if many else ()),
            el("td", share),
            el("td", ""),
            class_="all",
        )
    )
    return el("table", *rows)


def _n(value: float | None, unit: str) -> str:
    return words.number(value, unit)


def _bar(gave: Gave, most: float) -> Markup:
    """What was given filled, what was planned as an outline around it."""
    given = WIDE * gave.given / most if most else 0.0
    planned = WIDE * (gave.planned or 0.0) / most if most else 0.0
    outline = el(
        "rect", x="0", y="1", width=f"{planned:.1f}", height="8", fill="none", stroke="#000"
    )
    inside = el("rect", x="0", y="2.5", width=f"{given:.1f}", height="5", fill="#000")
    return el("svg", outline, inside, viewBox=f"-1 0 {WIDE + 2} 10", preserveAspectRatio="none")


def _answers(page: Week, nth: int) -> Markup:
    """How many tanks and meals said what, by day; of one tank its meals in order."""
    rows = []
    for day in page.days:
        answered = day.answered[nth]
        rows.append(el("tr", el("td", day_words(day.day)), el("td", _answer(answered, page))))
    return el("table", *rows)


def _answer(answered: Answered, page: Week) -> str:
    if len(page.tanks) > 1:
        return words.counted(answered)
    these = answered.by_tank.get(page.tanks[0], ())
    choices = answered.item.choices
    return ", ".join(choices[n] for n in these if n < len(choices)) or "-"
