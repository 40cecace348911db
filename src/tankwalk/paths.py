"""The one door for places on disk: the site in use, this laptop's own data, its station key."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable
from pathlib import Path

from tankwalk.errors import Refusal

PLAN = "plan.toml"


def home(environ: dict[str, str]) -> Path:
    """This program's own folder on this laptop (TANKWALK_HOME overrides it).

    Refusal where the user has no home and TANKWALK_HOME is not set.
    """
    if environ.get("TANKWALK_HOME"):
        return Path(environ["TANKWALK_HOME"])
    from platformdirs import user_data_path

    try:
        return user_data_path("tankwalk", appauthor=False)
    except RuntimeError as fault:  # neither HOME nor an entry for this user
        raise Refusal(
            "This user has no home folder here: nothing was opened. Name a folder for the "
            "program's own with TANKWALK_HOME=DIR, and the site with --site DIR."
        ) from fault


def words(environ: dict[str, str]) -> Path:
    """Where this laptop keeps lists of words of records: made anew at any time, so never a copy."""
    return home(environ) / "words"


def seals(environ: dict[str, str], folder: Path) -> Path:
    """Where this laptop keeps what it knows of the record in a site's folder: a line a seal."""
    from tankwalk.sums import sha256

    place = str(folder.resolve())
    name = re.sub(r"[^0-9A-Za-z]+", "-", folder.resolve().name)[:40]
    key = sha256(place.encode("utf-8", "surrogatepass")).hexdigest()[:12]
    return home(environ) / "seals" / f"{name}-{key}.txt"


def environment() -> dict[str, str]:
    """The process environment, read here and handed on."""
    return dict(os.environ)


def station(environ: dict[str, str], new_key: Callable[[], str]) -> tuple[str, str]:
    """This laptop's station key and name, made once and kept in `home`.

    A key belongs to the laptop and not to the site, so that a copied site does not bring the
    other laptop's key along. Where `home` cannot be written, Refusal.
    """
    file = home(environ) / "station.json"
    found = _kept_station(file)
    if found is not None:
        return found
    import socket

    made = new_key(), socket.gethostname() or "laptop"
    try:
        make_folder(file.parent)
        _write_station(file, json.dumps(dict(zip(("key", "name"), made, strict=True))))
    except OSError as fault:
        raise Refusal(
            f"This laptop's own folder {file.parent} cannot be written ({fault.strerror}): nothing "
            "was changed. Set TANKWALK_HOME to a folder that can."
        ) from fault
    # Another program that started at the same moment may have made the key first: one laptop has
    # one key, so the one that stands on disk is taken.
    return _kept_station(file) or made


def _kept_station(file: Path) -> tuple[str, str] | None:
    """The key and name kept in `file`, or None where it holds none."""
    try:
        kept = json.loads(file.read_text("utf-8"))
        return str(kept["key"]), str(kept["name"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _write_station(file: Path, text: str) -> None:
    """Put `text` whole into `file`, once: of several programs at one moment the first one's stays.

    A file that is there but holds no key (it was damaged) is replaced. OSError where it cannot be
    written.
    """
    import tempfile

    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f"{file.stem}-", suffix=".partial")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        try:
            os.link(part, file)
        except FileExistsError:
            if _kept_station(file) is None:
                part.replace(file)
        except OSError:  # a disk without links: the last program's key stays
            part.replace(file)
    finally:
        part.unlink(missing_ok=True)
    sync_folder(file.parent)


def last_site(environ: dict[str, str]) -> Path | None:
    """The folder of TANKWALK_SITE, else of the site used last; None where none was chosen yet."""
    chosen = environ.get("TANKWALK_SITE")
    if not chosen:
        try:
            chosen = (home(environ) / "last-site").read_text("utf-8").strip()
        except (OSError, UnicodeDecodeError):
            chosen = ""
    return Path(chosen) if chosen else None


def choose_site(given: str | None, environ: dict[str, str]) -> Path:
    """The site folder: the one given, else TANKWALK_SITE, else the last one used."""
    last = Path(given) if given else last_site(environ)
    if last is None:
        raise Refusal(
            "No site is chosen yet. Try the demo with: tankwalk demo; or start your own with: "
            "tankwalk start DIR"
        )
    folder, chosen = last, str(last)
    try:
        there = (folder / PLAN).exists()
    except OSError as fault:
        raise Refusal(
            f"{chosen[:80]} cannot be opened ({fault.strerror}): nothing was changed. "
            "Name the site's folder with: --site DIR"
        ) from fault
    if not there:
        raise Refusal(
            f"There is no {PLAN} in {folder}. Start a site with: tankwalk start {folder}; or put a "
            f"backup back with: tankwalk restore FOLDER --to {folder}"
        )
    return folder


def remember_site(folder: Path, environ: dict[str, str]) -> None:
    """Make `folder` the one opened next time; not being able to is no fault."""
    try:
        make_folder(home(environ))
        put_whole(home(environ) / "last-site", str(folder.resolve()).encode())
    except OSError:
        pass


def local_zone(environ: dict[str, str]) -> str:
    """Name of this laptop's time zone where the system tells it, else UTC."""
    if environ.get("TZ") and "/" in environ["TZ"]:
        return environ["TZ"].lstrip(":")
    for file in ("/etc/localtime", "/private/etc/localtime"):
        found = os.path.realpath(file).partition("zoneinfo/")[2]
        if found:
            return found
    return "UTC"


_SYNCED = r"(?i)onedrive|dropbox|google ?drive|icloud|nextcloud|syncthing|box sync"
_NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "9p", "afs", "ncpfs"}


def shared_folder(folder: Path) -> str | None:
    """A warning when a path looks like a network share or a synced folder, else None."""
    path = str(folder.resolve())
    if re.search(_SYNCED, path):
        kind = "a synced folder"
    elif path.startswith("\\\\") or _mount_type(path) in _NETWORK:
        kind = "a network share"
    else:
        return None
    return (
        f"{path} looks like {kind}: a record there can be damaged when two machines write. "
        "Keep the site on this laptop's own disk, and copy backups there instead."
    )


def _mount_type(path: str) -> str | None:
    """File system type of the mount that holds `path`, where the system tells (Linux)."""
    try:
        mounts = Path("/proc/mounts").read_text("utf-8").splitlines()
    except OSError:
        return None
    best, found = "", None
    for line in mounts:
        fields = line.split(" ")
        if len(fields) > 2:
            point = fields[1].replace("\\040", " ")
            inside = path == point or path.startswith(point.rstrip("/") + "/")
            if inside and len(point) >= len(best):
                best, found = point, fields[2]
    return found


def put_whole(file: Path, content: bytes) -> None:
    """Put bytes in place of a file, whole or not at all, and on the disk when this returns.

    OSError where the disk takes them not.
    """
    part = file.with_name(f"{file.name}.partial")
    try:
        with part.open("wb") as handle:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
        part.replace(file)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    sync_folder(file.parent)


def make_folder(folder: Path) -> None:
    """Have a folder there, with those above it, on the disk when this returns; OSError if not."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    for one in reversed(missing):
        sync_folder(one.parent)


def sync_folder(folder: Path) -> None:
    """Have the names of a folder on the disk: a file that was synced may yet lack its own.

    Nothing where the system keeps no folders open (Windows), or the disk takes no such wish.
    """
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)
