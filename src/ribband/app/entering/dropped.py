"""Forms dropped on a page: files as they come, taken into the job as one revision."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from ribband.app.entering.jobs import Taken, take
from ribband.errors import InputError, Problem
from ribband.survey.decimals import Decimal

__all__ = ["take_dropped"]

ENDINGS = (".csv", ".xlsx")
MOST_FILES = 40
LONGEST = 100  # characters of a name
RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{own}{n}" for own in ("COM", "LPT") for n in range(10))}


def take_dropped(
    path: Path, files: Mapping[str, bytes], who: str, *, replace: bool, decimal: Decimal = "point"
) -> Taken:
    """Take files of forms into a job; forms they lack, or that are blank, stay as they were.

    Raises
    ------
    InputError : no form among them, one that cannot be read, or any problem found in them
    JobFileError : the job cannot be opened or written
    """
    good = {_name_of(name): body for name, body in files.items()}
    if len({name.casefold() for name in good}) != len(files):
        twice = ", ".join(sorted(good))[:200]
        raise InputError([Problem("files", 0, "", twice, "one file of each name", "girths.csv")])
    if not 0 < len(good) <= MOST_FILES:
        raise InputError([_unwanted(f"{len(good)} files")])
    with tempfile.TemporaryDirectory(prefix="ribband-") as folder:
        for name, body in good.items():
            Path(folder, name).write_bytes(body)
        only = Path(folder, next(iter(good)))
        source = only if len(good) == 1 else Path(folder)
        return take(path, source, who, "forms from " + ", ".join(sorted(good))[:200],
                    replace=replace, decimal=decimal)  # fmt: skip


def _name_of(name: str) -> str:
    r"""Give the name of a file without the folders it came with, if it is one a form may have.

    >>> _name_of("forms/girths.csv"), _name_of("C:\\\\forms\\\\girths.csv")
    ('girths.csv', 'girths.csv')
    """
    own = PurePosixPath(name.replace("\\", "/")).name
    strange = set(own) & set(':*?"<>|') or not own.isprintable()
    stem = own.partition(".")[0].strip().upper()
    if strange or stem in RESERVED or len(own) > LONGEST or not own.lower().endswith(ENDINGS):
        raise InputError([_unwanted(own)])
    return own


def _unwanted(found: str) -> Problem:
    return Problem("files", 0, "", found, f"1 to {MOST_FILES} files of forms, CSV or XLSX",
                   "girths.csv")  # fmt: skip
