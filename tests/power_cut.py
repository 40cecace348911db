"""What a disk may hold after the plug was pulled: each write, sync and name replayed, lost or torn.

The model is harsher than the disks one meets. Until a file is synced, any of the sectors written to
it may be on the disk or not, in any order; a file may have grown before what was written there
arrived, and then holds zeros or junk. Until a folder is synced, each name made, changed or
taken away in it may be so or not, one by one: syncing a file does not keep its name.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from hashlib import blake2b
from itertools import chain
from pathlib import Path, PurePosixPath
from typing import NamedTuple

SECTOR = 512
"""What a disk writes whole or not at all, in bytes; SQLite counts on no more than that."""

JUNK = 0xA5


class Make(NamedTuple):
    """A new empty file under a name; whatever the name stood for is let go."""

    name: str
    file: int


class Put(NamedTuple):
    """Bytes written into a file."""

    file: int
    at: int
    data: bytes


class Cut(NamedTuple):
    """A file's length set."""

    file: int
    size: int


class Sync(NamedTuple):
    """All that was written to a file is on the disk when this is over."""

    file: int


class SyncFolder(NamedTuple):
    """All names of a folder are on the disk when this is over."""

    folder: str


class Rename(NamedTuple):
    """A name changed, over what stood there: the one or the other, never neither.

    Of a folder all that is in it goes along.
    """

    old: str
    new: str


class Link(NamedTuple):
    """A second name of a file."""

    old: str
    new: str


class Drop(NamedTuple):
    """A name taken away."""

    name: str


class Said(NamedTuple):
    """Words that a person was shown: what they stand for has to last from here on."""

    words: str


NameAct = Make | Rename | Link | Drop
FOLDER = 0
"""What a name that ends in a slash stands for, in place of a file."""

Event = NameAct | Put | Cut | Sync | SyncFolder | Said
Files = dict[str, bytes]
"""A tree: what each file holds, by its path below the folder that was watched."""

_BARRIERS = (Sync, SyncFolder, Said)


class _Disk:
    """What has surely reached the disk, and what is still on its way, after some events."""

    def __init__(self, before: Files) -> None:
        self.safe: dict[int, bytes] = {}
        self.names: dict[str, int] = {}
        for k, (name, content) in enumerate(sorted(before.items())):
            self.names[name] = -1 - k
            self.safe[-1 - k] = content
        self.folders: set[str] = set()
        """Those made since: what lies in one is there only where its own name is."""
        self.acts: list[NameAct] = []
        self.data: list[Put | Cut] = []

    def take(self, event: Event) -> None:
        """One event more."""
        match event:
            case Put() | Cut():
                self.data.append(event)
            case Sync(file):
                mine = [one for one in self.data if one.file == file]
                self.safe[file] = _written(self.safe.get(file, b""), mine)
                self.data = [one for one in self.data if one.file != file]
            case SyncFolder(folder):
                sure, rest = list[NameAct](), list[NameAct]()
                for act in self.acts:
                    if _folder(act) == folder:  # said by the name the folder has on the disk
                        sure.append(_as_before(act, rest))
                    else:
                        rest.append(act)
                self.names, self.acts = _named(self.names, sure), rest
            case Make() | Rename() | Link() | Drop():
                self.acts.append(event)
                if isinstance(event, Make) and event.file == FOLDER:
                    self.folders.add(event.name)
                if isinstance(event, Rename) and f"{event.old}/" in self.folders:
                    inside = {one for one in self.folders if one.startswith(f"{event.old}/")}
                    self.folders |= {event.new + one[len(event.old) :] for one in inside}

    def tree(self, acts: list[NameAct], data: list[Put | Cut], grown: int | None) -> Files:
        """The files, where of what is on its way only this arrived.

        `grown`: every file has the length that all would have given it, filled with this byte;
        None: the length that what arrived gives it.
        """
        names = _named(self.names, acts)
        files = {}
        for name, file in names.items():
            above = [f"{one}/" for one in PurePosixPath(name).parents]
            if file == FOLDER or any(one in self.folders and one not in names for one in above):
                continue
            mine = [one for one in data if one.file == file]
            content = _written(self.safe.get(file, b""), mine)
            if grown is not None:
                whole = [one for one in self.data if one.file == file]
                size = _length(len(self.safe.get(file, b"")), whole)
                if size > len(content):
                    content += bytes([grown]) * (size - len(content))
            files[name] = content
        return files

    def all_there(self) -> Files:
        """The files as the running program sees them."""
        return self.tree(self.acts, self.data, None)


