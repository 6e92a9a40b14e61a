"""What the charts are drawn from: the newest kept hull, lining and butts, stale or not.

A page shows the last plan there is and says where it is stale, so that a hand is never left with
an empty sheet. Results are read once and held by their key; nothing is made here.

Not checked: whether a stale lining fits a newer hull, beyond its having the same frames.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband import __version__
from ribband.app.entering.rules import in_force
from ribband.app.entering.wishes import spelt
from ribband.app.plan.making import Made, rows_of
from ribband.app.plan.steps import kept_as, keys
from ribband.app.screens.job import unit_of
from ribband.errors import InputError
from ribband.store import JobFile, KeptResult
from ribband.survey.rows import Form, Row

if TYPE_CHECKING:
    from ribband.hull.model import Hull
    from ribband.lining.model import Lining

__all__ = ["Lying", "lying", "lying_still", "wish_rows"]

MOST_HELD = 16


@dataclass(frozen=True, slots=True)
class Lying:
    """What lies on the chart table.

    made : step to its result and findings, only what is there
    states : step to "good", "stale" or "not made"
    marks : step to a word that changes with its result
    """

    path: Path
    revision: int
    forms: Mapping[str, Form]
    unit: str
    made: Mapping[str, Made]
    states: Mapping[str, str]
    marks: Mapping[str, str]

    @property
    def tag(self) -> str:
        """Give a word that changes when anything here does."""
        return " ".join((str(self.revision), *self.marks.values()))

    def result(self, step: str) -> Any | None:
        """Give a step's result, or None where there is none."""
        made = self.made.get(step)
        return None if made is None else made.result

    @property
    def hull(self) -> Hull | None:
        """The hull, if any was made."""
        hull: Hull | None = self.result("hull")
        return hull

    @property
    def lining(self) -> Lining | None:
        """The lining out, if any was made and it is of these frames."""
        lining: Lining | None = self.result("lining")
        hull = self.hull
        if lining is None or hull is None or lining.columns[1:-1] != hull.frames.names:
            return None
        return lining

    def rules(self, stage: str) -> Any:
        """Give the rules in force for a stage; the defaults where the form cannot be read."""
        return _rules(self.forms.get("rules"), self.unit)[stage]


@lru_cache(maxsize=4)
def _rules(form: Form | None, unit: str) -> Mapping[str, Any]:
    """Give the rules in force, read once while the form stays as it is."""
    try:
        return in_force(form, unit)
    except InputError:
        return in_force(None, unit)


def lying(path: Path, steps: tuple[str, ...] = ("hull", "lining", "butts")) -> Lying:
    """Give the newest kept result of every step asked for, good or stale.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        forms = job.forms()
        own, results, revision = keys(forms, job.form_hashes()), job.results(), job.newest()
        found = {step: _newest(kept_as(step, forms), own[step], results) for step in steps}
        made = {step: _read(job, one) for step, one in found.items() if one is not None}
    states = {
        step: "not made" if one is None else "good" if one.key == own[step] else "stale"
        for step, one in found.items()
    }
    marks = {step: f"{one.key} {one.at}" if one else "-" for step, one in found.items()}
    there = {step: one for step, one in made.items() if one is not None}
    return Lying(path, revision, forms, unit_of(forms), there, states, marks)


def lying_still(path: Path, steps: tuple[str, ...] = ("hull", "lining", "butts")) -> Lying:
    """Give what lies there, as `lying`; not read again while the file stands as it was.

    For what is asked many times a second while something is dragged.
    """
    stat = path.stat()
    mark = (path, steps, stat.st_mtime_ns, stat.st_size)
    if mark not in _STILL:
        _STILL.clear()
        _STILL[mark] = lying(path, steps)
    return _STILL[mark]


_STILL: dict[tuple[Path, tuple[str, ...], int, int], Lying] = {}


def wish_rows(on: Lying, form: str) -> tuple[Row, ...]:
    """Give the rows of a form of wishes, frames spelt as the hull spells them.

    Raises
    ------
    InputError : every cell that cannot be read
    """
    names = on.hull.frames.names if on.hull is not None else ()
    return spelt(rows_of(on.forms, form, on.unit), names)


def _newest(step: str, key: str, results: tuple[KeptResult, ...]) -> KeptResult | None:
    mine = [one for one in results if one.stage == step]
    good = next((one for one in mine if one.key == key), None)
    return good or next((one for one in mine if one.version == __version__), None)


_HELD: dict[tuple[str, str], Made | None] = {}


def _read(job: JobFile, one: KeptResult) -> Made | None:
    """Read a kept result once; `at` tells a better one under the same key."""
    mark = (one.key, one.at)
    if mark not in _HELD:
        kept = job.kept(one.key)
        while len(_HELD) >= MOST_HELD:
            _HELD.pop(next(iter(_HELD)), None)
        _HELD[mark] = Made(*kept) if kept is not None else None
    return _HELD[mark]
