"""The job file: one SQLite file a vessel, whole and readable by any SQLite tool.

*Inputs* are revisions that are only ever added; *results* are kept under the hash of what they
came from and may be made again at any time. One writer at a time: a change waits for another
writer up to `WAIT_SECONDS`, then gives up with plain words. A change is acknowledged only when
the disk has it, the end of its journal included (a rollback journal and synchronisation "extra":
slower than a write-ahead log, but the vessel stays one file that can be copied, mailed and kept on
a share). Revisions are in order by their number; what the clock says orders nothing.

A file of an older shape is brought forward when it is opened to be written, with a copy made
first; opened to be read it is brought forward in memory, and the file stays as it is.

Not checked on opening: the whole file. `ribband.store.checking.verify` does that.
"""

from __future__ import annotations

import logging
import random
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Literal, Self

from ribband import __version__
from ribband.errors import JobFileError, said_of_system
from ribband.store import copies, pictures
from ribband.store.forms import body_of, form_of, hash_of, sense_of
from ribband.store.migrations import APPLICATION_ID, MIGRATIONS, bring_forward
from ribband.store.pictures import KeptPicture
from ribband.store.plain_words import NotTheJob, cut_off, look_at, may_be_written, plainly
from ribband.store.record_format import Packed, pack, unpack
from ribband.store.revisions import Revision, redo_to, stepped, undo_to
from ribband.store.seen import Seen, holds, seen_in
from ribband.survey.rows import Form

if TYPE_CHECKING:
    from ribband.record.picture import Picture

__all__ = ["JobFile", "KeptResult", "Overtaken"]

WAIT_SECONDS = 10.0
STEP_SECONDS = 0.001, 0.006  # between two tries
MOST_REVISIONS = 2**62
LONGEST_ENTRY = 200_000_000  # bytes of one form or result; SQLite refuses more

_REVISION = (int, (int, type(None)), str, str, str, str)
_KEPT = (str, str, int, str, str, (float, int))

