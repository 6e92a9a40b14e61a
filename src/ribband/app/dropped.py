"""Forms dropped on a page: files as they come, taken into the job as one revision."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from ribband.app.jobs import Taken, take
from ribband.errors import InputError, Problem

__all__ = ["take_dropped"]

ENDINGS = (".csv", ".xlsx")
MOST_FILES = 40


def take_dropped(path: Path, files: Mapping[str, bytes], who: str, *, replace: bool) -> Taken:
    """Take files of forms into a job; forms they lack, or that are blank, stay as they were.

    Raises
    ------
    InputError : no form among them, one that cannot be read, or any problem found in them
    JobFileError : the job cannot be opened or written
    """
    names = {PurePosixPath(name.replace("\\", "/")).name: body for name, body in files.items()}
    good = {name: body for name, body in names.items() if name.lower().endswith(ENDINGS)}
    if len(good) != len(names) or not 0 < len(good) <= MOST_FILES:
        found = ", ".join(sorted(set(names) - set(good))[:5]) or f"{len(good)} files"
        wanted = f"1 to {MOST_FILES} files of forms, CSV or XLSX"
        raise InputError([Problem("files", 0, "", found[:200], wanted, "girths.csv")])
    with tempfile.TemporaryDirectory(prefix="ribband-") as folder:
        for name, body in good.items():
            Path(folder, name).write_bytes(body)
        only = Path(folder, next(iter(good)))
        source = only if len(good) == 1 else Path(folder)
        return take(path, source, who, "forms from " + ", ".join(sorted(good))[:200],
                    replace=replace)  # fmt: skip
