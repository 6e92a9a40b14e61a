"""Rules of a job: what the form `rules` says, put over the defaults of each stage.

A rule's name on the form is its stage, a dot and its name without the unit: ``hull.tolerance``,
``lining.greatest_width``, ``butts.adjacent_spaces``. Lengths are written in the job's unit or with
their own, angles in degrees, yes or no as such. ``butts.set`` names a published set to start from.

Not checked here: that rules agree with each other; the stages do that.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, fields, replace
from importlib import import_module
from typing import Any

from ribband.errors import InputError, Problem
from ribband.rulebook import Rule, describe, with_values
from ribband.survey.rows import Form
from ribband.survey.typed import headings
from ribband.units import format_length, format_weight, imperial, in_unit, parse_length

__all__ = [
    "LISTED",
    "ShownRule",
    "as_shown",
    "in_force",
    "list_rules",
    "of_length",
    "of_stage",
    "shown_rules",
    "with_rule",
]

LISTED = {
    "hull": ("ribband.hull", "HullRules"),
    "lining": ("ribband.lining", "LiningRules"),
    "butts": ("ribband.butts.rules", "ButtRules"),
    "planks": ("ribband.planks", "PlankRules"),
    "shapes": ("ribband.planks", "ShapeRules"),
    "tally": ("ribband.timber", "TallyRules"),
    "climate": ("ribband.timber", "ClimateRules"),
    "dressing": ("ribband.timber", "DressRules"),
    "seams": ("ribband.timber", "SeamRules"),
    "laying": ("ribband.timber", "LayingRules"),
    "order": ("ribband.timber", "OrderRules"),
    "steaming": ("ribband.shop", "SteamingRules"),
    "fastenings": ("ribband.shop", "FasteningRules"),
    "blocks": ("ribband.shop", "BlockRules"),
    "caulking": ("ribband.shop", "CaulkingRules"),
    "handling": ("ribband.shop", "HandlingRules"),
    "hanging": ("ribband.shop", "HangingRules"),
    "work": ("ribband.shop", "WorkRules"),
    "record": ("ribband.record", "RecordRules"),
    "relining": ("ribband.record", "ReliningRules"),
    "repair": ("ribband.record", "RepairRules"),
}
ENDINGS = ("_mm", "_rad")
COARSE = 0.1  # part of a length that may be lost in writing it
ONCE = {"seams.planking_percent": "dressing.planking_percent"}  # rules that had another name
YES, NO = {"yes", "true", "1"}, {"no", "false", "0"}


@dataclass(frozen=True, slots=True)
class ShownRule:
    """A rule as the shipwright sees it: every number as text in the job's unit."""

    name: str
    value: str
    default: str
    least: str
    most: str
    unit: str
    says: str
    source: str
    changed: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the form: a rule's name within its stage, its text and where it stands."""

    stage: str
    name: str
    text: str
    file: str
    row: int


def of_stage(form: Form | None, stage: str) -> dict[str, str]:
    """Give what the form says of one stage, name to text as typed, in order of name."""
    lines = sorted(_lines(form), key=lambda line: line.name)
    return {line.name: line.text for line in lines if line.stage == stage}


def in_force(form: Form | None, unit: str) -> dict[str, Any]:
    """Give the rules of every stage with the form's values put in.

    Raises
    ------
    InputError : every unknown name, unreadable value and value out of range
    """
    lines = _lines(form)
    problems = [
        Problem(line.file, line.row, "rule", f"{line.stage}.{line.name}".strip("."), _stages())
        for line in lines
        if line.stage not in LISTED
    ]
    rules = {}
    for stage in LISTED:
        try:
            rules[stage] = _put_in(stage, [line for line in lines if line.stage == stage], unit)
        except InputError as wrong:
            problems += wrong.problems
    if problems:
        raise InputError(problems)
    given = {f"{line.stage}.{line.name}" for line in lines}
    if "butts.trim" not in given:
        rules["butts"] = replace(rules["butts"], trim_mm=_over_length(rules))
    rules["planks"] = replace(rules["planks"], **_left_on(rules, given))
    return rules


def _left_on(rules: Mapping[str, Any], given: Collection[str]) -> dict[str, float]:
    """Give what is left on a listed plank where the yard does not say: what it is sawn with, mm.

    So list, weights and order are of the planks that boards are sawn into. The laying keeps the
    edges' allowance all round, at the ends over theirs.
    """
    laying = rules["laying"]
    sawn = {
        "edge_allowance": laying.allowance_mm,
        "end_allowance": laying.end_allowance_mm + laying.allowance_mm,
    }
    return {f"{name}_mm": mm for name, mm in sawn.items() if f"planks.{name}" not in given}


def _over_length(rules: Mapping[str, Any]) -> float:
    """Give what a board must have over a plank's length so that laying and order hold it, mm.

    The butts hand out stock by it: were it less, they would take a plank as coming out of a board
    that the order then says is too short.
    """
    order = rules["order"]
    ends = order.end_trim_mm + rules["laying"].end_allowance_mm
    return float(2 * ends + order.step_mm)