log = logging.getLogger("ribband.store")


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
        self._looked: date | None = None  # the day for which a copy was seen to

    @classmethod
    def create(cls, path: Path) -> Self:
        """Make a new, empty job file.

        Raises
        ------
        JobFileError : something is there already, or the folder cannot be written
        """
        _make_room(path)
        return cls._opened(path, "rw")

    @classmethod
    def open(cls, path: Path, *, writing: bool = False) -> Self:
        """Open a job file, read-only unless `writing`.

        Raises
        ------
        JobFileError : no such file, not a job file, from a newer version, or not writable
        """
        look_at(path, writing)
        if not writing and cut_off(path) and may_be_written(path):
            with closing(cls._opened(path, "rw")):
                pass  # a change that was cut off is taken back
        return cls._opened(path, "rw" if writing else "ro")

    @classmethod
    def _opened(cls, path: Path, how: str) -> Self:
        with plainly(path):
            db = _connected(path, how)
            try:
                return cls(path, _prepared(db, path, how))
            except BaseException:
                db.close()
                raise

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

    def history(self, after: int = 0, last: int | None = None) -> tuple[Revision, ...]:
        """List every revision, oldest first; those `after` a number and to the `last` if given."""
        with plainly(self.path):
            rows = self._db.execute(
                """SELECT number, parent, kind, at, who, why FROM revision
                WHERE number > ? AND number <= ? ORDER BY number""",
                (after, MOST_REVISIONS if last is None else last),
            ).fetchall()
        return tuple(Revision(*self._sound(row, _REVISION)) for row in rows)

    def _sound(self, row: tuple[Any, ...], kinds: tuple[Any, ...]) -> tuple[Any, ...]:
        """Give a row as it is if its values are of their kinds; a damaged page gives others."""
        if not all(isinstance(value, kind) for value, kind in zip(row, kinds, strict=True)):
            raise JobFileError(
                f"{self.path} is damaged: a line of it holds no such thing as it says"
            )
        return row

    def forms(self, revision: int | None = None) -> dict[str, Form]:
        """Give the forms of a revision, the newest by default; empty for an empty job.

        Raises
        ------
        JobFileError : a form is damaged
        """
        return {name: self._form(name, *own) for name, own in self._bodies(revision).items()}

    def form(self, name: str, revision: int | None = None) -> Form:
        """Give one form of a revision, the newest by default.

        Raises
        ------
        JobFileError : it is damaged, or not there
        """
        bodies = self._bodies(revision)
        if name not in bodies:
            raise JobFileError(f"{self.path} has no form {name}")
        return self._form(name, *bodies[name])

    def _form(self, name: str, key: str, body: str) -> Form:
        try:
            form = form_of(body)
        except ValueError as wrong:
            says = f"the form {name} in {self.path} is damaged ({wrong}); see: ribband check"
            raise JobFileError(says) from wrong
        if form.name != name:
            raise JobFileError(f"the form {name} in {self.path} is damaged: it is another form")
        return form

    def form_hashes(self, revision: int | None = None) -> dict[str, str]:
        """Give the hash of each form of a revision, the newest by default."""
        return {name: key for name, (key, _) in self._bodies(revision).items()}

    def newest(self) -> int:
        """Give the number of the newest revision, 0 for an empty job."""
        with plainly(self.path):
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
        with self._writing():
            self._not_overtaken(upon)
            kept, before = self.forms(), self._bodies(None)
            bodies = {
                name: before[name][1] if _says_the_same(kept.get(name), form) else body_of(form)
                for name, form in forms.items()
            }
            if bodies == {name: body for name, (_, body) in before.items()}:
                return None
            return self._add("new", self._newest(), bodies, who, why, mark=mark)

    def last(self) -> Revision | None:
        """Give the newest revision; None for an empty job."""
        newest = self.newest()
        return self._found(newest) if newest else None

    def leads(self, kind: Literal["undo", "redo"]) -> int | None:
        """Give the revision that undo or redo would repeat; None where there is none."""
        newest = self.last()
        if newest is None:
            return None
        return (undo_to if kind == "undo" else redo_to)(newest, self._found)

    def _found(self, number: int) -> Revision:
        found = self.history(number - 1, number)
        if not found:
            raise JobFileError(f"{self.path} is damaged: revision {number} is missing")
        return found[0]

    def marked(self, mark: str) -> Revision | None:
        """Find the revision that was made under a mark; None if none was."""
        with plainly(self.path):
            row = self._db.execute(
                """SELECT number, parent, kind, at, who, why FROM revision
                JOIN change ON change.revision = revision.number WHERE mark = ?""",
                (mark,),
            ).fetchone()
        return Revision(*self._sound(row, _REVISION)) if row else None

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
            newest, target = self.last(), self.leads(kind)
            if newest is None or target is None:
                return None
            bodies = {name: body for name, (_, body) in self._bodies(target).items()}
            why = stepped(kind, newest, target, self._found)
            return self._add(kind, target, bodies, who, why, mark=mark)

    def _not_overtaken(self, upon: int | None) -> None:
        if upon is not None and upon != (self._newest() or 0):
            raise Overtaken(f"{self.path} was changed by another hand; nothing was changed")

    def _newest(self) -> int | None:
        number = self._db.execute("SELECT max(number) FROM revision").fetchone()[0]
        return None if number is None else int(number)

    def _bodies(self, revision: int | None) -> dict[str, tuple[str, str]]:
        with plainly(self.path):
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

    # ---- pictures

    def keep_picture(self, picture: Picture, who: str) -> None:
        """Keep a picture under its hash; one that is there already stays as it is.

        Raises
        ------
        JobFileError : the pictures would be more than a job may have
        """
        with self._writing():
            pictures.keep(self._db, picture, _now(), who)

    def pictures(self) -> tuple[KeptPicture, ...]:
        """List the pictures, in the order they came, without their bytes."""
        with plainly(self.path):
            return pictures.listed(self._db)

    def picture(self, key: str) -> bytes | None:
        """Give the bytes of a picture; None where there is none, or it is damaged."""
        with plainly(self.path):
            return pictures.read(self._db, key)

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
        with plainly(self.path):
            row = self._db.execute(
                "SELECT words, arrays, digest FROM result WHERE key = ?", (key,)
            ).fetchone()
        if row is None:
            return None
        words, arrays, digest = row
        if type(words) is not str or type(arrays) is not bytes:
            return None  # damaged: it is made again
        packed = Packed(words, arrays)
        try:
            return unpack(packed) if packed.digest == digest else None
        except ValueError:  # written by an older version of that stage: it is made again
            return None

    def results(self) -> tuple[KeptResult, ...]:
        """List what is kept, newest first."""
        with plainly(self.path):
            rows = self._db.execute(
                """SELECT key, stage, revision, at, version, seconds
                FROM result ORDER BY rowid DESC"""
            ).fetchall()
        return tuple(KeptResult(*self._sound(row, _KEPT)) for row in rows)

    @contextmanager
    def together(self) -> Iterator[None]:
        """Put all that is written within on the disk at once, or none of it.

        What fails within leaves the rest. Nothing is to be acknowledged before the end.
        """
        with self._writing():
            yield

    @contextmanager
    def _part(self) -> Iterator[None]:
        """Write within what is put on the disk together; what fails is taken back alone."""
        self._db.execute("SAVEPOINT part")
        try:
            yield
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("ROLLBACK TO part")
                self._db.execute("RELEASE part")
            raise
        self._db.execute("RELEASE part")

    @contextmanager
    def _writing(self) -> Iterator[None]:
        if self._db.in_transaction:
            with plainly(self.path), self._part():
                yield
            return
        with plainly(self.path):
            self._copy_if_due()
            self._begin()
            try:
                before = self._newest()
                yield
                made = seen_in(self._db) if self._newest() != before else None
                self._db.execute("COMMIT")
            except BaseException:
                self._take_back()
                raise
            if made is not None:
                self._read_back(made)

    def _read_back(self, made: Seen) -> None:
        """See by another handle that the file of this name holds what was just put on the disk."""
        try:
            with closing(_connected(self.path, "rw")) as db:
                if holds(db, made, to_the_letter=True):
                    return
        except sqlite3.Error as wrong:
            if getattr(wrong, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY:
                return  # another waited for this change, and has its turn now
        raise NotTheJob(
            f"{self.path} does not hold the change that was just written to it: another program "
            "put a file in its place, or wrote to it without waiting its turn. The change is not "
            "kept; look what is there (ribband history), and make it again"
        )

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give the database itself, to be read only, with what it says put plainly."""
        with plainly(self.path):
            yield self._db

    def _take_back(self) -> None:
        if self._db.in_transaction:  # SQLite may have taken it back by itself
            self._db.execute("ROLLBACK")

    def _begin(self) -> None:
        """Wait for one's turn to write; in short steps by chance, so that nobody is starved."""
        until = time.monotonic() + WAIT_SECONDS
        self._db.execute("PRAGMA busy_timeout = 0")
        try:
            while not self._begun(time.monotonic() > until):
                time.sleep(random.uniform(*STEP_SECONDS))  # noqa: S311 - no secret
        finally:
            self._db.execute(f"PRAGMA busy_timeout = {WAIT_SECONDS * 1000:.0f}")

    def _begun(self, at_last: bool) -> bool:
        try:
            self._db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as wrong:
            if at_last or wrong.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                raise
            return False
        return True

    def copy_into(self, path: Path) -> Path:
        """Copy the job whole to a file that is not there yet, also while others write to it.

        Raises
        ------
        JobFileError : something is there, or it cannot be written
        """
        _make_room(path)
        try:
            copies.copy_into(self._db, path)
        except (OSError, sqlite3.Error) as wrong:
            path.unlink(missing_ok=True)
            raise JobFileError(f"{path} cannot be written: {wrong}") from wrong
        return path

    def _copy_if_due(self) -> None:
        """Keep a copy of what the day found; where none can be made, the work goes on."""
        today = datetime.now().astimezone().date()
        if self._looked == today:
            return
        self._looked = today
        row = self._db.execute("SELECT at FROM revision ORDER BY number DESC LIMIT 1").fetchone()
        if row and copies.copy_due(self.path, row[0], today):
            try:
                copies.keep_copy(self._db, self.path, today)
            except JobFileError as wrong:
                log.warning("%s", wrong)


def _says_the_same(kept: Form | None, form: Form) -> bool:
    return kept is not None and (kept is form or sense_of(kept) == sense_of(form))


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _make_room(path: Path) -> None:
    """Make an empty file where nothing is."""
    try:
        path.touch(exist_ok=False)
    except FileExistsError as there:
        raise JobFileError(f"{path} is there already; give the job another name") from there
    except (OSError, ValueError) as wrong:
        why = said_of_system(wrong) if isinstance(wrong, OSError) else wrong
        raise JobFileError(f"{path} cannot be made: {why}") from wrong


def _connected(path: Path, how: str) -> sqlite3.Connection:
    db = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode={how}",
        uri=True,
        timeout=WAIT_SECONDS,
        isolation_level=None,
    )
    db.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_ENTRY)
    return db


