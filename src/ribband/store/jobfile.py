"""The job file: one SQLite file a vessel, whole and readable by any SQLite tool.

*Inputs* are revisions that are only ever added; *results* are kept under the hash of what they
came from and may be made again at any time. One writer at a time: a change waits for another
writer up to `WAIT_SECONDS`, then gives up with plain words. A change is acknowledged only when
the disk has it (a rollback journal and full synchronisation: slower than a write-ahead log, but
the vessel stays one file that can be copied, mailed and kept on a share).

Not checked on opening: the whole file. `verify` does that.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

from ribband.errors import JobFileError
from ribband.store.forms import body_of, form_of, hash_of, sense_of
from ribband.store.migrations import APPLICATION_ID, MIGRATIONS, bring_forward
from ribband.store.record_format import Packed, pack, unpack
from ribband.store.revisions import Revision, redo_to, undo_to
from ribband.survey.rows import Form

__all__ = ["JobFile", "KeptResult", "Overtaken", "verify"]

WAIT_SECONDS = 10.0
HEADER = b"SQLite format 3\0"


@dataclass(frozen=True, slots=True)
class KeptResult:
    """A result in the file, without its body."""

    key: str
    stage: str
    revision: int
    at: str
    version: str
    seconds: float


class Overtaken(JobFileError):  # noqa: N818 - it names what happened
    """Another hand made a revision since the one a change was made upon; nothing was changed."""


class JobFile:
    """An open job file; use it in a ``with`` block.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder, JobFile.create(Path(folder) / "a.ribband") as job:
    ...     len(job.history())
    0
    """

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path = path
        self._db = db

    @classmethod
    def create(cls, path: Path) -> Self:
        """Make a new, empty job file.

        Raises
        ------
        JobFileError : something is there already, or the folder cannot be written
        """
        try:
            path.touch(exist_ok=False)
        except FileExistsError as there:
            raise JobFileError(f"{path} is there already; give the job another name") from there
        except OSError as wrong:
            raise JobFileError(f"{path} cannot be made: {wrong.strerror}") from wrong
        return cls._opened(path, "rw")

    @classmethod
    def open(cls, path: Path, *, writing: bool = False) -> Self:
        """Open a job file, read-only unless `writing`.

        Raises
        ------
        JobFileError : no such file, not a job file, from a newer version, or not writable
        """
        _look_at(path, writing)
        if not writing and path.with_name(path.name + "-journal").exists():
            _mend_apart(path)
        return cls._opened(path, "rw" if writing else "ro")

    @classmethod
    def _opened(cls, path: Path, how: str) -> Self:
        with _plainly(path):
            db = sqlite3.connect(
                f"{path.resolve().as_uri()}?mode={how}",
                uri=True,
                timeout=WAIT_SECONDS,
                isolation_level=None,
            )
            try:
                _prepare(db, path, how)
            except BaseException:
                db.close()
                raise
        return cls(path, db)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; safe to call twice."""
        self._db.close()

    # ---- inputs

    def history(self) -> tuple[Revision, ...]:
        """List every revision, oldest first."""
        with _plainly(self.path):
            rows = self._db.execute(
                "SELECT number, parent, kind, at, who, why FROM revision ORDER BY number"
            ).fetchall()
        return tuple(Revision(*row) for row in rows)

    def forms(self, revision: int | None = None) -> dict[str, Form]:
        """Give the forms of a revision, the newest by default; empty for an empty job."""
        return {name: form_of(body) for name, (_, body) in self._bodies(revision).items()}

    def form_hashes(self, revision: int | None = None) -> dict[str, str]:
        """Give the hash of each form of a revision, the newest by default."""
        return {name: key for name, (key, _) in self._bodies(revision).items()}

    def newest(self) -> int:
        """Give the number of the newest revision, 0 for an empty job."""
        with _plainly(self.path):
            return self._newest() or 0

    def add_revision(
        self, forms: Mapping[str, Form], who: str, why: str, *, upon: int | None = None,
        mark: str = "",
    ) -> Revision | None:  # fmt: skip
        """Add the forms as a new revision; None, and no change, if they say nothing new.

        A form whose sense is unchanged keeps the text and cells it had. `upon` is the revision
        the forms were made from; `mark` is what `marked` finds the revision by.

        Raises
        ------
        Overtaken : `upon` is not the newest any more
        """
        bodies = {name: body_of(form) for name, form in forms.items()}
        with self._writing():
            self._not_overtaken(upon)
            before = self._bodies(None)
            kept = {name: form_of(body) for name, (_, body) in before.items()}
            for name, form in forms.items():
                if name in kept and sense_of(kept[name]) == sense_of(form):
                    bodies[name] = before[name][1]
            if bodies == {name: body for name, (_, body) in before.items()}:
                return None
            return self._add("new", self._newest(), bodies, who, why, mark=mark)

    def marked(self, mark: str) -> Revision | None:
        """Find the revision that was made under a mark; None if none was."""
        with _plainly(self.path):
            row = self._db.execute(
                """SELECT number, parent, kind, at, who, why FROM revision
                JOIN change ON change.revision = revision.number WHERE mark = ?""",
                (mark,),
            ).fetchone()
        return Revision(*row) if row else None

    def undo(self, who: str, *, upon: int | None = None, mark: str = "") -> Revision | None:
        """Add a revision that says what the one before the present one said; None at the first."""
        return self._step("undo", who, upon, mark)

    def redo(self, who: str, *, upon: int | None = None, mark: str = "") -> Revision | None:
        """Add a revision that brings back what was undone; None where nothing was."""
        return self._step("redo", who, upon, mark)

    def _step(
        self, kind: Literal["undo", "redo"], who: str, upon: int | None, mark: str
    ) -> Revision | None:
        with self._writing():
            self._not_overtaken(upon)
            history = self.history()
            target = undo_to(history) if kind == "undo" else redo_to(history)
            if target is None:
                return None
            bodies = {name: body for name, (_, body) in self._bodies(target).items()}
            return self._add(kind, target, bodies, who, f"as revision {target}", mark=mark)

    def _not_overtaken(self, upon: int | None) -> None:
        if upon is not None and upon != (self._newest() or 0):
            raise Overtaken(f"{self.path} was changed by another hand; nothing was changed")

    def _newest(self) -> int | None:
        number = self._db.execute("SELECT max(number) FROM revision").fetchone()[0]
        return None if number is None else int(number)

    def _bodies(self, revision: int | None) -> dict[str, tuple[str, str]]:
        with _plainly(self.path):
            number = self._newest() if revision is None else revision
            rows = self._db.execute(
                """SELECT revision_form.name, form.hash, form.body
                FROM revision_form JOIN form ON form.hash = revision_form.form
                WHERE revision_form.revision = ? ORDER BY revision_form.name""",
                (number,),
            ).fetchall()
        return {name: (key, body) for name, key, body in rows}

    def _add(
        self,
        kind: Literal["new", "undo", "redo"],
        parent: int | None,
        bodies: Mapping[str, str],
        who: str,
        why: str,
        *,
        mark: str = "",
    ) -> Revision:
        revision = Revision((self._newest() or 0) + 1, parent, kind, _now(), who, why)
        self._db.execute(
            "INSERT INTO revision VALUES (?, ?, ?, ?, ?, ?)",
            (revision.number, parent, kind, revision.at, who, why),
        )
        for name, body in bodies.items():
            key = hash_of(body)
            self._db.execute("INSERT OR IGNORE INTO form VALUES (?, ?)", (key, body))
            self._db.execute(
                "INSERT INTO revision_form VALUES (?, ?, ?)", (revision.number, name, key)
            )
        if mark:
            self._db.execute("INSERT INTO change VALUES (?, ?)", (mark, revision.number))
        return revision

    # ---- results

    def keep(self, key: str, stage: str, record: object, version: str, seconds: float) -> None:
        """Keep a result under the hash of what it came from, in place of any of the same key."""
        packed = pack(record)
        with self._writing():
            self._db.execute(
                "INSERT OR REPLACE INTO result VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    *(key, stage, self._newest(), _now(), version, seconds),
                    *(packed.words, packed.arrays, packed.digest),
                ),
            )

    def forget(self, keys: Sequence[str]) -> None:
        """Keep what is under `keys` no longer."""
        with self._writing():
            self._db.executemany("DELETE FROM result WHERE key = ?", [(key,) for key in keys])

    def kept(self, key: str) -> Any | None:
        """Give the result kept under `key`, or None if there is none or it cannot be read."""
        with _plainly(self.path):
            row = self._db.execute(
                "SELECT words, arrays, digest FROM result WHERE key = ?", (key,)
            ).fetchone()
        if row is None:
            return None
        packed = Packed(row[0], row[1])
        try:
            return unpack(packed) if packed.digest == row[2] else None
        except ValueError:  # written by an older version of that stage: it is made again
            return None

    def results(self) -> tuple[KeptResult, ...]:
        """List what is kept, newest first."""
        with _plainly(self.path):
            rows = self._db.execute(
                """SELECT key, stage, revision, at, version, seconds
                FROM result ORDER BY at DESC, rowid DESC"""
            ).fetchall()
        return tuple(KeptResult(*row) for row in rows)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with _plainly(self.path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                self._db.execute("ROLLBACK")
                raise
            self._db.execute("COMMIT")


def verify(path: Path) -> tuple[str, ...]:
    """Check the whole file; an empty tuple means sound, else one line a trouble.

    Looks at SQLite's own structure, at links between tables, at the hash of every form and the
    digest of every result, and that revisions run without a gap.
    """
    with JobFile.open(path) as job, _plainly(path):
        db = job._db
        structure = [row[0] for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
        loose = db.execute("PRAGMA foreign_key_check")
        links = [f"a line of {row[0]} points at nothing" for row in loose]
        return (*structure, *links, *_wrong_hashes(db), *_gaps(job.history()))


def _wrong_hashes(db: sqlite3.Connection) -> Iterator[str]:
    for key, body in db.execute("SELECT hash, body FROM form"):
        if hash_of(body) != key:
            yield f"form {key[:12]} is not what was entered"
    for key, stage, words, arrays, digest in db.execute(
        "SELECT key, stage, words, arrays, digest FROM result"
    ):
        if Packed(words, arrays).digest != digest:
            yield f"result {key[:12]} of {stage} is damaged; it will be made again"


def _gaps(history: tuple[Revision, ...]) -> Iterator[str]:
    for expected, revision in enumerate(history, 1):
        if revision.number != expected:
            yield f"revision {expected} is missing"
            return


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _look_at(path: Path, writing: bool) -> None:
    """Say what is wrong before SQLite does, in the user's words."""
    if path.is_dir():
        raise JobFileError(f"{path} is a folder, not a job file")
    if not path.exists():
        raise JobFileError(f"there is no job file {path}")
    try:
        with path.open("rb") as file:
            start = file.read(len(HEADER))
    except OSError as wrong:
        raise JobFileError(f"{path} cannot be read: {wrong.strerror}") from wrong
    if start and start != HEADER:
        raise JobFileError(f"{path} is not a job file")
    if writing:
        _may_write(path)


def _may_write(path: Path) -> None:
    try:
        with path.open("r+b"):
            pass
    except OSError as wrong:
        raise JobFileError(
            f"{path} cannot be written ({wrong.strerror}); nothing was changed"
        ) from wrong


def _prepare(db: sqlite3.Connection, path: Path, how: str) -> None:
    version = db.execute("PRAGMA user_version").fetchone()[0]
    mark = db.execute("PRAGMA application_id").fetchone()[0]
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if mark != APPLICATION_ID and tables:
        raise JobFileError(f"{path} is a database, but not a Ribband job file")
    if version > len(MIGRATIONS):
        raise JobFileError(
            f"{path} was written by a newer version of Ribband; bring this one up to date"
        )
    db.execute("PRAGMA foreign_keys = ON")
    if how == "rw":
        db.execute("PRAGMA journal_mode = DELETE").fetchone()
        db.execute("PRAGMA synchronous = FULL")
        bring_forward(db, _now())
    elif version < len(MIGRATIONS):
        _mend_apart(path)


def _mend_apart(path: Path) -> None:
    """Bring a file of an older version, or one cut off in a change, in order before it is read."""
    _may_write(path)
    with closing(JobFile.open(path, writing=True)):
        pass


@contextmanager
def _plainly(path: Path) -> Iterator[None]:
    """Turn what SQLite says into what a shipwright can act on."""
    try:
        yield
    except sqlite3.OperationalError as wrong:
        raise JobFileError(_in_plain_words(path, str(wrong))) from wrong
    except sqlite3.DatabaseError as wrong:
        raise JobFileError(f"{path} is damaged or not a job file ({wrong})") from wrong


def _in_plain_words(path: Path, said: str) -> str:
    if "locked" in said or "busy" in said:
        return f"{path} is in use by another program; nothing was changed, try again"
    if "readonly" in said:
        return f"{path} cannot be written; nothing was changed"
    if "full" in said:
        return f"the disk is full; {path} was not changed"
    return f"{path} cannot be used ({said}); nothing was changed"
