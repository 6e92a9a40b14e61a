"""The steps from forms to the order, and what each of them depends on.

*Step*: one stage of the work as it is run and kept. Its *key* is a hash of everything its result
came from: the forms and rules it reads, the keys of the steps before it, and the text of the
program that makes it (the stage's own room, the shared numerics and the data tables). Change one
form and only the steps that read it, and those after them, have a new key: their kept results are
stale.

Nothing is computed here; `ribband.app.plan.making` does that.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from ribband.app.entering.rules import of_stage
from ribband.app.plan.log_keys import part_of, renews
from ribband.survey.rows import Form

__all__ = [
    "MEASURED",
    "OF_REPAIR",
    "STEPS",
    "WHOLE",
    "Step",
    "kept_as",
    "keys",
    "look_again",
    "needed_for",
    "step_named",
    "with_repair",
]

SHAPE = ("vessel", "frames", "girths", "offsets", "ends", "points", "doubts")
OLD = ("old_strakes", "old_butts", "old_fastenings")
MEASURED = (*SHAPE, *OLD)
BASE_ROOMS = ("numerics", "data", "survey")


@dataclass(frozen=True, slots=True)
class Step:
    """One step: `after` are the steps whose results it is made from, `forms` what it reads."""

    name: str
    after: tuple[str, ...]
    forms: tuple[str, ...]
    does: str
    share: float  # of the time the whole takes, for the progress line
    rooms: tuple[str, ...] = ()  # where its program lies, if not in the one of its own name
    rules: tuple[str, ...] = ()  # the stages, or single rules, that it keeps, if not its own
    part: str = (
        ""  # where it goes by a part of its forms only: which, by `ribband.app.plan.log_keys`
    )


PILE = ("laying.other_timber", "laying.wettest_percent")  # which boards are left
STEPS = (
    Step("survey", (), MEASURED, "reading the measurements", 0.02),
    Step("hull", (), SHAPE, "fairing the hull", 0.25),
    Step("lining", ("hull",), ("old_strakes", "lining"), "lining out", 0.25),
    Step("butts", ("lining",), ("butts", "stock"), "laying out butts", 0.43),
    Step(
        "planks",
        ("butts",),
        ("timbers",),
        "listing the planks",
        0.03,
        ("planks", "timber"),
        ("planks", "shapes"),
    ),
    Step("shapes", ("butts",), (), "rolling the planks out flat", 0.02, ("planks",)),
    Step(
        "repair",
        ("survey", "planks"),
        ("renew",),
        "planning what is renewed",
        0.02,
        ("record", "lining", "butts", "planks"),
        ("repair",),
    ),
    Step(
        "boards",
        ("lining",),
        ("boards", "outlines", "timbers"),
        "tallying the pile",
        0.01,
        ("timber",),
        ("planks", "tally", "climate", "dressing", "seams", *PILE),
    ),
    Step(
        "stands",
        ("planks", "shapes"),
        ("log", "as_hung"),
        "seeing what stands",
        0.02,
        ("record", "shop", "lining", "butts", "planks"),
        ("relining",),
        part="stands",
    ),
    Step(
        "laying",
        ("stands", "boards"),
        ("layings", "log"),
        "laying planks on boards",
        0.2,
        ("timber", "planks"),
        part="got out",
    ),
    Step("order", ("laying",), ("mill", "stock"), "making out the order", 0.1, ("timber",)),
    Step(
        "shop",
        ("stands", "boards"),
        ("fastenings", "path", "gear", "supplies"),
        "working out steam, fastenings and caulking",
        0.02,
        ("shop", "timber"),
        ("steaming", "fastenings", "blocks", "caulking", "handling"),
    ),
    Step(
        "hanging",
        ("stands",),
        ("log",),
        "putting the planks in order",
        0.01,
        ("shop",),
        part="hung",
    ),
    Step(
        "work",
        ("shop", "hanging"),
        ("rates", "crew", "gear", "calendar", "log"),
        "planning the work",
        0.1,
        ("shop",),
        ("work", "hanging", "steaming"),
    ),
    Step(
        "relined",
        ("stands",),
        ("log", "as_hung"),
        "dividing what is left",
        0.02,
        ("record", "shop", "lining", "butts", "planks"),
        ("record",),
    ),
)


# Of the new planks alone, while the form renew asks for anything:
OF_REPAIR = ("boards", "laying", "order", "shop", "hanging", "work", "relined")
WHOLE = "all"  # said in place of a step's name: every one of them
MAIN = ("survey", "hull", "lining", "butts", "planks", "shapes")  # made in one go as far as asked


def step_named(name: str) -> Step:
    """Find a step.

    >>> step_named("butts").after
    ('lining',)
    """
    return next(step for step in STEPS if step.name == name)


def needed_for(last: str | Sequence[str]) -> tuple[Step, ...]:
    """List the steps to be made for `last`, one or several, in the order of the work.

    All of the main line up to it, so that what is cheap is there; of the others what it is made
    from.

    >>> [step.name for step in needed_for("shapes")]
    ['survey', 'hull', 'lining', 'butts', 'planks', 'shapes']
    >>> [step.name for step in needed_for(("boards", "planks"))][-2:]
    ['shapes', 'boards']
    >>> len(needed_for(WHOLE)) == len(STEPS)
    True
    """
    wanted = {last} if isinstance(last, str) else set(last)
    if WHOLE in wanted:
        return STEPS
    order = [step.name for step in STEPS]
    far = max(map(order.index, wanted))
    names = wanted | {name for name in MAIN if order.index(name) <= far}
    for step in reversed(STEPS):
        if step.name in names:
            names.update(step.after)
    return tuple(step for step in STEPS if step.name in names)


def with_repair(last: str | Sequence[str], forms: Mapping[str, Form]) -> tuple[str, ...]:
    """Give what is to be made for `last`: the repair with it where what it needs is of that.

    >>> with_repair("order", {})
    ('order',)
    """
    wanted = (last,) if isinstance(last, str) else tuple(last)
    asked = renews(forms) and any(step.name in OF_REPAIR for step in needed_for(wanted))
    return (*wanted, "repair") if asked else wanted


def kept_as(step: str, forms: Mapping[str, Form]) -> str:
    """Give the name a step's result is kept under: a repair's are never taken for a hull's.

    >>> kept_as("laying", {})
    'laying'
    """
    return f"{step} of a repair" if step in OF_REPAIR and renews(forms) else step


def keys(forms: Mapping[str, Form], hashes: Mapping[str, str]) -> dict[str, str]:
    """Give the key of every step for these forms; `hashes` are the forms' own.

    >>> len(keys({}, {})["hull"])
    64
    """
    found: dict[str, str] = {}
    more = ("repair",) if renews(forms) else ()
    for step in STEPS:
        after = (*step.after, *more) if step.name in OF_REPAIR else step.after
        own = {
            "step": step.name,
            "program": _program(step.rooms or (step.name,)),
            "after": [found[name] for name in after],
            "forms": _forms(step, forms, hashes),
            "rules": _rules(forms.get("rules"), step),
        }
        text = json.dumps(own, sort_keys=True, ensure_ascii=False)
        found[step.name] = hashlib.sha256(text.encode()).hexdigest()
    return found


def _forms(step: Step, forms: Mapping[str, Form], hashes: Mapping[str, str]) -> dict[str, str]:
    """Give the hashes of the forms a step reads; of those it goes by in part, that part."""
    read = {name: hashes[name] for name in step.forms if name in hashes}
    return part_of(step.part, forms, read) if step.part else read


def _rules(form: Form | None, step: Step) -> dict[str, str]:
    """Give what the form says of the rules a step keeps, name to text as typed."""
    if not step.rules:
        return of_stage(form, step.name)
    found: dict[str, str] = {}
    for kept in step.rules:
        stage, _, one = kept.partition(".")
        own = of_stage(form, stage)
        found |= {f"{stage}.{name}": text for name, text in own.items() if one in {"", name}}
    return found


def look_again() -> None:
    """Look at the program's own text again, for a server under which it was brought up to date."""
    _program.cache_clear()


@lru_cache(maxsize=32)
def _program(rooms: tuple[str, ...]) -> str:
    """Hash the program text a result depends on, so an old result is never taken for new."""
    root = files("ribband")
    digest = hashlib.sha256()
    for room in (*BASE_ROOMS, *rooms):
        for file in _files(root.joinpath(room)):
            digest.update(_framed(room, file))
    for name in ("units.py", "rulebook.py"):
        digest.update(_framed("", root.joinpath(name)))
    return digest.hexdigest()


def _files(folder: Traversable) -> Iterator[Traversable]:
    for found in sorted(folder.iterdir(), key=lambda f: f.name):
        if found.is_dir():
            yield from _files(found)
        elif found.name.endswith((".py", ".csv")):
            yield found


def _framed(room: str, file: Traversable) -> bytes:
    body = file.read_bytes()
    return f"{room}/{file.name} {len(body)}\n".encode() + body
