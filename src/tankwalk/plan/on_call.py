"""Who is phoned when something is wrong, and after how long one looks again, as values."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from tankwalk.plan.feed_model import on_weekday
from tankwalk.rows import NamedTuple


class OnCall(NamedTuple):
    """Who is phoned in a stretch of the day: from one wall-clock time to another, on some days.

    A stretch that begins later than it ends runs over midnight, on the day it begins; one that
    begins when it ends is a whole day. `weekdays` are ISO (1 Monday), of which none means every
    day.
    """

    who: str
    start: time
    end: time
    weekdays: tuple[int, ...] = ()

    def holds(self, wall: datetime) -> bool:
        """Whether it covers a wall-clock moment."""
        at, day = wall.time(), wall.date()
        if self.start < self.end:
            return self.start <= at < self.end and on_weekday(self.weekdays, day)
        if at >= self.start:
            return on_weekday(self.weekdays, day)
        return at < self.end and on_weekday(self.weekdays, day - timedelta(days=1))


class Looks(NamedTuple):
    """Minutes after which what is out of band is looked at again, by how serious it is.

    None where an item leaves it to the site.
    """

    watch: float | None = None
    act: float | None = None
    urgent: float | None = None


LOOKS = Looks(watch=120.0, act=30.0, urgent=5.0)
"""Where the plan says nothing. Common practice, no source."""
