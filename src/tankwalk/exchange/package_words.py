"""What an export says of itself in words: its README."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from tankwalk.clock import Instant
from tankwalk.plan.model import Plan

if TYPE_CHECKING:
    from tankwalk.exchange.package import Made

DESCRIPTION = (
    "The record of a larval-fish hatchery's daily rounds: every entry, with what was corrected and "
    "withdrawn. The tank is the experimental unit."
)

DAILY = (
    "One row a tank (or loop, or site) and local day: mean, lowest, highest and number of looks "
    "of each item that stand, second readings in place of the first, suspect ones left out. Of pH "
    "the mean of its hydrogen ions; below what the kit sees counts as that. Fish are "
    "never averaged across tanks."
)

_README = """\
# {site}

Made by tankwalk {version} on {now}: the record up to entry {entries}, seal `{seal}`.
{part}
One CSV file a table; `datapackage.json` names every column with its type, unit and meaning, keys
and what refers to what. UTF-8, comma, decimal point; an empty cell is missing. "NA" is a word like
any other: read with `na.strings = ""` (R) or `keep_default_na=False, na_values=[""]` (pandas).

- **Current truth** of any table: the rows whose `status` is `stands` or `suspect`. `suspect`: the
  meter failed its check, or the value was worked out from such a reading. `amended` and `withdrawn`
  rows are history; `superseded_by` names the entry that took their place, `supersedes` the one that
  an entry corrects.
- **Times**: `observed` is when it was seen, `recorded` when it was entered, `late_s` the seconds
  between; ISO 8601 with the wall clock's offset. `day` is the local day of `observed`.
- **Who**: initials of the one who saw it; `typist` typed it in later from paper (`source`
  `transcribed`). `imported.csv` holds what files brought: no person entered it.
- **Values**: `value` in `unit`; `qualifier` `<` is below what the kit sees, else why it was not
  taken. A word (film, response) has its place among the item's words as value, and the word in
  `text`.
- **Judged**: `flag` when it was read, and the `band` it was judged by (`bands.csv`).
- `daily.csv` is wide: a row a tank and day, units in the names. It leaves out what is suspect.
- `plans/` holds every plan that was in force (`plan_versions.csv`).
- Left out: names and telephone numbers of people, and the digests of the chain; a backup holds all.

Check that nothing was altered: `sha256sum -c SHA256SUMS`. The seal shows from which state of the
record this was made: `tankwalk check --seal {seal}`.
{flavor}
| file | rows |
| --- | --- |
{files}
"""

_SPREADSHEET = """
These files are for a spreadsheet: words that begin like a formula have an apostrophe in front,
lines end with CR LF, and each file begins with a byte order mark. For programs export the plain
flavor.
"""


def readme(plan: Plan, now: Instant, about: Mapping[str, Any], made: Sequence[Made]) -> str:
    """The README of a package."""
    return _README.format(
        site=plan.name, version=about["version"], now=now.long(), entries=about["entries"],
        seal=about["seal"], part=_part(about["part"]),
        flavor=_SPREADSHEET if about["flavor"] == "spreadsheet" else "",
        files="\n".join(f"| `{one.file}` | {one.rows} |" for one in made),
    )  # fmt: skip


def _part(part: Mapping[str, Any] | None) -> str:
    if not part:
        return ""
    said = [f"{key} {value}" for key in ("from", "to") if (value := part.get(key))]
    for key in ("tanks", "items"):
        if key in part:
            said.append(f"{key} {' '.join(part[key])}")
    return f"A part of it: {', '.join(said)}. What refers to entries outside it leads nowhere.\n"
