"""Running the steps: what is kept and still good is taken, the rest is made and kept.

*Shelf*: where results are kept by key; a job file is one, and so is a plain dict for a try-out.
A step that cannot be made stops the run there; what was made before it is kept. Once a repair is
planned its new planks are all the planks there are for what is made after it.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from ribband import __version__
from ribband.app.entering.rules import in_force
from ribband.app.plan.alone import new_planks_alone, whole_left_out
from ribband.app.plan.limits import NO_MEMORY, held, timed
from ribband.app.plan.log_keys import renews
from ribband.app.plan.making import Bench, Made, Tell, make, on_its_boards
from ribband.app.plan.steps import (
    OF_REPAIR,
    STEPS,
    WHOLE,
    Step,
    kept_as,
    keys,
    needed_for,
    step_named,
    with_repair,
)
from ribband.errors import NotConverged
from ribband.findings import Finding, Severity
from ribband.store import JobFile, NoRoom
from ribband.survey.rows import Form
from ribband.survey.typed import texts
from ribband.units import unit_named

if TYPE_CHECKING:
    from ribband.record.stands import Present

__all__ = ["MemoryShelf", "Run", "Shelf", "job_unit", "last_kept", "quiet", "run"]


log = logging.getLogger("ribband.plan")

SEARCH_SECONDS = 30.0  # for butts, where nothing is said
NOTHING_NEW = (
    "the form renew asks for a repair, but nothing of it can be renewed: ribband repair JOB"
)
LAYING_SECONDS = 60.0  # for laying planks on boards, at most: it goes by a count of trials


class Shelf(Protocol):
    """Where results are kept by key."""

    def kept(self, key: str) -> Any | None:
        """Give what is kept under `key`, or None."""
        ...

    def keep(self, key: str, stage: str, record: object, version: str, seconds: float) -> None:
        """Keep a result."""
        ...

    def forget(self, keys: Sequence[str]) -> None:
        """Keep what is under `keys` no longer."""
        ...


@dataclass
class MemoryShelf:
    """A shelf that forgets when the program ends.

    >>> MemoryShelf().kept("a") is None
    True
    """

    results: dict[str, Any] = field(default_factory=dict)

    def kept(self, key: str) -> Any | None:
        """Give what is kept under `key`, or None."""
        return self.results.get(key)

    def keep(self, key: str, stage: str, record: object, version: str, seconds: float) -> None:
        """Keep a result."""
        self.results[key] = record

    def forget(self, keys: Sequence[str]) -> None:
        """Keep what is under `keys` no longer."""
        for key in keys:
            self.results.pop(key, None)


@dataclass(frozen=True, slots=True)
class Run:
    """What a run came to.

    `bench` holds every result; `seconds` the steps made just now and how long they took;
    `stopped` says which computation did not settle, if any: what comes after it is not made.
    """

    bench: Bench
    keys: Mapping[str, str]
    seconds: Mapping[str, float]
    stopped: str = ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, in the order of the work, each once."""
        every = (f for step in STEPS for f in self._of(step.name))
        return tuple(dict.fromkeys(every))

    def _of(self, step: str) -> tuple[Finding, ...]:
        return self.bench.made[step].findings if step in self.bench.made else ()

    @property
    def faults(self) -> tuple[Finding, ...]:
        """The findings that mean: not to be built from."""
        return tuple(f for f in self.findings if f.severity is Severity.FAULT)

    @property
    def present(self) -> Present | None:
        """The planking as it stands; None if the run did not come as far as flat shapes."""
        made = self.bench.made
        return self.bench.present if {"lining", "planks", "shapes"} <= made.keys() else None

    def result(self, step: str) -> Any | None:
        """Give a step's result, or None if the run did not come so far."""
        made = self.bench.made.get(step)
        return None if made is None else made.result


def quiet(fraction: float, words: str) -> None:
    """Tell nobody."""


def last_kept(shelf: Shelf, step: str) -> Any | None:
    """Give the newest result of a step that this version kept in a job file, whatever its key.

    `step` is what it is kept as.
    """
    if not isinstance(shelf, JobFile):
        return None
    own = (r for r in shelf.results() if r.stage == step and r.version == __version__)
    newest = next(own, None)
    kept = None if newest is None else shelf.kept(newest.key)
    return None if kept is None else kept[0]


def job_unit(forms: Mapping[str, Form]) -> str:
    """Give the job's own unit as the vessel form says it; millimetres where it says none."""
    form = forms.get("vessel")
    if form is None:
        return "mm"
    told = zip(texts(form, "item"), texts(form, "value"), strict=True)
    said = [value for item, value in told if item.lower() == "unit" and value]
    try:
        return unit_named(said[-1]) if said else "mm"
    except ValueError:
        return "mm"  # reading the survey tells of it


