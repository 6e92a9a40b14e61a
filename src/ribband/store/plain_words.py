"""What SQLite and the disk say, in words a shipwright can act on, and a look before opening.

Everything raised from here is a `JobFileError` whose text says what is wrong with which file,
that nothing was changed, and, where something can be done about it, what.

A job file is never opened here but by SQLite: by POSIX a process that closes any handle of a file
gives up all its locks on it, also those under which another thread is just writing.

Not checked here: what is in the file.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ribband.errors import JobFileError
from ribband.store.copies import newest_copy

__all__ = ["NoRoom", "NotTheJob", "cut_off", "look_at", "may_be_written", "may_write", "plainly"]


class NotTheJob(JobFileError):  # noqa: N818 - it names what happened
    """The file of that name is gone, damaged, or no job file."""


class NoRoom(JobFileError):  # noqa: N818 - it names what happened
    """The disk is full, or was taken away; nothing was changed."""


def look_at(path: Path, writing: bool) -> None:
    """Say what is wrong before SQLite does.

    Raises
    ------
    NotTheJob : not there, a folder, not a file, or emptied
    JobFileError : not readable, or not writable
    """
    if path.is_dir():
        raise NotTheJob(f"{path} is a folder, not a job file")
    if not path.exists():
        raise NotTheJob(f"there is no job file {path}{_copy_hint(path)}")
    if not path.is_file():
        raise NotTheJob(f"{path} is not a file, so not a job file")
    if not path.stat().st_size and newest_copy(path):
        raise NotTheJob(f"{path} is empty: another program emptied it{_copy_hint(path)}")
    if not os.access(path, os.R_OK):
        raise JobFileError(f"{path} cannot be read: you have no right to")
    if writing:
        may_write(path)


def may_write(path: Path) -> None:
    """Say so if a file or its folder cannot be written.

    Raises
    ------
    JobFileError
    """
    if not os.access(path, os.W_OK):
        raise JobFileError(f"{path} cannot be written: it is read-only; nothing was changed")
    if not os.access(path.resolve().parent, os.W_OK):
        raise JobFileError(
            f"{path} cannot be written: its folder is read-only, and a change is first noted in "
            "a file beside the job; nothing was changed"
        )


def may_be_written(path: Path) -> bool:
    """Tell whether a file and its folder can be written."""
    try:
        may_write(path)
    except JobFileError:
        return False
    return True


def cut_off(path: Path) -> bool:
    """Tell whether a change is being made just now, or was cut off: its journal is there."""
    return path.with_name(path.name + "-journal").exists()


@contextmanager
def plainly(path: Path) -> Iterator[None]:
    """Turn what SQLite says into what a shipwright can act on.

    Raises
    ------
    JobFileError : whatever SQLite raised
    """
    try:
        yield
    except (sqlite3.DataError, OverflowError) as wrong:
        raise JobFileError(f"{path}: too much for one entry ({wrong}); nothing changed") from wrong
    except sqlite3.OperationalError as wrong:
        said = str(wrong)
        kind = NoRoom if "full" in said or "disk I/O" in said else JobFileError
        raise kind(_in_plain_words(path, said)) from wrong
    except UnicodeEncodeError as wrong:
        says = (
            f"{path} takes no half letters ({wrong.object[wrong.start :][:5]!r}); nothing changed"
        )
        raise JobFileError(says) from wrong
    except (sqlite3.DatabaseError, UnicodeDecodeError) as wrong:
        hint = _copy_hint(path)
        if getattr(wrong, "sqlite_errorcode", None) == sqlite3.SQLITE_NOTADB:
            raise NotTheJob(f"{path} is not a job file{hint}") from wrong
        raise NotTheJob(f"{path} is damaged or not a job file ({wrong}){hint}") from wrong
    except MemoryError as wrong:
        raise JobFileError(f"{path} wants more memory than there is; nothing changed") from wrong


def _in_plain_words(path: Path, said: str) -> str:
    if "locked" in said or "busy" in said:
        return f"{path} is in use by another program; nothing was changed, try again"
    if ("readonly" in said or "unable to open" in said) and cut_off(path):
        return (
            f"a change to {path} was cut off, and is taken back when the job is next opened "
            "where it and its folder can be written"
        )
    if "readonly" in said:
        return f"{path} cannot be written; nothing was changed"
    if "full" in said:
        return f"the disk is full; {path} was not changed"
    if "disk I/O" in said:
        return (
            f"the disk gave an error ({said}): it is full, or was taken away; {path} was not "
            "changed, and what was entered before is still there"
        )
    return f"{path} cannot be used ({said}); nothing was changed"


def _copy_hint(path: Path) -> str:
    found = newest_copy(path)
    return f"; the newest copy of it is {found}" if found else ""