def _folder(act: NameAct) -> str:
    name = act.new if isinstance(act, Rename | Link) else act.name
    return str(PurePosixPath(name).parent)


def _as_before(act: NameAct, waiting: list[NameAct]) -> NameAct:
    """An act in a folder whose own new name is not on the disk yet, said by its old one."""
    for one in reversed(waiting):
        if isinstance(one, Rename):
            match act:
                case Rename(old, new):
                    act = Rename(_back(old, one), _back(new, one))
                case Link(old, new):
                    act = Link(_back(old, one), _back(new, one))
                case Make(name, file):
                    act = Make(_back(name, one), file)
                case Drop(name):
                    act = Drop(_back(name, one))
    return act


def _back(name: str, renamed: Rename) -> str:
    """A name before a folder was renamed."""
    inside = name.startswith(f"{renamed.new}/")
    return renamed.old + name[len(renamed.new) :] if inside else name


def _named(names: dict[str, int], acts: list[NameAct]) -> dict[str, int]:
    """Names after some acts; one whose own beginning never arrived changes nothing."""
    found = dict(names)
    for act in acts:
        match act:
            case Make(name, file):
                found[name] = file
            case Rename(old, new) if old in found:
                found[new] = found.pop(old)
            case Rename(old, new):
                for name in [one for one in found if one.startswith(f"{old}/")]:
                    found[new + name[len(old) :]] = found.pop(name)
            case Link(old, new) if old in found:
                found[new] = found[old]
            case Drop(name):
                found.pop(name, None)
            case _:
                pass
    return found


def _written(content: bytes, acts: list[Put | Cut]) -> bytes:
    if not acts:
        return content
    made = bytearray(content)
    for act in acts:
        if isinstance(act, Cut):
            if act.size < len(made):
                del made[act.size :]
            else:
                made += bytes(act.size - len(made))
            continue
        if act.at > len(made):
            made += bytes(act.at - len(made))
        made[act.at : act.at + len(act.data)] = act.data
    return bytes(made)


def _length(size: int, acts: list[Put | Cut]) -> int:
    for act in acts:
        size = act.size if isinstance(act, Cut) else max(size, act.at + len(act.data))
    return size


