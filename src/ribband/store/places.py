"""Where a job lies, and what of that can harm it: a share, a synced folder, a full disk.

*Share*: a folder of another machine. A rollback journal works there as far as the share keeps
locks, which not all do; where it is mounted so that it keeps none, that is said. *Synced folder*: a
program that mirrors a folder between machines copies the file while it is written, and where two
machines changed it, puts a second file beside it with "conflict" in its name: then two histories
exist and a person has to choose.

Not checked here: whether a share that is to keep locks does. It cannot be told from this side; what
a second program did to a file is noticed after it was done, see `ribband.store.watch`.
"""

from __future__ import annotations

import re
import shutil
import sys
from contextlib import suppress
from pathlib import Path

__all__ = ["conflicts_of", "lies_on_share", "said_of_place"]

SHARES = {
    "nfs", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "ncpfs", "afs", "coda", "davfs",
    "fuse.sshfs", "fuse.davfs", "fuse.davfs2", "fuse.smbnetfs", "fuse.curlftpfs", "fuse.rclone",
    "webdav", "afpfs",
}  # fmt: skip
LOCKLESS = {"nolock", "nobrl", "local_lock=all", "local_lock=posix"}  # as a share is mounted
LITTLE_BYTES = 50_000_000
_REMOTE = 4  # DRIVE_REMOTE, as the Windows call says it


def said_of_place(path: Path, *, beside: bool = False) -> tuple[str, ...]:
    """Say what about the place of a job should be known; empty where nothing should.

    `beside` asks only for files that look like another state of it.

    >>> said_of_place(Path("nowhere/heron.ribband"))
    ()
    """
    return _second_state(path) if beside else (*_share(path), *_second_state(path), *_room(path))


def _share(path: Path) -> tuple[str, ...]:
    kind = lies_on_share(path)
    if not kind:
        return ()
    says = (
        f"It lies on a share ({kind}). One program at a time is safe there; two are only if "
        "the share keeps locks. Work on a file of this machine and copy it there if in doubt."
    )
    if not (lockless := _lockless(path)):
        return (says,)
    never = (
        f"The share is mounted so that it keeps no locks ({lockless}): never have two programs at "
        "this job, on this machine or another."
    )
    return says, never


def _second_state(path: Path) -> tuple[str, ...]:
    others = conflicts_of(path)
    if not others:
        return ()
    says = (
        f"Beside it lies {', '.join(own.name for own in others)}: another state of this job, "
        "made where a synced folder or a copy put one file in place of another. Look at both "
        "(ribband history), keep one, move the other away."
    )
    return (says,)


def _room(path: Path) -> tuple[str, ...]:
    with suppress(OSError):
        free = shutil.disk_usage(path.resolve().parent).free
        if free < LITTLE_BYTES:
            return (f"Only {free / 1e6:.0f} MB are left on its disk.",)
    return ()


def conflicts_of(path: Path) -> tuple[Path, ...]:
    """Find files beside a job that look like a second state of it: made by syncing, or kept aside.

    What is kept aside by a server under which the file was replaced is called "... kept" and when.
    """
    stem = re.escape(path.stem)
    looks = re.compile(
        rf"{stem}[^\w].*(conflict|kollision|conflit).*|{stem} ?\(\d+\)"
        rf"|{stem} kept \d{{4}}-\d\d-\d\d \d{{6}}",
        re.I,
    )
    found: list[Path] = []
    with suppress(OSError):
        found = [
            own
            for own in path.parent.iterdir()
            if own.suffix == path.suffix and own != path and looks.fullmatch(own.stem)
        ]
    return tuple(sorted(found))


def lies_on_share(path: Path) -> str:
    """Name the kind of share a file lies on; "" for a disk of this machine, or where untold.

    >>> lies_on_share(Path("/"))
    ''
    """
    if sys.platform == "win32":
        return _share_of_windows(path.resolve())
    with suppress(OSError):
        mounts = _mounts(Path("/proc/self/mounts").read_text("utf-8", "replace"))
        kind = _kind_of(path.resolve(), mounts)
        return kind if kind in SHARES else ""
    return ""


def _mounts(text: str, what: int = 2) -> dict[Path, str]:
    r"""Read the table of mounts: folder and kind of each, or another of its words.

    >>> _mounts("yard:/jobs /mnt/the\\040yard nfs4 rw 0 0")[Path("/mnt/the yard")]
    'nfs4'
    """
    lines = (line.split() for line in text.splitlines())
    octal = re.compile(r"\\([0-7]{3})")
    return {
        Path(octal.sub(lambda m: chr(int(m[1], 8)), words[1])): words[what]
        for words in lines
        if len(words) > what
    }


def _lockless(path: Path) -> str:
    """Give the word by which the share of a file is mounted without locks, or ""."""
    with suppress(OSError):
        text = Path("/proc/self/mounts").read_text("utf-8", "replace")
        words = _kind_of(path.resolve(), _mounts(text, 3)).split(",")
        return next((word for word in words if word in LOCKLESS), "")
    return ""


def _kind_of(path: Path, mounts: dict[Path, str]) -> str:
    for folder in (path, *path.parents):
        if folder in mounts:
            return mounts[folder]
    return ""


def _share_of_windows(path: Path) -> str:
    if path.drive.startswith("\\\\"):
        return "a network share"
    import ctypes  # noqa: PLC0415 - there only

    calls = getattr(ctypes, "windll", None)
    kind = calls.kernel32.GetDriveTypeW(f"{path.drive}\\") if calls else 0
    return "a network drive" if kind == _REMOTE else ""
