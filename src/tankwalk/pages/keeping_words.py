"""Backups in words: what was made and dropped, how a rehearsal went, what was put back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.ledger.swap import Ahead

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tankwalk.clock import Instant
    from tankwalk.practice.keeping.forward import Before
    from tankwalk.practice.keeping.packing import Backup
    from tankwalk.practice.keeping.rehearsing import Rehearsed
    from tankwalk.practice.keeping.restoring import Restored
    from tankwalk.practice.keeping.rule import Kept


def made(one: Backup) -> str:
    """A backup that was asked for by name."""
    return f"A checked backup of record and plan is in {one.folder}, up to entry {one.number}."


def kept(one: Kept) -> str:
    """What the rule made in one place and dropped there, or why nothing was made."""
    if one.made is None:
        return f"No backup in {one.place}: {one.why}"
    dropped = f" {one.dropped} older dropped by the rule." if one.dropped else ""
    return f"{made(one.made)}{dropped}"


def on_board(found: Sequence[Kept]) -> str:
    """What the rule made, for the board: without folders, what is missing first."""
    first, *others = found
    missing = [f"NOT on the second disk: {one.why}" for one in others if one.made is None]
    if first.made is None:
        said = f"No backup beside the record: {first.why}"
    else:
        said = f"Backup made and checked, up to entry {first.made.number}."
        if any(one.made is not None for one in others):
            said += " The second disk has it too."
    return " ".join((*missing, said))


def before(one: Before) -> str:
    """What was kept of an older record, which is then brought forward."""
    what = f"The record was of an older tankwalk (version {one.version}) and is brought forward."
    if one.made is not None:
        return f"{what} {made(one.made)}"
    return (
        f"{what} It is not sound: {one.why} So there is no checked backup of it; it is kept as it "
        f"was as {one.copy}. Run tankwalk check: it names what is wrong, and the way back."
    )


def rehearsed(one: Rehearsed) -> str:
    """How the newest backup did when it was restored aside."""
    what = (
        f"The newest backup, {one.folder}, was restored aside: it opens, its {one.entries} "
        f"entries are sound, and its board draws {one.lines} lines."
    )
    if not one.same:
        return (
            f"{what} But it is not the record that is here: another one was put in one of the two "
            "places. Run tankwalk check, and make another backup."
        )
    many = "1 entry" if one.since == 1 else f"{one.since} entries"
    after = f"{many} came after it." if one.since else "Nothing came after it."
    return f"{what} It equals the record here up to entry {one.entries}. {after}"


def restored(one: Restored, now: Instant) -> list[str]:
    """What was put where, what is not in it, and where what lay there is now."""
    if one.same:
        said = [
            f"The record in {one.folder} is sound, {one.entries} entries (seal {one.seal}). This "
            "laptop takes it as it is from now on."
        ]
    else:
        said = [
            f"The record of {one.source} is in {one.folder}: {one.entries} entries, sound before "
            f"and after (seal {one.seal})."
        ]
    gone = one.gone
    if isinstance(gone, Ahead):
        which, when = f"{gone.many} entries, {gone.first} to {gone.last}", gone.since.short()
        if gone.many == 1:
            which = f"1 entry, {gone.first}"
        elif gone.since.short() != gone.until.short():
            when = f"{when} to {gone.until.short()}"
        said.append(
            f"NOT IN IT: {which}, entered {when}. Kept in {one.aside}; what still matters is "
            "entered again."
        )
    elif gone is not None:
        said.append(f"What lay there is another record, of {gone.entries} entries: {one.aside}.")
    elif one.seen:
        said.append(
            f"NOT IN IT: what came after entry {one.entries}: this laptop had seen {one.seen} "
            "more. What is on paper or remembered is entered again."
        )
    elif not one.same:
        said.append(
            "This laptop knows of no entry that is missing in it; what another one entered after "
            "it was made, it cannot know."
        )
    if one.aside is not None:
        said.append(f"What lay there before is kept as {one.aside}.")
    plan = one.plan
    if plan.kept and plan.other is not None:
        said.append(f"The plan that was there stays; the backup's is {plan.other}.")
    elif not plan.kept:
        whose = "the one that the record held last" if plan.made_from_record else "the backup's"
        said.append(f"The plan is {whose}.")
        if plan.other is not None:
            said.append(f"The plan that was there is kept as {plan.other}.")
    return said