def run(
    forms: Mapping[str, Form],
    hashes: Mapping[str, str],
    shelf: Shelf,
    last: str | Sequence[str] = WHOLE,
    *,
    seconds: float | None = None,
    seed: int = 0,
    tell: Tell = quiet,
) -> Run:
    """Bring every step that `last` needs up to date; by default all of them.

    `seed` begins the searches elsewhere; keys do not tell it, so it wants a shelf of its own.

    Raises
    ------
    InputError : the input cannot be used
    """
    unit = job_unit(forms)
    bench = Bench(forms, in_force(forms.get("rules"), unit), unit, seconds or SEARCH_SECONDS, seed)
    bench.before = lambda step: last_kept(shelf, kept_as(step, forms))
    wanted = _in_order(needed_for(with_repair(last, forms)), forms)
    took: dict[str, float] = {}
    own = keys(forms, hashes)
    whole, done = sum(step.share for step in wanted), 0.0
    for step in wanted:
        if step.name in OF_REPAIR and renews(forms):
            if new_planks_alone(bench) is None:
                return Run(whole_left_out(bench), own, took, NOTHING_NEW)
            bench = new_planks_alone(bench) or bench
        told = _part(tell, done / whole, step, step.share / whole)
        part = timed(told, _searched(step, bench))
        kept = shelf.kept(own[step.name])
        try:
            if kept is None:
                took[step.name] = _made(step, bench, shelf, own, part)
            elif step.name == "butts" and seconds is not None and not _proved(Made(*kept)):
                took[step.name] = _searched_again(Made(*kept), bench, shelf, own, part)
            else:
                bench.made[step.name] = Made(*kept)
        except NotConverged as why:
            return Run(bench, own, took, f"{step.does} did not settle: {why}")
        except MemoryError:
            return Run(bench, own, took, f"{step.does} was left: {NO_MEMORY}")
        done += step.share
    if {"shop", "laying", "boards"} <= bench.made.keys():
        bench.made["shop"] = on_its_boards(bench)
    tell(1.0, "planned")
    return Run(new_planks_alone(bench) or bench, own, took)


def _in_order(steps: Sequence[Step], forms: Mapping[str, Form]) -> tuple[Step, ...]:
    """Put what is of a repair after all that is of the whole hull."""
    return tuple(sorted(steps, key=lambda step: renews(forms) and step.name in OF_REPAIR))


def _made(step: Step, bench: Bench, shelf: Shelf, own: Mapping[str, str], tell: Tell) -> float:
    """Make a step and keep it; gives the seconds it took."""
    began = time.perf_counter()
    with held(_searched(step, bench)):
        made = make(step.name, bench, tell)
    bench.made[step.name] = made
    spent = time.perf_counter() - began
    _keep(step, bench, shelf, own, spent)
    return spent


def _keep(step: Step, bench: Bench, shelf: Shelf, own: Mapping[str, str], spent: float) -> None:
    """Keep what is on the bench; where the disk has no room for it the work goes on without."""
    made = bench.made[step.name]
    try:
        name = kept_as(step.name, bench.forms)
        shelf.keep(own[step.name], name, (made.result, made.findings), __version__, spent)
    except NoRoom as wrong:
        if not bench.unkept:
            bench.unkept = f"{wrong}; what is made now is shown, but not kept"
            log.warning("%s", bench.unkept)


def _searched(step: Step, bench: Bench) -> float:
    """Give how long a step is to search, in s; 0 for one that does not."""
    if step.name == "butts":
        return bench.seconds
    if step.name == "laying":
        return LAYING_SECONDS
    return float(bench.rules[step.name].seconds) if step.name in {"order", "work"} else 0.0


def _proved(made: Made) -> bool:
    """Tell whether a layout of butts is proved the best there is."""
    layouts = [layout for layout in made.result[1:] if layout]
    return all(layout.feasible and all(g.proved for g in layout.goals) for layout in layouts)


def _searched_again(
    kept: Made, bench: Bench, shelf: Shelf, own: Mapping[str, str], tell: Tell
) -> float:
    """Search for butts afresh and keep the better; what came of the old is kept no longer."""
    step = step_named("butts")
    began = time.perf_counter()
    with held(_searched(step, bench)):
        found = make(step.name, bench, tell)
    spent = time.perf_counter() - began
    better = found if _reached(found) < _reached(kept) else kept
    bench.made[step.name] = better
    if better is found:
        shelf.forget([own[name] for name in (*_after(step), step.name)])
        _keep(step, bench, shelf, own, spent)
    return spent


def _reached(made: Made) -> tuple[list[tuple[bool, list[float]]], list[list[float]]]:
    """Give how good a layout is, less being better: that it fits, goal by goal, what is proved."""
    layouts = [layout for layout in made.result[1:] if layout]
    reached = [(not each.feasible, [goal.value for goal in each.goals]) for each in layouts]
    return reached, [[-goal.bound for goal in each.goals] for each in layouts]


def _after(step: Step) -> list[str]:
    """List the steps made from a step's result, and those made from theirs."""
    found = {step.name}
    for other in STEPS:
        if found & set(other.after):
            found.add(other.name)
    return sorted(found - {step.name})


def _part(tell: Tell, start: float, step: Step, share: float) -> Tell:
    """Tell of one step's progress as a part of the whole."""
    tell(start, step.does)
    return lambda part, words: tell(start + part * share, words or step.does)
