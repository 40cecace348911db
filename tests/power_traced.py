"""What a real program asked of the disk, written down by strace, as events of a power cut.

Nothing stands in for anything: the program is the installed command, its SQLite is its own, and
every write, sync, rename and removal below one folder is taken from the kernel's own door.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

from power_cut import (
    FOLDER,
    Cut,
    Drop,
    Event,
    Files,
    Link,
    Make,
    Put,
    Rename,
    Said,
    Sync,
    SyncFolder,
    look,
    replayed,
)

CALLS = (
    "openat,open,creat,close,lseek,write,pwrite64,writev,pwritev,ftruncate,truncate,fallocate,"
    "fsync,fdatasync,sync_file_range,rename,renameat,renameat2,unlink,unlinkat,link,linkat,"
    "mkdir,mkdirat,rmdir,sendfile,copy_file_range,mmap"
)
"""All ways known to this reader in which a file changes; what it cannot follow it refuses."""

_CALL = re.compile(r"^(\w+)\((.*)\)\s+= (-?\d+|0x[0-9a-f]+)(?:<([^>]*)>)?")
_BYTES = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')


def there() -> bool:
    """Whether this system lets a program be traced."""
    tool = shutil.which("strace")
    return tool is not None and subprocess.run([tool, "true"], capture_output=True).returncode == 0


def traced(
    command: Sequence[str], folder: Path, log: Path, answers: str, env: dict[str, str]
) -> tuple[Files, list[Event]]:
    """Run a command with these answers: the files before, and what it did to them.

    All below `folder` counts, which has to be there. The log is thrown away once it is read.
    """
    before = look(folder)
    done = subprocess.run(
        ["strace", "-f", "-y", "-xx", "-s", "4000000", "-o", str(log), "-e", f"trace={CALLS}",
         *command],
        input=answers, text=True, capture_output=True, env={**os.environ, **env}, check=False,
    )  # fmt: skip
    events = read(log.read_text("ascii"), folder, before)
    log.unlink()
    if done.returncode not in (0, 1):
        raise RuntimeError(f"{command[-1]}: {done.stdout[-300:]} {done.stderr[-600:]}")
    if replayed(before, events) != look(folder):
        raise ValueError("what was written down does not come to what the program left")
    return before, events


def read(log: str, folder: Path, before: Files) -> list[Event]:
    """The events of a log, of what lies below `folder`; names are the paths below it."""
    reader = _Reader(folder.resolve(), before)
    begun: dict[str, str] = {}
    for line in log.splitlines():
        who, _, call = line.partition(" ")
        call = call.strip()
        if call.endswith("<unfinished ...>"):
            begun[who] = call.removesuffix("<unfinished ...>").rstrip()
            continue
        resumed = re.match(r"^<\.\.\. \w+ resumed>(.*)$", call)
        if resumed:  # it counts from when it was over
            call = begun.pop(who) + resumed[1]
        found = _CALL.match(call)
        if found and not found[3].startswith("-"):
            reader.take(found[1], found[2], int(found[3], 0), _text(found[4] or ""))
    return reader.events


def _text(escaped: str) -> str:
    if "\\x" not in escaped:
        return escaped
    return os.fsdecode(_raw(escaped.removesuffix("(deleted)")))


def _raw(escaped: str) -> bytes:
    return bytes.fromhex(escaped.replace("\\x", ""))


class _Reader:
    """Follows which file a name and an open handle stand for, and where a handle writes next."""

    def __init__(self, root: Path, before: Files) -> None:
        self.root = root
        self.events: list[Event] = []
        self.files = {name: -1 - k for k, name in enumerate(sorted(before))}
        self.content = {self.files[name]: bytearray(before[name]) for name in before}
        self.handles: dict[int, int] = {}
        self.at: dict[int, int] = {}
        self.appends: set[int] = set()
        self.made = 0

    def below(self, path: str) -> str | None:
        """A path below the folder, else None."""
        try:
            return Path(path).relative_to(self.root).as_posix()
        except ValueError:
            return None

    def take(self, call: str, words: str, result: int, opened: str) -> None:
        """One call that was done."""
        named = [_text(one) for one, _ in _BYTES.findall(words)]
        at = re.match(r"(?:AT_FDCWD|\d+)<([^>]*)>", words)
        if at and call.endswith("at"):  # a name may be said as seen from an open folder
            named = [os.path.join(_text(at[1]), one) for one in named]
        match call:
            case "openat" | "open" | "creat":
                self._open(call, words, result, opened)
            case "close":
                self.handles.pop(_handle(words), None)
            case "mmap":
                if "PROT_WRITE" in words and "MAP_SHARED" in words and self._path(words):
                    raise ValueError("what is written through memory is not followed")
            case "rename" | "renameat" | "renameat2" | "link" | "linkat":
                self._renamed(call, *named)
            case "unlink" | "unlinkat":
                name = None if "AT_REMOVEDIR" in words else self._own(named[0])
                if name is not None:
                    self.files.pop(name, None)
                    self.events.append(Drop(name))
            case "mkdir" | "mkdirat":
                name = self._own(named[0])
                if name is not None:
                    self.events.append(Make(f"{name}/", FOLDER))
            case "rmdir":
                pass  # what was in it went before
            case _:
                self._handled(call, words, result)

    def _open(self, call: str, words: str, handle: int, opened: str) -> None:
        name = self.below(opened)
        self.handles.pop(handle, None)
        self.appends.discard(handle)
        if name is None or name == "." or "O_DIRECTORY" in words:
            return
        if name not in self.files:
            if "O_CREAT" not in words and call != "creat":
                if "O_RDONLY" in words:  # a folder
                    return
                raise ValueError(f"{name} was opened, and nobody made it")
            self.made += 1
            self.files[name] = self.made
            self.content[self.files[name]] = bytearray()
            self.events.append(Make(name, self.files[name]))
        file = self.files[name]
        self.handles[handle], self.at[handle] = file, 0
        if "O_APPEND" in words:
            self.appends.add(handle)
        if "O_TRUNC" in words or call == "creat":
            self._cut(file, 0)

    def _renamed(self, call: str, old: str, new: str) -> None:
        was, now = self._own(old), self._own(new)
        if was is None and now is None:
            return
        if was is None or now is None:
            raise ValueError("what is moved into the folder or out of it is not followed")
        if call.startswith("link"):
            self.files[now] = self.files[was]
            self.events.append(Link(was, now))
        else:
            if was in self.files:
                self.files[now] = self.files.pop(was)
            for name in [one for one in self.files if one.startswith(f"{was}/")]:
                self.files[now + name[len(was) :]] = self.files.pop(name)
            self.events.append(Rename(was, now))

    def _own(self, path: str) -> str | None:
        if not path.startswith("/"):
            raise ValueError(f"{path}: a name that does not begin at the root is not followed")
        return self.below(path)

    def _path(self, words: str) -> str | None:
        """The path, below the folder, of the first handle that a call names."""
        found = re.search(r"\d+<([^>]*)>", words)
        return self.below(_text(found[1])) if found else None

    def _handled(self, call: str, words: str, result: int) -> None:
        """A call on what is open."""
        handle = _handle(words)
        if call in ("fsync", "fdatasync") and self._path(words) and handle not in self.handles:
            self.events.append(SyncFolder(self._path(words) or "."))
            return
        if handle in (1, 2) and call in ("write", "writev") and handle not in self.handles:
            said = b"".join(_raw(one) for one, _ in _BYTES.findall(words)).decode(
                "utf-8", "replace"
            )
            last = self.events[-1] if self.events else None
            if isinstance(last, Said):
                self.events.pop()
                said = last.words + said
            self.events.append(Said(said))
            return
        if handle not in self.handles:
            return
        file, numbers = self.handles[handle], [int(n) for n in re.findall(r"\b\d+\b", words)]
        data = b"".join(_raw(one) for one, _ in _BYTES.findall(words))[:result]
        match call:
            case "fsync" | "fdatasync":
                self.events.append(Sync(file))
            case "lseek":
                self.at[handle] = result
            case "pwrite64":
                self._put(file, numbers[-1], data)
            case "write" | "writev":
                start = len(self.content[file]) if handle in self.appends else self.at[handle]
                self._put(file, start, data)
                self.at[handle] = start + len(data)
            case "ftruncate":
                self._cut(file, numbers[-1])
            case "sendfile":
                copied = self._read(words, result)
                self._put(file, self.at[handle], copied)
                self.at[handle] += len(copied)
            case _:
                raise ValueError(f"{call} on a file of the folder is not followed")

    def _read(self, words: str, count: int) -> bytes:
        """What `sendfile(out, in, [at], ...)` took from the second handle it names."""
        source = re.findall(r"(\d+)<([^>]*)>", words)[1]
        start = int(re.findall(r"\[(\d+)", words)[0]) if "[" in words else 0
        file = self.handles.get(int(source[0]))
        held = (
            bytes(self.content[file]) if file is not None else Path(_text(source[1])).read_bytes()
        )
        return held[start : start + count]

    def _put(self, file: int, at: int, data: bytes) -> None:
        held = self.content[file]
        if at > len(held):
            held += bytes(at - len(held))
        held[at : at + len(data)] = data
        self.events.append(Put(file, at, data))

    def _cut(self, file: int, size: int) -> None:
        held = self.content[file]
        if size != len(held):
            self.content[file] = held[:size] + bytes(max(0, size - len(held)))
            self.events.append(Cut(file, size))


def _handle(words: str) -> int:
    """The number of the handle that a call names first; -1 where it names none."""
    found = re.match(r"(\d+)", words)
    return int(found[1]) if found else -1
