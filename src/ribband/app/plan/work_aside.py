"""Bringing a job up to date in a process of its own, while the pages stay usable.

The search for butts goes in rounds, each longer: the best layout so far is kept in the job after
every round and shown, and better ones take its place. Ending the process at any moment loses
only the step it was at: every step before is kept, and the job file is never half written.

What goes over the pipe are small dicts with a "kind": "tell" (part, words, step), "kept" (a step
or round is done, with what is best so far), "done", "trouble" (says, problems).
"""

from __future__ import annotations

from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from ribband.app.entering.timber_use import lay_on
from ribband.app.plan.limits import NO_MEMORY, hold_memory
from ribband.app.plan.planning import Planned, plan, summary
from ribband.app.plan.steps import STEPS, keys, needed_for
from ribband.app.showing.answers import plain
from ribband.app.showing.work import show_work
from ribband.errors import InputError, RibbandError
from ribband.store import JobFile

__all__ = ["plan_aside"]

ROUNDS = (4.0, 10.0, 30.0, 120.0, 600.0)  # seconds of search for butts, one after the other
LONGER = {"laying": lay_on, "work": show_work}  # what may be searched on for by itself


def plan_aside(pipe: Connection, path: Path, last: str, seconds: float) -> None:
    """Bring `path` up to date as far as `last`, searching `seconds` in all; tell over `pipe`."""
    hold_memory()
    try:
        _rounds(pipe, path, last, seconds)
    except InputError as wrong:
        bare = all(problem.found == "no measurements" for problem in wrong.problems)
        says = "Nothing is measured yet." if bare else "The forms have to be mended first."
        pipe.send({"kind": "trouble", "says": says, "problems": plain(wrong.problems)})
    except RibbandError as wrong:
        pipe.send({"kind": "trouble", "says": str(wrong), "problems": []})
    except MemoryError:
        pipe.send({"kind": "trouble", "says": f"The work was left: {NO_MEMORY}.", "problems": []})
    except BrokenPipeError:
        return  # nobody listens any more: it was ended
    except Exception as wrong:
        says = f"Something went wrong in Ribband itself ({type(wrong).__name__}: {wrong})."
        pipe.send({"kind": "trouble", "says": says, "problems": []})
        raise
    finally:
        pipe.close()


def _rounds(pipe: Connection, path: Path, last: str, seconds: float) -> None:
    tell = _Teller(pipe)
    if last in LONGER and _searched(path):
        _longer(pipe, path, last, seconds, tell)
        return
    if "butts" in {step.name for step in needed_for(last)}:
        _search(pipe, path, seconds, tell)
    planned = plan(path, last, tell=tell)
    if says := planned.run.stopped or planned.run.bench.unkept:
        pipe.send({"kind": "trouble", "says": says, "problems": []})
    else:
        pipe.send({"kind": "done", "lines": plain(summary(planned.run))})


def _search(pipe: Connection, path: Path, seconds: float, tell: _Teller) -> None:
    """Search for butts in rounds, keeping the best after each."""
    left = seconds
    for length in ROUNDS:
        own = min(length, left)
        again = None if left == seconds and _searched(path) and own == seconds else own
        planned = plan(path, "butts", seconds=again, tell=tell)
        left -= own
        if left <= 0 or planned.run.stopped or _settled(planned):
            return
        pipe.send({"kind": "kept", "step": "butts", "lines": plain(summary(planned.run))})


def _longer(pipe: Connection, path: Path, last: str, seconds: float, tell: _Teller) -> None:
    """Search on for a better laying or plan of work; the planks stay as they are."""
    shown = LONGER[last](path, seconds, tell=tell)
    if not shown.lines:
        pipe.send({"kind": "trouble", "says": " ".join(shown.notes), "problems": []})
        return
    pipe.send({"kind": "kept", "step": last, "lines": []})
    pipe.send({"kind": "done", "lines": plain(shown.lines)})


def _searched(path: Path) -> bool:
    """Tell whether a layout of butts is kept for the forms as they are."""
    with JobFile.open(path) as job:
        key = keys(job.forms(), job.form_hashes())["butts"]
        return any(result.key == key for result in job.results())


def _settled(planned: Planned) -> bool:
    """Tell whether more searching can better nothing."""
    butts = planned.run.result("butts")
    layouts = [layout for layout in (butts or ())[1:] if layout]
    return all(layout.feasible and all(g.proved for g in layout.goals) for layout in layouts)


class _Teller:
    """Tells progress; when the next step begins, the one before is kept."""

    def __init__(self, pipe: Connection) -> None:
        self.pipe = pipe
        self.begins = {step.does: step.name for step in STEPS}
        self.step = ""

    def __call__(self, part: float, words: str) -> None:
        step = self.begins.get(words, self.step)
        if self.step and step != self.step:
            self._send({"kind": "kept", "step": self.step, "lines": []})
        self.step = step
        self._send({"kind": "tell", "part": part, "words": words, "step": step})

    def _send(self, said: dict[str, Any]) -> None:
        self.pipe.send(said)
