"""What can go wrong, and whose doing it is.

Three things are kept apart. Wrong input (`InputError`) is the user's to mend and carries every
problem found, not the first. A computation that did not settle (`NotConverged`) is ours. A
question with two good answers (`Ambiguous`) is the shipwright's to decide. A job that *cannot* be
done (no butt layout fits the rules) is none of these: it is a result with ``feasible=False``.

The family tree::

    RibbandError
        InputError (ValueError)      cells, with file, row and column
        NotConverged (ArithmeticError)
        Ambiguous (ValueError)
        JobFileError (OSError)       the job file cannot be opened, read or written
"""

from __future__ import annotations

import errno
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = [
    "Ambiguous", "InputError", "JobFileError", "NotConverged", "Problem", "RibbandError",
    "said_of_system",
]  # fmt: skip


LONGEST = 200  # characters shown of what was found


class RibbandError(Exception):
    """The root of every error Ribband raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with the input, with what the shipwright needs to mend it.

    `row` counts as a spreadsheet does (header = 1; 0 = the whole file), `column` is the heading.
    A `found` or `column` of more than 200 characters is shown by its beginning.

    >>> print(Problem("girths.csv", 4, "girth", "7-13-2", "a length, feet-inches-eighths", "7-3-2"))
    girths.csv, row 4, girth: found '7-13-2'; wanted a length, feet-inches-eighths (e.g. 7-3-2)
    """

    file: str
    row: int
    column: str
    found: str
    wanted: str
    example: str = ""

    def __post_init__(self) -> None:
        """Keep what is shown to a length that can be read."""
        for name in ("found", "column"):
            text = getattr(self, name)
            if len(text) > LONGEST:
                object.__setattr__(self, name, f"{text[:LONGEST]}...")

    def __str__(self) -> str:
        """Say it in one line."""
        at = ", ".join(
            part for part in (self.file, f"row {self.row}" if self.row else "", self.column) if part
        )
        example = f" (e.g. {self.example})" if self.example else ""
        return f"{at}: found {self.found!r}; wanted {self.wanted}{example}"


class InputError(RibbandError, ValueError):
    """Input that cannot be used; `problems` holds all of them.

    >>> InputError([Problem("frames.csv", 2, "position", "", "a length", "2-0-0")]).problems[0].row
    2
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class NotConverged(RibbandError, ArithmeticError):  # noqa: N818 - it names what happened
    """A computation did not settle within its stated limits."""


class Ambiguous(RibbandError, ValueError):  # noqa: N818 - it names what happened
    """Two answers are as good as each other and guessing could cost timber."""


class JobFileError(RibbandError, OSError):
    """The job file cannot be opened, read or written; what is stored is untouched."""


_SAID = {
    errno.EACCES: "it, or its folder, may not be written or read by you",
    errno.EPERM: "it may not be written or read by you",
    errno.EROFS: "the disk may only be read",
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EFBIG: "the file grew larger than it may",
    errno.ENOENT: "there is no such file or folder",
    errno.ENOTDIR: "a part of its name is a file, not a folder",
    errno.EISDIR: "it is a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.EIO: "the disk gave an error, or was taken away",
}


def said_of_system(error: OSError) -> str:
    """Say what the system refused in words a shipwright can act on.

    >>> said_of_system(OSError(errno.ENOSPC, "No space left on device"))
    'the disk is full'
    """
    return _SAID.get(error.errno or 0, error.strerror or str(error))
