"""Why a figure is what it is: what was typed, rules with their sources, method, revision.

Asked by words (``P7-2 width at 12``); answered from one table of things (`why/things.py`). The
value itself comes from the rows of the open tables, so that every figure there can be asked after.

Not checked here: the figure; the findings of the stage's own check stand beside it.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from ribband.app.entering.jobs import job_path
from ribband.app.entering.rules import ShownRule, list_rules
from ribband.app.plan.as_kept import as_kept, hull_and_repair
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan, summary
from ribband.app.plan.repair_steps import as_repair, renews
from ribband.app.plan.runner import Run, quiet
from ribband.app.plan.steps import STEPS, needed_for
from ribband.app.plan.timbers import planking_timber
from ribband.app.showing.answers import plain
from ribband.app.why.asked import Question, Subject, read_question
from ribband.app.why.inputs import Input, inputs_of, set_rules, stations_at
from ribband.app.why.names import COLUMNS, LABELS, for_label
from ribband.app.why.ready import kept_ready, tables_ready
from ribband.app.why.things import Thing, thing_named
from ribband.errors import InputError
from ribband.findings import Finding, Severity
from ribband.sources import MARKS, Source, source
from ribband.store import JobFile, KeptResult
from ribband.store.table_shapes import SHAPES, Shape
from ribband.timber.model import Figure
from ribband.timber.own_timbers import YARD
from ribband.units import format_area, format_length, format_small, format_volume, format_weight

__all__ = [
    "Leaned", "MadeStep", "RuleKept", "Said", "Why", "form_tags", "marks_of_labels", "why",
    "why_aside",
]  # fmt: skip

MOST_SAID, MOST_FOUND = 12, 8
MARKED = {*MARKS} - {"read", "calculated"}  # told beside a figure
UNREAD = ("from memory", "common practice")


@dataclass(frozen=True, slots=True)
class Said:
    """The figure itself: where it stands in the open tables, of what, and as it is written."""

    where: str
    of: str
    what: str
    value: str


@dataclass(frozen=True, slots=True)
class Leaned:
    """A source leaned on: how it is cited, how far it was read; `marked` where that is told."""

    key: str
    says: str
    mark: str
    marked: bool
    of: str = ""


@dataclass(frozen=True, slots=True)
class RuleKept:
    """A rule that bears on it, with the source of its number; `set_by` who set it in this job."""

    name: str
    value: str
    default: str
    changed: bool
    says: str
    source: Leaned
    set_by: str = ""


@dataclass(frozen=True, slots=True)
class MadeStep:
    """A step it was made in or from; `at` is empty where it is not kept for these forms."""

    step: str
    does: str
    key: str
    forms: tuple[str, ...]
    at: str = ""
    revision: int | None = None
    version: str = ""


@dataclass(frozen=True, slots=True)
class Why:
    """The answer; `steps` end with the one that made it."""

    asked: str
    thing: str
    says: str
    of: str
    values: tuple[Said, ...]
    inputs: tuple[Input, ...]
    rules: tuple[RuleKept, ...]
    data: tuple[Leaned, ...]
    method: str
    page: str
    findings: tuple[Finding, ...]
    steps: tuple[MadeStep, ...]
    revision: int
    who: str
    at: str
    unit: str

    @property
    def known(self) -> bool:
        """True where the figure itself was found."""
        return bool(self.values)


def why(path: Path, text: str, label: str = "", *, made: bool = False, tell: Tell = quiet) -> Why:
    """Say why a figure is what it is; with `made` nothing is brought up to date for it.

    Raises
    ------
    InputError : no thing of ours is named, no forms, forms or rules that cannot be used
    JobFileError : the job cannot be opened
    """
    path = job_path(path)
    kept = kept_ready(path) if made else hull_and_repair(path)
    shown = list_rules(kept.run.bench.forms.get("rules"), kept.run.bench.unit)
    asked = read_question(text, frozenset(rule.name for rule in shown), label)
    if not made:
        for step in _wanted(asked):
            if step not in kept.run.bench.made:
                plan(path, step, tell=tell)
                kept = hull_and_repair(path)
    if asked.subject.plank and renews(kept.run.bench.forms):
        kept = _of_the_repair(path, kept, made=made, tell=tell)
    with JobFile.open(path) as job:
        return _answer(job, kept, asked, shown)


def _of_the_repair(path: Path, kept: Planned, *, made: bool, tell: Tell) -> Planned:
    """Give the plan whose planks are a repair's new ones: names are theirs while it stands."""
    if not made and "repair" not in kept.run.bench.made:
        plan(path, "repair", tell=tell)
        kept = hull_and_repair(path)
    return as_repair(kept)