def of_length(name: str) -> bool:
    """Tell whether the rule of this name is a length.

    >>> of_length("hull.tolerance"), of_length("butts.passing"), of_length("none.such")
    (True, False, False)
    """
    stage, _, own = ONCE.get(name, name).partition(".")
    if stage not in LISTED:
        return False
    known = (f for f in fields(_start(stage, [])[0]) if "says" in f.metadata)
    return any(_plain_name(f.name) == own and f.metadata["unit"] == "mm" for f in known)


def list_rules(form: Form | None, unit: str) -> tuple[ShownRule, ...]:
    """List every rule of every stage as it is in force."""
    rules = in_force(form, unit)
    chosen = rules["butts"].name
    first = ShownRule(
        "butts.set", chosen, "house", "", "", "", _set_says(), "house", chosen != "house"
    )
    return (
        first,
        *(as_shown(stage, r, unit) for stage, own in shown_rules(rules).items() for r in own),
    )


def shown_rules(rules: Mapping[str, Any]) -> dict[str, tuple[Rule, ...]]:
    """List the rules in force by stage, each with the source of its number."""
    return {stage: _described(own) for stage, own in rules.items()}


def as_shown(stage: str, rule: Rule, unit: str) -> ShownRule:
    """Write a rule for the shipwright."""
    return ShownRule(
        name=f"{stage}.{_plain_name(rule.name)}",
        value=_text(rule.value, rule.unit, unit),
        default=_text(rule.default, rule.unit, unit),
        least=_text(rule.least, rule.unit, unit),
        most=_text(rule.most, rule.unit, unit),
        unit={"rad": "degrees", "mm": ""}.get(rule.unit, rule.unit),
        says=_says(rule, unit),
        source=rule.source,
        changed=rule.value != rule.default,
    )


def with_rule(form: Form | None, name: str, text: str) -> Form:
    """Give the form with one rule set, in its old place or at the end.

    >>> with_rule(None, "butts.passing", "2").rows
    (('butts.passing', '2', ''),)
    """
    old = form or Form("rules", ("rule", "value", "notes"), (), "rules.csv", ())
    names = headings(old)[0]
    at, value = names.index("rule"), names.index("value")
    rows = [list(row) for row in old.rows]
    mine = [row for row in rows if row[at].strip() == name]
    if not mine:
        mine = [[""] * len(old.header)]
        rows += mine
    for row in mine:
        row[at], row[value] = name, text
    numbers = (*old.numbers, max(old.numbers, default=1) + 1)[: len(rows)]
    return Form("rules", old.header, tuple(map(tuple, rows)), old.file, numbers, old.notes)


def _lines(form: Form | None) -> list[Line]:
    names = headings(form)[0] if form else ()
    if form is None or not {"rule", "value"} <= set(names):
        return []
    at, value = names.index("rule"), names.index("value")
    found = []
    for row, number in zip(form.rows, form.numbers, strict=True):
        said = row[at].strip()
        stage, _, name = ONCE.get(said, said).partition(".")
        if stage and row[value].strip():
            found.append(Line(stage, name, row[value].strip(), form.file, number))
    return found


def _stages() -> str:
    return "a rule's name: its stage (" + ", ".join(LISTED) + "), a dot, its name"


def _set_says() -> str:
    return "The set of butt rules to start from: " + ", ".join(_sets()) + "."


def _sets() -> dict[str, Any]:
    return dict(import_module("ribband.butts.rules").rule_sets())


def _class_of(stage: str) -> Any:
    module, name = LISTED[stage]
    return getattr(import_module(module), name)


def _put_in(stage: str, lines: list[Line], unit: str) -> Any:
    start, lines = _start(stage, lines)
    known = {_plain_name(f.name): f for f in fields(start) if "says" in f.metadata}
    values, rows, problems = {}, {}, []
    for line in lines:
        f = known.get(line.name)
        if f is None:
            wanted = f"a rule of {stage}: " + ", ".join(sorted(known))
            problems.append(Problem(line.file, line.row, "rule", f"{stage}.{line.name}", wanted))
            continue
        value = _parsed(line, f, unit)
        if isinstance(value, Problem):
            problems.append(value)
        else:
            values[f.name], rows[f.name] = value, line
    good = {name: value for name, value in values.items() if _in_range(start, name, value)}
    bad = [name for name in values if name not in good]
    problems += [_out_of_range(start, name, rows[name], unit) for name in bad]
    if problems:
        raise InputError(problems)
    return with_values(start, values, lines[0].file if lines else "rules.csv")


def _start(stage: str, lines: list[Line]) -> tuple[Any, list[Line]]:
    chosen = [line for line in lines if stage == "butts" and line.name == "set"]
    if not chosen:
        return (_sets()["house"] if stage == "butts" else _class_of(stage)()), lines
    sets = _sets()
    line = chosen[-1]
    if line.text not in sets:
        wanted = "a set of butt rules: " + ", ".join(sets)
        raise InputError([Problem(line.file, line.row, "value", line.text, wanted, "house")])
    return sets[line.text], [line for line in lines if line.name != "set"]


