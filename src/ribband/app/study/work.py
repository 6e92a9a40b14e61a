"""One alternative planned, wherever it is done: in this process, on another core, elsewhere.

*Task*: everything that is needed to plan an alternative, so that it can be sent away. *Outcome*:
what came of it, small enough to keep and send back. A task is known by its key: the hash of its
forms, rules, program, step, seconds and seed. A worker whose program is another says so
(`OtherProgram`) and plans nothing, so that no result of another program is ever kept as ours.
"""

from __future__ import annotations

import hashlib
import json
import os
import platform
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal

from ribband import __version__
from ribband.app.plan.making import Tell
from ribband.app.plan.runner import MemoryShelf, quiet, run
from ribband.app.plan.steps import keys
from ribband.app.study.cases import Alternative, Settings
from ribband.app.study.measures import measured
from ribband.errors import InputError, RibbandError
from ribband.store.forms import sense_of
from ribband.survey.rows import Form

__all__ = ["OtherProgram", "Outcome", "Task", "outcome_from", "plan_one", "task_of"]

State = Literal["planned", "refused", "not settled"]


class OtherProgram(RibbandError):  # noqa: N818 - it names what is wrong
    """A worker runs another version of Ribband, or other data, than the one who asks."""


@dataclass(frozen=True, slots=True)
class Task:
    """An alternative to be planned as far as `last`; `made` are results it may begin from."""

    key: str
    name: str
    settings: Settings
    forms: Mapping[str, Form]
    last: str
    step_key: str
    seconds: float
    seed: int = 0
    made: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an alternative.

    state : "planned"; "refused" (the setting cannot be used, `says` why); or "not settled"
    measures : by name; None where not known. `where` : the machine and process it was planned in
    """

    key: str
    name: str
    settings: Settings
    state: State
    says: str = ""
    measures: Mapping[str, float | None] = field(default_factory=dict)
    last: str = ""
    seed: int = 0
    seconds: float = 0.0
    at: str = ""
    where: str = ""
    version: str = __version__

    @property
    def good(self) -> bool:
        """True where it was planned and no fault was found."""
        return self.state == "planned" and not self.measures.get("faults")

    def line(self) -> str:
        """Write it as one line of JSON."""
        return json.dumps(asdict(self), ensure_ascii=False, allow_nan=False)


def outcome_from(line: str) -> Outcome | None:
    """Read an outcome from its line; None where the line is torn or is something else.

    >>> outcome_from(Outcome("k", "a", (), "planned").line()).name
    'a'
    >>> outcome_from('{"key": "k", "na') is None
    True
    """
    try:
        own = json.loads(line)
        settings = tuple((str(knob), str(text)) for knob, text in own.pop("settings"))
        found = Outcome(settings=settings, **own)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    sound = isinstance(found.key, str) and isinstance(found.measures, dict)
    return found if sound else None


def task_of(own: Alternative, forms: Mapping[str, Form], last: str, seconds: float) -> Task:
    """Make the task of an alternative whose forms are `forms`."""
    step_key = _step_key(forms, last)
    said = json.dumps([step_key, last, seconds, own.seed])
    key = hashlib.sha256(said.encode()).hexdigest()
    return Task(key, own.name, own.settings, forms, last, step_key, seconds, own.seed)


def plan_one(task: Task, tell: Tell = quiet) -> Outcome:
    """Plan one alternative.

    Raises
    ------
    OtherProgram : this process runs another program than the one the task was made by
    """
    if _step_key(task.forms, task.last) != task.step_key:
        raise OtherProgram(f"the worker at {_where()} runs another Ribband ({__version__})")
    began = time.perf_counter()
    hashes = {name: sense_of(form) for name, form in task.forms.items()}
    shelf = MemoryShelf(dict(task.made))
    try:
        done = run(
            task.forms, hashes, shelf, task.last, seconds=task.seconds, seed=task.seed, tell=tell
        )
    except InputError as wrong:
        return _outcome(task, began, "refused", _joined([str(p) for p in wrong.problems]))
    if done.stopped:
        return _outcome(task, began, "not settled", done.stopped, measured(done))
    return _outcome(task, began, "planned", "", measured(done))


def _outcome(
    task: Task, began: float, state: State, says: str,
    measures: Mapping[str, float | None] | None = None,
) -> Outcome:  # fmt: skip
    at = datetime.now(UTC).isoformat(timespec="seconds")
    return Outcome(
        task.key, task.name, task.settings, state, says, measures or {}, task.last, task.seed,
        round(time.perf_counter() - began, 2), at, _where(),
    )  # fmt: skip


def _step_key(forms: Mapping[str, Form], last: str) -> str:
    return keys(forms, {name: sense_of(form) for name, form in forms.items()})[last]


def _where() -> str:
    return f"{platform.node()} {os.getpid()}"


def _joined(problems: Sequence[str], most: int = 3) -> str:
    more = f"; and {len(problems) - most} more" if len(problems) > most else ""
    return "; ".join(problems[:most]) + more