def why_aside(path: Path, text: str, label: str) -> dict[str, Any]:
    """Say why as plain values, from what is kept; for the pages.

    Raises
    ------
    InputError, JobFileError
    """
    found: dict[str, Any] = plain(why(path, text, label, made=True))
    return found


def marks_of_labels(path: Path) -> dict[str, list[str]]:
    """Give for every label of the pages what its figure leans on that was not read anywhere.

    Nothing is given where there are no forms yet, or rules that cannot be read.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    try:
        kept = as_kept(path, ("survey",))
    except InputError:
        return {}  # no forms yet, or some to be mended: every page says so
    shown = list_rules(kept.run.bench.forms.get("rules"), kept.run.bench.unit)
    found: dict[str, list[str]] = {}
    for key, labels in LABELS.items():
        thing = thing_named(key)
        own: list[str] = [
            source(rule.source).mark for rule in shown if rule.source and _bears(rule, thing)
        ]
        own += [leaned.mark for leaned in _leaned(thing, kept.run) if leaned.mark]
        marks = [str(mark) for mark in UNREAD if mark in own]
        found |= {label: marks for label in labels.split("|") if marks}
    return found


def form_tags(path: Path, names: Sequence[str]) -> str:
    """Give one word that changes whenever one of these forms does.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        hashes = job.form_hashes()
    return " ".join(hashes.get(name, "") for name in names)


def _bears(rule: ShownRule, thing: Thing) -> bool:
    return any(fnmatchcase(rule.name, pattern) for pattern in thing.rules)


def _wanted(asked: Question) -> tuple[str, ...]:
    """Name the steps that must be made for an answer."""
    of_plank = ("planks",) if asked.subject.plank and asked.thing.step in _AHEAD else ()
    return tuple(step for step in (asked.thing.step, *of_plank) if step)


_AHEAD = ("survey", "hull", "lining", "butts")  # of the list of planks


def _answer(job: JobFile, kept: Planned, asked: Question, shown: Sequence[ShownRule]) -> Why:
    thing, done = asked.thing, kept.run
    subject = _with_strake(asked.subject)
    own = kept.made
    return Why(
        asked.text, thing.key, thing.says, asked.subject.said,
        tuple(_values(kept, asked, subject)),
        tuple(_inputs(job, asked, subject, stations_at(done.result("survey"), subject.frame))),
        tuple(_rules(job, asked, shown)),
        tuple(_leaned(thing, done)),
        thing.method, f"docs/{thing.page}.md",
        tuple(_findings(kept, asked, subject)),
        tuple(_steps(thing, done.keys, job.results())),
        own.number, own.who, own.at, done.bench.unit,
    )  # fmt: skip


def _inputs(
    job: JobFile, asked: Question, subject: Subject, stations: Sequence[str]
) -> Iterator[Input]:
    """Give what was typed: the forms of the thing, and of the steps before what names it too."""
    if asked.rule:
        yield from [own for own in set_rules(job) if own.typed[0][1] == asked.rule]
        return
    yield from inputs_of(job, asked.thing.forms, subject, stations)
    if asked.thing.step and subject.said:
        own_steps = _before(asked.thing.step)
        before = [form for step in STEPS if step.name in own_steps for form in step.forms]
        more = [name for name in dict.fromkeys(before) if name not in asked.thing.forms]
        yield from [own for own in inputs_of(job, more, subject, stations) if own.row]


def _with_strake(subject: Subject) -> Subject:
    """Put in the strake a plank is of."""
    if subject.plank and not subject.strake:
        strake = subject.plank[1:].partition("-")[0]
        return Subject(subject.plank, strake, subject.frame, subject.board)
    return subject


# ---- the figure itself


def _values(kept: Planned, asked: Question, subject: Subject) -> Iterator[Said]:
    if asked.code:
        yield Said("findings", "", "found", _how_many(kept, asked))
    if asked.thing.key in {"rule", "finding", "source"}:
        return
    yield from _at_frame(kept, asked, subject)
    yield from _goals(kept, asked.thing)
    found = sorted(_in_tables(kept, asked, subject), key=lambda pair: -pair[0])
    if found:
        best = found[0][0]
        yield from [said for score, said in found if score == best][:MOST_SAID]
    elif not subject.said:
        yield from _in_summary(kept, asked.thing)


