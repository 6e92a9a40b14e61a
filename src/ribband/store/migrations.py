"""The shape of a job file, step by step: each migration has a name and is applied once.

A file made by any earlier version is brought forward when it is opened for writing, in one
transaction; each step leaves its own line in the table `migration`. Never edit a step that has
been released: add one.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

__all__ = ["APPLICATION_ID", "MIGRATIONS", "Migration", "bring_forward"]

APPLICATION_ID = 0x52424244  # "RBBD", in the file's header at byte 68


@dataclass(frozen=True, slots=True)
class Migration:
    """One named step: SQL statements."""

    name: str
    steps: tuple[str, ...]


def _never_changed(table: str) -> tuple[str, ...]:
    """Give what has the database itself refuse to change or remove a line of a table."""
    return tuple(
        f"""CREATE TRIGGER {table}_is_kept_{event.lower()} BEFORE {event} ON {table}
                BEGIN SELECT RAISE(ABORT, 'what was entered is never changed'); END"""
        for event in ("UPDATE", "DELETE")
    )


MIGRATIONS = (
    Migration(
        "inputs as revisions, results by hash",
        (
            """CREATE TABLE form (
                hash TEXT PRIMARY KEY CHECK (length(hash) = 64),
                body TEXT NOT NULL
            ) STRICT, WITHOUT ROWID""",
            """CREATE TABLE revision (
                number INTEGER PRIMARY KEY CHECK (number > 0),
                parent INTEGER REFERENCES revision (number),
                kind TEXT NOT NULL CHECK (kind IN ('new', 'undo', 'redo')),
                at TEXT NOT NULL,
                who TEXT NOT NULL,
                why TEXT NOT NULL
            ) STRICT""",
            """CREATE TABLE revision_form (
                revision INTEGER NOT NULL REFERENCES revision (number),
                name TEXT NOT NULL,
                form TEXT NOT NULL REFERENCES form (hash),
                PRIMARY KEY (revision, name)
            ) STRICT, WITHOUT ROWID""",
            """CREATE TABLE result (
                key TEXT PRIMARY KEY CHECK (length(key) = 64),
                stage TEXT NOT NULL,
                revision INTEGER NOT NULL REFERENCES revision (number),
                at TEXT NOT NULL,
                version TEXT NOT NULL,
                seconds REAL NOT NULL,
                words TEXT NOT NULL,
                arrays BLOB NOT NULL,
                digest TEXT NOT NULL CHECK (length(digest) = 64)
            ) STRICT""",
            "CREATE INDEX result_by_stage ON result (stage, at)",
            *(
                step
                for table in ("form", "revision", "revision_form")
                for step in _never_changed(table)
            ),
        ),
    ),
    Migration(
        "changes by the mark their sender gave, so that a repeat does nothing twice",
        (
            """CREATE TABLE change (
                mark TEXT PRIMARY KEY CHECK (length(mark) BETWEEN 1 AND 100),
                revision INTEGER NOT NULL REFERENCES revision (number)
            ) STRICT, WITHOUT ROWID""",
        ),
    ),
    Migration(
        "pictures under their hash",
        (
            """CREATE TABLE picture (
                hash TEXT PRIMARY KEY CHECK (length(hash) = 64),
                kind TEXT NOT NULL CHECK (kind IN ('jpeg', 'png', 'webp')),
                wide INTEGER NOT NULL CHECK (wide > 0),
                high INTEGER NOT NULL CHECK (high > 0),
                size INTEGER NOT NULL CHECK (size = length(body)),
                at TEXT NOT NULL,
                who TEXT NOT NULL,
                body BLOB NOT NULL
            ) STRICT""",
            *_never_changed("picture"),
        ),
    ),
)


def bring_forward(db: sqlite3.Connection, now: str) -> int:
    """Apply what is missing, all in one transaction; return how many steps were applied."""
    if db.execute("PRAGMA user_version").fetchone()[0] >= len(MIGRATIONS):
        return 0
    db.execute("BEGIN IMMEDIATE")
    try:
        done = int(db.execute("PRAGMA user_version").fetchone()[0])  # another may have been quicker
        for number, step in enumerate(MIGRATIONS[done:], done + 1):
            _apply(db, number, step, now)
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
    return len(MIGRATIONS) - done


def _apply(db: sqlite3.Connection, number: int, step: Migration, now: str) -> None:
    db.execute(
        """CREATE TABLE IF NOT EXISTS migration (
            number INTEGER PRIMARY KEY, name TEXT NOT NULL, at TEXT NOT NULL) STRICT"""
    )
    for statement in step.steps:
        db.execute(statement)
    db.execute("INSERT INTO migration VALUES (?, ?, ?)", (number, step.name, now))
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {number}")
