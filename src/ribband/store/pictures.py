"""Pictures in a job file: kept under the hash of their bytes, and never changed or taken away.

What a picture is of stands on the form `photos`, which names it by its hash; so a line that is
undone leaves the picture where it is, and redo brings both back. Taken in twice it is kept once.

*Limits*: all pictures of a job together have at most `MOST_TOGETHER` bytes.

Not checked here: that the bytes are a picture; `ribband.record.picture` does that.
"""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from ribband.errors import JobFileError

if TYPE_CHECKING:
    from ribband.record.picture import Picture

__all__ = ["MOST_TOGETHER", "KeptPicture", "keep", "listed", "read", "sound"]

MOST_TOGETHER = 1_000_000_000
ENDINGS = {"jpeg": ".jpg", "png": ".png", "webp": ".webp"}


@dataclass(frozen=True, slots=True)
class KeptPicture:
    """A picture in the file, without its bytes: key, kind, pixels as shown, bytes, when, who."""

    key: str
    kind: str
    wide: int
    high: int
    size: int
    at: str
    who: str

    @property
    def ending(self) -> str:
        """The ending of a file of its kind."""
        return ENDINGS[self.kind]


def keep(db: sqlite3.Connection, picture: Picture, at: str, who: str) -> None:
    """Put a picture in, if it is not there; within a change.

    Raises
    ------
    JobFileError : there is no more room for pictures
    """
    if db.execute("SELECT 1 FROM picture WHERE hash = ?", (picture.key,)).fetchone():
        return
    there = db.execute("SELECT coalesce(sum(size), 0) FROM picture").fetchone()[0]
    if there + len(picture.body) > MOST_TOGETHER:
        full = f"the pictures of a job may have {MOST_TOGETHER // 1_000_000} MB together"
        raise JobFileError(f"{full}, and there are {there // 1_000_000}; nothing was changed")
    db.execute(
        "INSERT INTO picture VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (picture.key, picture.kind, picture.wide, picture.high, len(picture.body), at, who,
         picture.body),
    )  # fmt: skip


def listed(db: sqlite3.Connection) -> tuple[KeptPicture, ...]:
    """List the pictures, in the order they came; what is damaged is left out."""
    rows = db.execute(
        "SELECT hash, kind, wide, high, size, at, who FROM picture ORDER BY rowid"
    ).fetchall()
    kinds = (str, str, int, int, int, str, str)
    return tuple(
        KeptPicture(*row)
        for row in rows
        if all(type(value) is kind for value, kind in zip(row, kinds, strict=True))
        and row[1] in ENDINGS
    )


def read(db: sqlite3.Connection, key: str) -> bytes | None:
    """Give the bytes of a picture; None where there is none, or it is not what was kept."""
    row = db.execute("SELECT body FROM picture WHERE hash = ?", (key,)).fetchone()
    body = row[0] if row else None
    return body if type(body) is bytes and sha256(body).hexdigest() == key else None


def sound(db: sqlite3.Connection) -> list[str]:
    """Prove every picture; a line for each that is not what was kept."""
    keys = [row[0] for row in db.execute("SELECT hash FROM picture ORDER BY rowid")]
    return [
        f"picture {str(key)[:12]} is not what was kept" for key in keys if read(db, key) is None
    ]