def _how_many(kept: Planned, asked: Question) -> str:
    """Say how often a code is found in the job as it stands, or that it is not known."""
    many, step = sum(own.code == asked.code for own in kept.run.findings), asked.thing.step
    if many:
        return f"{many} in this job"
    if step and step not in kept.run.bench.made:
        return f"not known: {step} is not made for what is typed now"
    return f"this job has no {asked.code} now"


def _at_frame(kept: Planned, asked: Question, subject: Subject) -> Iterator[Said]:
    """Give the width of a strake at a frame, which no open table has by itself."""
    lining = kept.run.result("lining")
    if asked.thing.key != "strake width" or lining is None or subject.frame not in lining.columns:
        return
    k = lining.columns.index(subject.frame)
    for n, strake in enumerate(lining.strakes):
        mm = float(lining.full_width_mm[n, k])
        if strake.name == subject.strake and mm > 0:
            of = f"strake {strake.name}, frame {subject.frame}"
            yield Said("lining", of, "width square across", _written(mm, "mm", kept.run.bench.unit))


def _goals(kept: Planned, thing: Thing) -> Iterator[Said]:
    """Give what the search for butts reached, which stands in the summary of the tables."""
    layouts = [own for own in (kept.run.result("butts") or ())[1:] if own]
    for goal in (goal for own in layouts for goal in own.goals if thing.key == "goal"):
        proved = "proved" if goal.proved else f"bound {goal.bound:g}"
        yield Said("summary.searches", "", goal.name, f"{goal.value:g}, {proved}")


def _in_summary(kept: Planned, thing: Thing) -> Iterator[Said]:
    for line in summary(kept.run):
        if for_label(line.what) == thing:
            remark = f" ({line.remark})" if line.remark else ""
            yield Said("summary", "", line.what, f"{line.value}{remark}")


def _in_tables(kept: Planned, asked: Question, subject: Subject) -> Iterator[tuple[int, Said]]:
    """Give figures of the open tables, each with how much of the subject its row names."""
    unit = kept.run.bench.unit
    for table, rows in tables_ready(kept).items():
        columns = _columns(table, asked)
        if not columns:
            continue
        shape = SHAPES[table]
        names = [column.name for column in shape.columns]
        for row in rows:
            cells = dict(zip(names, row, strict=True))
            score = _names_it(cells, asked.subject, subject)
            if score > 0:
                for name in columns:
                    yield score, _said(shape, cells, name, unit)


def _columns(table: str, asked: Question) -> list[str]:
    """Name the columns of a table that say the thing; not its own keys, where it has others."""
    if asked.column is not None:
        return [asked.column[1]] if asked.column[0] == table else []
    names = COLUMNS.get(table, {}).get(asked.thing.key, "").split()
    told = [name for name in names if name not in SHAPES[table].key]
    return told or names


def _names_it(cells: Mapping[str, Any], said: Subject, full: Subject) -> int:
    """Count how many parts of the subject a row names; 0 where it is of another."""
    score = 0
    for part, columns in _PARTS.items():
        wanted = getattr(full, part)
        there = [str(cells[name]) for name in columns if name in cells]
        if not wanted or not there:
            continue
        if wanted not in there:
            return 0
        score += 2 if getattr(said, part) else 1
    return score


_PARTS = {"plank": ("plank",), "strake": ("strake",), "frame": ("frame", "at"), "board": ("board",)}


def _said(shape: Shape, cells: Mapping[str, Any], name: str, unit: str) -> Said:
    column = next(own for own in shape.columns if own.name == name)
    of = ", ".join(str(cells[key]) for key in shape.key if cells.get(key) is not None)
    says = column.says or name
    kind = "small" if name.endswith("_within_mm") else column.unit
    return Said(f"{shape.name}.{name}", of, says, _written(cells[name], kind, unit))


def _written(value: Any, kind: str, unit: str) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if kind in _LENGTHS:
        return str(_LENGTHS[kind](float(value), unit))
    said = f"{value:.4g}" if isinstance(value, float) else str(value)
    return f"{said}{_MARKS.get(kind, '')}" if said else "not known"


_LENGTHS: Mapping[str, Any] = {
    "mm": format_length, "kg": format_weight, "m2": format_area, "m3": format_volume,
    "small": format_small,
}  # fmt: skip
_MARKS = {"deg": "°", "min": " min", "percent": " %"}


# ---- what it leans on


