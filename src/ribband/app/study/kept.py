"""The study file: what came of every alternative, kept as it comes.

A text file beside the job, one line of JSON an outcome, known by the key of its task. A line is
on the disk before it is counted as done. If the program is ended in the middle of a line, that
line is left out when the file is read and nothing else is lost; the next line begins anew.

A file that is there and is no study's is never written to.
"""

from __future__ import annotations

import os
from pathlib import Path

from ribband.app.study.work import Outcome, outcome_from
from ribband.errors import JobFileError

__all__ = ["StudyFile", "study_path"]

ENDING = ".study.jsonl"
MOST_BYTES = 64_000_000
BEGINS = '{"key": '  # every line, also the first one of a file that was torn in it


def study_path(job: Path) -> Path:
    """Give the study file of a job.

    >>> study_path(Path("heron.ribband")).name
    'heron.study.jsonl'
    """
    return job.with_name(job.stem + ENDING)


class StudyFile:
    """The outcomes kept so far, and keeping one more.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     StudyFile(Path(folder) / "a.study.jsonl").keep(Outcome("k", "a", (), "planned"))
    ...     list(StudyFile(Path(folder) / "a.study.jsonl").outcomes)
    ['k']
    """

    def __init__(self, path: Path) -> None:
        """Read what is there.

        Raises
        ------
        JobFileError : the file cannot be read, is too large, or is another program's
        """
        self.path = path
        self.outcomes: dict[str, Outcome] = {}
        lines = self._lines()
        if lines and not BEGINS.startswith(lines[0][: len(BEGINS)]):
            says = f"{path} is no study file, and is left as it is; say --keep FILE for another"
            raise JobFileError(says)
        for line in lines:
            if line.strip() and (found := outcome_from(line)) is not None:
                self.outcomes[found.key] = found

    def keep(self, outcome: Outcome) -> None:
        """Keep an outcome; it is on the disk when this returns.

        Raises
        ------
        JobFileError : the file cannot be written
        """
        line = outcome.line().encode() + b"\n"
        try:
            with self.path.open("ab+") as file:
                if file.tell() and not self._ends_whole():
                    line = b"\n" + line
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as wrong:
            says = f"{self.path} cannot be written: {wrong.strerror}; say --keep FILE for another"
            raise JobFileError(says) from wrong
        self.outcomes[outcome.key] = outcome

    def _ends_whole(self) -> bool:
        with self.path.open("rb") as file:
            file.seek(-1, os.SEEK_END)
            return file.read(1) == b"\n"

    def _lines(self) -> list[str]:
        try:
            if not self.path.exists():
                return []
            if self.path.stat().st_size > MOST_BYTES:
                raise JobFileError(f"{self.path} is over 64 MB; begin another with --keep FILE")
            return self.path.read_text("utf-8", errors="replace").splitlines()
        except OSError as wrong:
            raise JobFileError(f"{self.path} cannot be read: {wrong.strerror}") from wrong
