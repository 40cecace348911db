"""A date written in a way a plan does not take: which day, or which days, it can mean."""

from __future__ import annotations

import re
from datetime import date

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMED = re.compile(
    r"(?:(?P<d>\d{1,2})(?:st|nd|rd|th)?[ .-]+)?(?P<m>[a-z]{3,9})\.?[ .-]+"
    r"(?:(?P<e>\d{1,2})(?:st|nd|rd|th)?,?[ .-]+)?(?P<y>\d{4})"
)
_NUMBERS = re.compile(r"(\d{1,4})[ ./-]+(\d{1,2})[ ./-]+(\d{1,4})")


def days_meant(text: str) -> tuple[date, ...] | None:
    """The days a text can mean: two where day and month could be either, none for a day that no
    calendar has, and None where the text is no date.

    A year has four digits: 4/5/26 says too little to guess from.
    """
    words = " ".join(text.strip().casefold().strip("\"'").replace(",", " ").split())
    found: list[tuple[int, int, int]] = []
    if named := _NAMED.fullmatch(words):
        day = named["d"] or named["e"]
        month = named["m"][:3]
        if not day or month not in _MONTHS:
            return None
        found.append((int(named["y"]), _MONTHS.index(month) + 1, int(day)))
    elif numbers := _NUMBERS.fullmatch(words):
        first, middle, last = (int(number) for number in numbers.groups())
        if len(numbers[1]) == 4:
            found.append((first, middle, last))
        elif len(numbers[3]) == 4:
            found += [(last, middle, first), (last, first, middle)]
    else:
        return None
    days = dict.fromkeys(day for parts in found if (day := _day(*parts)) is not None)
    return tuple(days)


def day_mend(key: str, text: str) -> str:
    """What to write in place of a date that was not taken, ready to paste; "" for no date."""
    days = days_meant(text)
    if days is None:
        return ""
    if not days:
        return f"write {key} as year-month-day, such as {key} = 2026-04-16"
    ways = " or ".join(f"{key} = {day.isoformat()}" for day in days)
    return f"write {ways}" + (", whichever day is meant" if len(days) > 1 else "")


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