def _rules(job: JobFile, asked: Question, shown: Sequence[ShownRule]) -> Iterator[RuleKept]:
    wanted = (asked.rule,) if asked.rule else asked.thing.rules
    if asked.thing.key == "rule" and not asked.rule:
        wanted = ("*",)
    rows = {own.typed[0][1]: own for own in set_rules(job)}
    for rule in shown:
        if any(fnmatchcase(rule.name, pattern) for pattern in wanted):
            value = f"{rule.value} {rule.unit}".strip()
            default = f"{rule.default} {rule.unit}".strip()
            leaned = _source(rule.source)
            yield RuleKept(
                rule.name, value, default, rule.changed, rule.says, leaned, _set_by(rows, rule.name)
            )


def _set_by(rows: Mapping[str, Input], name: str) -> str:
    own = rows.get(name)
    if own is None:
        return ""
    return f"{own.file}, row {own.row}: revision {own.revision}, {own.who}, {own.at[:10]}"


def _source(key: str, of: str = "") -> Leaned:
    if not key:
        return Leaned("", "as set in this job", "", False, of)
    found: Source = source(key)
    return Leaned(key, str(found), found.mark, found.mark in MARKED, of)


def _leaned(thing: Thing, done: Run) -> Iterator[Leaned]:
    """Give the sources of the data tables that are looked into, each once a table."""
    survey = done.result("survey")
    for table in thing.data:
        named = table == "species" and survey is not None and survey.particulars.species.strip()
        for key in _of_timber(done) if named else _sources_in(table):
            yield _source(key, "timbers" if key == YARD else f"{table}.csv")


def _of_timber(done: Run) -> tuple[str, ...]:
    """Give the sources of the planking timber's figures, the yard's own among them."""
    kind = planking_timber(done.bench)
    figures = [] if kind is None else [getattr(kind, field.name) for field in fields(kind)]
    keys = (figure.source for figure in figures if isinstance(figure, Figure))
    return tuple(dict.fromkeys(key for key in keys if key))


@cache
def _sources_in(table: str) -> tuple[str, ...]:
    text = files("ribband").joinpath("data", f"{table}.csv").read_text("utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    keys = (row[c] for row in rows for c in row if c == "source" or c.endswith("_source"))
    return tuple(dict.fromkeys(key for key in keys if key))


def _findings(kept: Planned, asked: Question, subject: Subject) -> Iterator[Finding]:
    every = kept.run.findings
    if asked.code:
        yield from [own for own in every if own.code == asked.code][:MOST_FOUND]
        return
    made = kept.run.bench.made.get(asked.thing.step)
    own = made.findings if made is not None else every if asked.thing.key == "finding" else ()
    rank = sorted(own, key=lambda finding: -list(Severity).index(finding.severity))
    yield from [finding for finding in rank if _about(finding, subject)][:MOST_FOUND]


def _about(finding: Finding, subject: Subject) -> bool:
    if not subject.said:
        return True
    names = [subject.plank, *(f"{part} {getattr(subject, part)}" for part in
                              ("strake", "frame", "board") if getattr(subject, part))]  # fmt: skip
    if subject.strake and subject.frame:
        told = _named(f"strake {subject.strake}", finding.where)
        names = names[:1] + [f"frame {subject.frame}"] * told
    return any(name and _named(name, finding.where) for name in names)


def _named(name: str, where: str) -> bool:
    """Tell whether a finding names a thing, by itself or in a row of them ("strakes 3 to 9").

    >>> _named("strake 4", "strakes 3 to 9, frame 2"), _named("strake 14", "strakes 3 to 9")
    (True, False)
    >>> _named("frame 12", "strake 3, frames 10 to 20"), _named("P1-1", "planks P1-12")
    (True, False)
    """
    if re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", where):
        return True
    kind, _, number = name.partition(" ")
    rows = re.findall(rf"{kind}s [^;]*?(\d+) to (\d+)", where) if number.isdigit() else ()
    return any(int(first) <= int(number) <= int(last) for first, last in rows)


def _steps(
    thing: Thing, keys: Mapping[str, str], results: Sequence[KeptResult]
) -> Iterator[MadeStep]:
    if not thing.step:
        return
    by_key = {result.key: result for result in results}
    for step in needed_for(thing.step):
        if step.name in _before(thing.step):
            own = by_key.get(keys[step.name])
            at, revision, version = (own.at, own.revision, own.version) if own else ("", None, "")
            yield MadeStep(step.name, step.does, keys[step.name], step.forms, at, revision, version)


def _before(name: str) -> set[str]:
    """Name a step and all it is made from."""
    found = {name}
    for step in reversed(needed_for(name)):
        if step.name in found:
            found.update(step.after)
    return found