def _parsed(line: Line, f: Any, unit: str) -> Any:
    kind = f.metadata["unit"]
    try:
        if kind == "mm":
            return parse_length(line.text, unit)
        if kind == "rad":
            return math.radians(float(line.text.rstrip("° ").removesuffix("deg")))
        if f.name.endswith("slope"):
            return _slope(line.text)
        if kind == "o'clock":
            return _clock(line.text)
        return _plain_value(line.text, f.default)
    except ValueError as wrong:
        wanted = {"mm": f"a length ({wrong})", "rad": "an angle in degrees"}.get(kind, str(wrong))
        example = _text(f.default, kind, unit)
        return Problem(line.file, line.row, "value", line.text, wanted, example)


def _slope(text: str) -> float:
    """Read how long a scarf is for its thickness: 12, 12:1, 1:12, 12 to 1 or 1 in 12.

    A scarf is longer than the plank is thick, so that either way round says the same; one of the
    two must be 1.

    >>> [_slope(text) for text in ("12", "12:1", "12 : 1", "1:12", "1 in 12", "12 to 1")]
    [12.0, 12.0, 12.0, 12.0, 12.0, 12.0]
    """
    wanted = "a number such as 12, or 12:1 (1:12 and 1 in 12 are the same)"
    parts = re.split(r":|\bin\b|\bto\b", text)
    first, *second = [_number(part.strip(), float, wanted) for part in parts]
    if not second:
        return float(first)
    if len(second) > 1 or 1.0 not in (first, second[0]):
        raise ValueError(wanted)
    return float(max(first, second[0]))


def _clock(text: str) -> float:
    """Read a time of day as papers write it, or in hours and parts of an hour.

    >>> [_clock(text) for text in ("7:30", "07:30", "7.5", "12")]
    [7.5, 7.5, 7.5, 12.0]
    """
    wanted = "a time of day such as 7:30, or 7.5"
    hours, colon, minutes = text.partition(":")
    if not colon:
        return float(_number(text, float, wanted))
    if not re.fullmatch(r"\d{1,2}:[0-5]\d", text, re.ASCII):
        raise ValueError(wanted)
    return int(hours) + int(minutes) / 60


def _plain_value(text: str, default: Any) -> Any:
    if isinstance(default, bool):
        if text.lower() not in YES | NO:
            raise ValueError("yes or no")
        return text.lower() in YES
    if isinstance(default, int):
        return _number(text, int, "a whole number")
    if isinstance(default, float):
        return _number(text, float, "a number")
    return text


def _number(text: str, kind: type, wanted: str) -> Any:
    try:
        value = kind(text)
    except ValueError:
        raise ValueError(wanted) from None
    if not math.isfinite(value):
        raise ValueError(wanted)
    return value


def _in_range(start: Any, name: str, value: Any) -> bool:
    meta = start.__dataclass_fields__[name].metadata
    least, most = meta["least"], meta["most"]
    return (least is None or value >= least) and (most is None or value <= most)


def _out_of_range(start: Any, name: str, line: Line, unit: str) -> Problem:
    f = start.__dataclass_fields__[name]
    least, most = (_text(f.metadata[end], f.metadata["unit"], unit) for end in ("least", "most"))
    span = f"{least} to {most}" if most else f"{least} or more"
    kind = {"mm": "", "rad": "degrees"}.get(f.metadata["unit"], f.metadata["unit"])
    example = _text(f.default, f.metadata["unit"], unit)
    return Problem(line.file, line.row, "value", line.text, f"{span} {kind}".strip(), example)


def _described(own: Any) -> tuple[Rule, ...]:
    from ribband.butts.rules import ButtRules, shown

    return shown(own) if isinstance(own, ButtRules) else describe(own)


def _plain_name(name: str) -> str:
    for ending in ENDINGS:
        name = name.removesuffix(ending)
    return name


def _length(mm: float, unit: str) -> str:
    """Write a length in the job's unit, or finer where that would round it away.

    >>> _length(100.0, "ft"), _length(1.5, "ft"), _length(0.2, "cm")
    ('0.33 ft', '0.059 in', '0.2 mm')
    """
    said = format_length(mm, unit)
    return said if abs(parse_length(said, unit) - mm) <= COARSE * abs(mm) else _fine(mm, unit)


def _fine(mm: float, unit: str) -> str:
    return f"{mm / 25.4:.3g} in" if imperial(unit) else f"{mm:g} mm"


def _says(rule: Rule, unit: str) -> str:
    """Give a rule's words in the job's unit; a weight, which is typed in kg, in pounds too."""
    says = in_unit(rule.says, unit)
    if rule.unit != "kg" or not imperial(unit) or not isinstance(rule.value, float | int):
        return says
    return f"{says} {rule.value:g} kg is {format_weight(float(rule.value), unit)}."


def _text(value: Any, kind: str, unit: str) -> str:
    if value is None:
        return ""
    if kind == "mm":
        return _length(float(value), unit)
    if kind == "rad":
        return f"{math.degrees(value):g}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