def torn(act: Put | Cut) -> list[Put | Cut]:
    """A write in the pieces that a disk may keep one without the other."""
    if isinstance(act, Cut):
        return [act]
    pieces: list[Put | Cut] = []
    at, end = act.at, act.at + len(act.data)
    while at < end:
        to = min(end, (at // SECTOR + 1) * SECTOR)
        pieces.append(Put(act.file, at, act.data[at - act.at : to - act.at]))
        at = to
    return pieces


class State(NamedTuple):
    """One tree that a cut may have left."""

    point: int
    """Before which event the plug was pulled."""
    files: Files

    def key(self) -> bytes:
        """A digest: the same for the same files."""
        made = blake2b(digest_size=16)
        for name, content in sorted(self.files.items()):
            made.update(f"{name}\0{len(content)}\0".encode())
            made.update(content)
        return made.digest()


def points(events: list[Event]) -> list[int]:
    """Where a cut leaves something new: before each sync, where most is on its way; and after it.

    A cut between two syncs leaves nothing that a cut before the second may not leave too.
    """
    return [k for k, one in enumerate(events) if isinstance(one, _BARRIERS)] + [len(events)]


def states(
    before: Files, events: list[Event], samples: int, seed: int, most: int = 8
) -> Iterator[State]:
    """The trees that a cut may leave, at every point.

    All of them where at most `most` writes and names are on their way; else none, first parts, each
    one alone kept or lost (the square of `most` of each at most), and `samples` drawn ones; of
    whole writes and of sectors.
    """
    draw = random.Random(seed)
    disk, done = _Disk(before), 0
    for point in points(events):
        for event in events[done:point]:
            disk.take(event)
        done = point
        yield from _at(disk, point, samples, draw, most)


def _at(disk: _Disk, point: int, samples: int, draw: random.Random, most: int) -> Iterator[State]:
    whole: list[NameAct | Put | Cut] = [*disk.acts, *disk.data]
    sectors: list[NameAct | Put | Cut] = [*disk.acts, *chain.from_iterable(map(torn, disk.data))]
    for k, parts in enumerate((whole, sectors)):
        if k and len(sectors) == len(whole):
            return
        for kept in _chosen(len(parts), samples, draw, most):
            arrived = [one for one, here in zip(parts, kept, strict=True) if here]
            acts = [one for one in arrived if not isinstance(one, Put | Cut)]
            data = [one for one in arrived if isinstance(one, Put | Cut)]
            yield State(point, disk.tree(acts, data, None))
            if len(data) < len(parts) - len(disk.acts):
                yield State(point, disk.tree(acts, data, 0))
                yield State(point, disk.tree(acts, data, JUNK))


def _chosen(count: int, samples: int, draw: random.Random, most: int) -> Iterator[list[bool]]:
    if count <= most:
        for number in range(1 << count):
            yield [bool(number >> k & 1) for k in range(count)]
        return
    step = max(1, count // most**2)
    for first in range(0, count + 1, step):
        yield [k < first for k in range(count)]
    for one in range(0, count, step):
        yield [k == one for k in range(count)]
        yield [k != one for k in range(count)]
    for _ in range(samples):
        share = draw.random()
        yield [draw.random() < share for _ in range(count)]


def replayed(before: Files, events: list[Event]) -> Files:
    """The files as a program leaves them that nobody stops."""
    disk = _Disk(before)
    for event in events:
        disk.take(event)
    return disk.all_there()


# ---- what is found when each is opened


Parts = dict[str, str]
"""What a person finds, by part (the record, the plan, a copy); what is not there is left out."""


class Found(NamedTuple):
    """What came of opening every state."""

    events: int
    points: int
    states: int
    opened: int
    """Different ones; the same files are opened once."""
    promises: int
    """Different contents that a person was shown as kept."""
    lost: tuple[str, ...]
    """What had been shown as kept and was not there."""
    half: tuple[str, ...]
    """What was neither as before an act nor as after it."""


def lay(files: Files, folder: Path) -> None:
    """Put a tree into an empty folder."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def look(folder: Path) -> Files:
    """The tree of a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class _Part:
    """What was true of one part, in turn, and which of it a person had been shown."""

    def __init__(self) -> None:
        self.truths: list[str] = []
        self.now: dict[int, int] = {}
        self.said: dict[int, int] = {}

    def at(self, point: int, true: str, said: bool) -> None:
        """It is so at this point, where a person is shown something, or not."""
        if not self.truths or true != self.truths[-1]:
            self.truths.append(true)
        newest = len(self.truths) - 1
        self.said[point] = newest if said else max(self.said.values(), default=0)
        self.now[point] = newest

    def fault(self, point: int, shown: str) -> str:
        """What is wrong with what is found after a cut: "lost", "half" or nothing."""
        if shown in self.truths[self.said[point] : self.now[point] + 1]:
            return ""
        return "lost" if shown in self.truths else "half"


def judge(
    before: Files,
    events: list[Event],
    seen: Callable[[Files], Parts],
    samples: int,
    seed: int,
    most: int = 8,
) -> Found:
    """Open every state as a person would who starts the program again, and hold it to its promises.

    `seen` opens a tree with the program and says, part by part, all that it then shows. What it
    shows of the tree of the running program, event by event, is what was true in turn. After a cut
    each part must be one of these: no older than when words were last said, no newer than now.
    """
    known: dict[bytes, Parts] = {}

    def opened(state: State) -> Parts:
        key = state.key()
        if key not in known:
            known[key] = seen(state.files)
        return known[key]

    disk, done = _Disk(before), 0
    true_at: dict[int, Parts] = {}
    for point in points(events):
        for event in events[done:point]:
            disk.take(event)
        done = point
        true_at[point] = opened(State(point, disk.all_there()))
    parts = {name: _Part() for shown in true_at.values() for name in shown}
    for point, shown in true_at.items():
        said = point < len(events) and isinstance(events[point], Said)
        for name, part in parts.items():
            part.at(point, shown.get(name, ""), said)
    count, faults = 0, dict[str, list[str]](lost=[], half=[])
    for state in states(before, events, samples, seed, most):
        count += 1
        shown = opened(state)
        for name in parts.keys() | shown.keys():
            found = shown.get(name, "")
            fault = parts[name].fault(state.point, found) if name in parts else "half"
            if fault:
                faults[fault].append(f"{name}, before event {state.point}: {found[:200]}")
    promises = sum(len(set(part.said.values())) for part in parts.values())
    return Found(len(events), len(true_at), count, len(known), promises,
                 tuple(faults["lost"]), tuple(faults["half"]))  # fmt: skip
