"""Who signs: the register of initials, what each may decide, and from when until when."""

from __future__ import annotations

from datetime import date

from tankwalk.rows import NamedTuple

IDLE_MINUTES = 20.0
"""After so long without a key who is at the screen is asked again. Common practice, no source."""

DUTIES = ("technician", "student", "lead", "study owner", "veterinarian")
"""What a person may decide goes by these; the first is what a plan that says nothing means."""


class Person(NamedTuple):
    """Someone who signs: initials are what the record shows, `duty` one of `DUTIES`."""

    initials: str
    name: str = ""
    role: str = ""
    phone: str = ""
    duty: str = "technician"
    since: date | None = None
    """The first day on which they sign; None for always."""
    until: date | None = None
    """The last one; their entries stay after it."""

    def there_on(self, day: date) -> bool:
        """Whether they sign on a day."""
        come = self.since is None or self.since <= day
        return come and (self.until is None or day <= self.until)
