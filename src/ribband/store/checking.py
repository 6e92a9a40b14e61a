"""Proving a job file whole, from the structure on the disk to what every revision says.

What is looked at: SQLite's own structure and the links between its tables; that every table is as
Ribband makes it and nothing strange stands among them; that revisions run without a gap, each from
one before it, and that undo and redo repeat what they say; that every form is what was entered and
can be read; that every kept result and every picture is what was kept.

Not checked: whether the measurements are right, and whether results are up to date.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path

from ribband.store import pictures
from ribband.store.forms import form_of, hash_of
from ribband.store.jobfile import JobFile
from ribband.store.migrations import MIGRATIONS, bring_forward
from ribband.store.plain_words import plainly
from ribband.store.record_format import Packed

__all__ = ["verify"]

Objects = dict[str, tuple[str, str]]


def verify(path: Path) -> tuple[str, ...]:
    """Check the whole file; an empty tuple means whole, else one line a trouble.

    Raises
    ------
    JobFileError : it cannot be opened at all, or reading it breaks off
    """
    with JobFile.open(path) as job, plainly(path):
        db = job._db
        structure = [row[0] for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
        kept = (*_forms(db), *_results(db), *_pictures(db))
        return (*structure, *_links(db), *_shape(db), *_history(db), *kept)


def _links(db: sqlite3.Connection) -> list[str]:
    try:
        loose = db.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.OperationalError as wrong:
        return [f"the links between its tables cannot be followed ({wrong})"]
    return [f"a line of {row[0]} points at nothing" for row in loose]


def _shape(db: sqlite3.Connection) -> Iterator[str]:
    """Compare the tables with those of a new job file."""
    there, wanted = _objects(db), _wanted()
    for name, (kind, sql) in wanted.items():
        if name not in there:
            yield f"the {kind} {name} is missing"
        elif there[name] != (kind, sql):
            yield f"the {kind} {name} is not as Ribband makes it"
    for name in there.keys() - wanted.keys():
        yield f"the {there[name][0]} {name} is none of Ribband's"
    steps = [row[0] for row in db.execute("SELECT name FROM migration ORDER BY number")]
    if steps != [step.name for step in MIGRATIONS]:
        yield "the list of steps in the file's shape is not as Ribband makes it"


def _objects(db: sqlite3.Connection) -> Objects:
    rows = db.execute(
        """SELECT CAST(name AS TEXT), type, CAST(sql AS TEXT) FROM sqlite_master
        WHERE name NOT LIKE 'sqlite_%'"""
    ).fetchall()
    return {name: (kind, re.sub(r"\s+", " ", sql or "")) for name, kind, sql in rows}


def _wanted() -> Objects:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        bring_forward(db, "")
        return _objects(db)


def _history(db: sqlite3.Connection) -> Iterator[str]:
    rows = db.execute(
        "SELECT number, parent, kind, CAST(at AS TEXT) FROM revision ORDER BY number"
    ).fetchall()
    said = {number: _says(db, number) for number, *_ in rows}
    for expected, (number, parent, kind, at) in enumerate(rows, 1):
        if number != expected:
            yield f"revision {expected} is missing"
            return
        wanted = parent == (number - 1 or None)
        if kind != "new":
            wanted = type(parent) is int and 0 < parent < number
        if not wanted:
            yield f"revision {number} comes from {parent or 'nothing'}, which cannot be"
        elif kind != "new" and said[number] != said.get(parent):
            yield f"revision {number} does not say what revision {parent} said, as it should"
        if not _is_moment(at):
            yield f"revision {number} was made at {str(at)[:40]!r}, which is no moment"


def _says(db: sqlite3.Connection, number: int) -> list[tuple[str, str]]:
    return db.execute(
        "SELECT name, form FROM revision_form WHERE revision = ? ORDER BY name", (number,)
    ).fetchall()


def _is_moment(at: str) -> bool:
    try:
        datetime.fromisoformat(at)
    except (ValueError, TypeError):
        return False
    return True


def _forms(db: sqlite3.Connection) -> Iterator[str]:
    for key, body in db.execute("SELECT hash, body FROM form"):
        if type(body) is not str or type(key) is not str:
            yield "a form is damaged"
            continue
        if hash_of(body) != key:
            yield f"form {key[:12]} is not what was entered"
        try:
            form_of(body)
        except ValueError as wrong:
            yield f"form {key[:12]} cannot be read ({wrong})"


def _results(db: sqlite3.Connection) -> Iterator[str]:
    for key, stage, words, arrays, digest in db.execute(
        "SELECT key, stage, words, arrays, digest FROM result"
    ):
        sound = type(words) is str and type(arrays) is bytes
        if not sound or Packed(words, arrays).digest != digest:
            yield f"result {str(key)[:12]} of {stage} is damaged; it will be made again"


def _pictures(db: sqlite3.Connection) -> list[str]:
    try:
        return pictures.sound(db)
    except sqlite3.OperationalError as wrong:
        return [f"the pictures cannot be read ({wrong})"]
