"""What a follow-up can be, by the words the record keeps: its kind, its turns, who may close it."""

from __future__ import annotations

from enum import Enum


class FollowUpWhat(Enum):
    """Something to do, or something that is not as normal and has to be put back."""

    ACTION = "action"
    ALTERED = "altered"


class FollowUpEvent(Enum):
    """What happens to a follow-up. A new owner or time is an "open" that names its opening."""

    OPEN = "open"
    DONE = "done"
    CLOSE = "close"
    DROP = "drop"
    REOPEN = "reopen"


class FollowUpState(Enum):
    """How a follow-up stands: nobody's yet, somebody's, said to be done, or ended."""

    NEW = "new"
    OWNED = "owned"
    DONE = "done"
    CLOSED = "closed"
    DROPPED = "dropped"

    @property
    def stands(self) -> bool:
        """Whether it is carried over."""
        return self not in (FollowUpState.CLOSED, FollowUpState.DROPPED)


class MayClose(Enum):
    """Who may close a follow-up, by what it is about.

    A task is closed by the one who did it, or by anyone who looked; other things by somebody else
    than the one who did it, or by a duty of the plan alone.
    """

    TASK = "task"
    METER = "meter"
    SAFETY = "safety"
    HEALTH = "health"
    TREATMENT = "treatment"
    DEVIATION = "deviation"

    @property
    def by_another(self) -> bool:
        """Whether somebody else than the one who did it has to close it."""
        return self in (MayClose.METER, MayClose.SAFETY, MayClose.TREATMENT)

    @property
    def duties(self) -> tuple[str, ...]:
        """The duties of the plan that alone may close it; none where others may."""
        return _DUTIES.get(self, ())


_DUTIES = {
    MayClose.HEALTH: ("lead", "veterinarian"),
    MayClose.DEVIATION: ("study owner",),
}
