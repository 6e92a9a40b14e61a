"""What was seen of a job file: its newest revision, by number and by a hash of what it says.

Not checked here: the structure of the file, and its results.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from dataclasses import dataclass

from ribband.store.forms import hash_of

__all__ = ["Seen", "holds", "seen_in"]


@dataclass(frozen=True, slots=True)
class Seen:
    """A state of a job: revision 0 is a job with nothing entered yet."""

    revision: int
    digest: str


def seen_in(db: sqlite3.Connection) -> Seen:
    """See what an open job file holds now."""
    newest = int(db.execute("SELECT max(number) FROM revision").fetchone()[0] or 0)
    return Seen(newest, _digest(db, newest))


def holds(db: sqlite3.Connection, seen: Seen, *, to_the_letter: bool = False) -> bool:
    """Tell whether an open job file holds what was seen, maybe with more after it.

    `to_the_letter` reads the forms that came with that revision too, and sees that they are what
    they say; of its other forms it sees that they are there.
    """
    if _digest(db, seen.revision) != seen.digest:
        return False
    return not to_the_letter or _forms_hold(db, seen.revision)


def _digest(db: sqlite3.Connection, revision: int) -> str:
    rows = db.execute(
        "SELECT number, parent, kind, at, who, why FROM revision WHERE number = ?", (revision,)
    ).fetchall()
    forms = db.execute(
        "SELECT name, form FROM revision_form WHERE revision = ? ORDER BY name", (revision,)
    ).fetchall()
    return hashlib.sha256(json.dumps([rows, forms], default=repr).encode()).hexdigest()


def _forms_hold(db: sqlite3.Connection, revision: int) -> bool:
    rows = db.execute(
        """SELECT own.form, form.hash IS NOT NULL,
               CASE WHEN before.form IS own.form THEN NULL ELSE form.body END
        FROM revision_form AS own
        LEFT JOIN form ON form.hash = own.form
        LEFT JOIN revision_form AS before
            ON before.revision = own.revision - 1 AND before.name = own.name
        WHERE own.revision = ?""",
        (revision,),
    )
    return all(there and (body is None or _is(body, key)) for key, there, body in rows)


def _is(body: object, key: str) -> bool:
    return isinstance(body, str) and hash_of(body) == key