def _prepared(db: sqlite3.Connection, path: Path, how: str) -> sqlite3.Connection:
    """See that it is a job file we can read, and bring it forward where it is of an older shape."""
    db.execute("PRAGMA trusted_schema = OFF")
    version = db.execute("PRAGMA user_version").fetchone()[0]
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID and tables:
        raise NotTheJob(f"{path} is a database, but not a Ribband job file")
    if version > len(MIGRATIONS):
        raise JobFileError(_too_new(db, path, version))
    if not 0 <= version <= len(MIGRATIONS) or (tables and not version):
        raise NotTheJob(f"{path} is damaged or not a job file (it has no shape of ours)")
    _nothing_runs(db, path)
    db.execute("PRAGMA foreign_keys = ON")
    if how == "rw":
        db.execute("PRAGMA journal_mode = DELETE").fetchone()
        db.execute("PRAGMA synchronous = EXTRA")  # the end of the journal is on the disk too
        if 0 < version < len(MIGRATIONS) and db.execute("SELECT 1 FROM revision").fetchone():
            copies.keep_copy(db, path, datetime.now().astimezone().date(), form=version)
        bring_forward(db, _now())
    elif version < len(MIGRATIONS):
        return _forward_in_memory(db)
    return db


def _forward_in_memory(db: sqlite3.Connection) -> sqlite3.Connection:
    own = sqlite3.connect(":memory:", isolation_level=None)
    with closing(db):
        db.backup(own)
    bring_forward(own, _now())
    own.execute("PRAGMA query_only = ON")
    return own


def _nothing_runs(db: sqlite3.Connection, path: Path) -> None:
    """Refuse a file with triggers or views that are not ours: they would run on our changes."""
    own = {
        f"{table}_is_kept_{event}"
        for table in ("form", "revision", "revision_form", "picture")
        for event in ("update", "delete")
    }
    there = db.execute("SELECT name FROM sqlite_master WHERE type IN ('trigger', 'view')")
    if strange := sorted({str(row[0]) for row in there} - own):
        raise JobFileError(
            f"{path} was not opened: it holds a program of somebody's own ({strange[0][:60]})"
        )


def _too_new(db: sqlite3.Connection, path: Path, version: int) -> str:
    try:
        row = db.execute("SELECT version FROM result ORDER BY rowid DESC LIMIT 1").fetchone()
    except sqlite3.Error:
        row = None
    by = f" (its results by Ribband {str(row[0])[:20]})" if row else ""
    return (
        f"{path} was written by a newer version of Ribband{by}: the file has shape {version}, "
        f"and this Ribband, {__version__}, knows shapes 1 to {len(MIGRATIONS)}. Nothing was "
        "changed; bring this one up to date, or have the other write the job out (ribband text)"
    )
