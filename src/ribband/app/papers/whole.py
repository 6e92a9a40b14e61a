"""Writing what a yard takes away so that it is there whole, or not at all.

A file is written aside, under a hidden name in the same folder, and takes its name only when all
of it is on the disk. A new folder is filled aside and takes its name at the end. Into a folder
that is there already the files go one by one, each whole. Those of an earlier time that are not
written any more are taken away first, and so is the last of those that are: where it is missing,
the folder is not of one piece (of tables it is ``summary.json``). Whatever else lies there stays.

What was cut off leaves a hidden file or folder that ends in ``.part``; the next writing of the
same thing takes it away when it is an hour old.

A file is on the disk when it takes its name. Of a folder's files that is left to the system: a
power cut in the seconds after may leave some of them empty, and they are written again by the same
command.

Not checked here: what is written.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ribband.errors import RibbandError

__all__ = ["into_file", "into_folder"]

STALE_SECONDS = 3600.0


def into_file(path: Path, write: Callable[[Path], object]) -> Path:
    """Write one file whole; `write` is given the path to write to, with the same ending.

    Raises
    ------
    OSError : it cannot be written; what was there before is still there

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as d:
    ...     into_file(Path(d) / "a.txt", lambda p: p.write_text("whole")).read_text()
    'whole'
    """
    with _named(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        _tidy(path.parent, path.name)
        part = _aside(path)
        try:
            write(part)
            _on_disk(part)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
        _on_disk(path.parent)
    return path


def into_folder(
    folder: Path, write: Callable[[Path], Iterable[Path]], ours: Iterable[str] = ()
) -> tuple[Path, ...]:
    """Write files into a folder whole; `write` is given a folder to fill and gives what it wrote.

    `ours` names files, from the folder, that are taken away where they are not written this time.

    Raises
    ------
    OSError : they cannot be written
    """
    with _named(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
        _tidy(folder.parent, folder.name)
        part = _aside(folder)
        part.mkdir()
        try:
            names = [path.relative_to(part) for path in write(part)]
            _moved(part, folder, names, ours)
        finally:
            shutil.rmtree(part, ignore_errors=True)
    return tuple(folder / name for name in names)


@contextmanager
def _named(path: Path) -> Iterator[None]:
    """Name what was to be written where the system refuses, not what was written aside."""
    try:
        yield
    except RibbandError:
        raise
    except OSError as wrong:
        own = wrong.filename is None or ".part" in str(wrong.filename)
        if wrong.errno is None or not own:
            raise
        raise OSError(wrong.errno, wrong.strerror, str(path)) from wrong


def _moved(part: Path, folder: Path, names: list[Path], ours: Iterable[str]) -> None:
    if not folder.exists():
        with suppress(OSError):  # where another made it meanwhile
            part.rename(folder)
            _on_disk(folder.parent)
            return
    last = [names[-1].as_posix()] if names else []
    for gone in (set(ours) - {name.as_posix() for name in names}).union(last):
        folder.joinpath(gone).unlink(missing_ok=True)
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (part / name).replace(folder / name)
    _on_disk(folder)


def _aside(path: Path) -> Path:
    """Give a hidden name beside a path, with its ending, that nobody else uses."""
    return path.with_name(f".{path.stem}.{os.getpid()}-{time.monotonic_ns()}.part{path.suffix}")


def _on_disk(path: Path) -> None:
    """Have the disk keep a file, or the names in a folder, where the system can be asked that."""
    try:
        own = os.open(path, os.O_RDONLY)
    except OSError:
        return  # a folder, on a system that opens none
    try:
        os.fsync(own)
    except OSError:
        if not path.is_dir():
            raise
    finally:
        os.close(own)


def _tidy(folder: Path, name: str) -> None:
    """Take away what an earlier writing of the same name left when it was cut off."""
    stem = Path(name).stem
    with suppress(OSError):
        for left in folder.glob("." + _plain(stem) + ".*-*.part*"):
            if time.time() - left.stat().st_mtime > STALE_SECONDS:
                if left.is_dir():
                    shutil.rmtree(left, ignore_errors=True)
                else:
                    left.unlink(missing_ok=True)


def _plain(text: str) -> str:
    return "".join(f"[{c}]" if c in "*?[" else c for c in text)
