"""The alternatives of a study: what is changed in a job, and its forms with the change made.

*Knob*: one thing that is turned. A rule by its name (``lining.greatest_width``); ``strakes``, the
number of strakes, which sets the fewest and the most tried; ``stock``, the lengths to be had
(``12-0-0 x 40; 18-0-0``); ``hands``, so many who can do everything, in place of the crew;
``seed``, where the searches begin; ``form.crew`` and the like, a form in place of the job's, from
a CSV file. *Setting*: a knob and its text. *Alternative*: a name and its settings.

Not checked here: that a setting can be kept; planning it shows that.
"""

from __future__ import annotations

import csv
import io
import itertools
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ribband.app.entering.rules import with_rule
from ribband.errors import InputError, Problem
from ribband.survey.rows import Form

__all__ = ["AS_IT_IS", "MOST", "Alternative", "crossed", "forms_with", "listed", "read_vary"]

AS_IT_IS = "as it is"
MOST = 5_000  # alternatives of one study
MOST_BYTES = 2_000_000
SEEDS = 2**31
PLAIN = ("strakes", "stock", "hands", "seed")

Settings = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to do it: its name, and what is set otherwise than in the job."""

    name: str
    settings: Settings = ()

    @property
    def seed(self) -> int:
        """Where its searches begin.

        >>> Alternative("a", (("seed", "3"),)).seed
        3
        """
        return int(dict(self.settings).get("seed", "0"))


def read_vary(text: str) -> tuple[str, tuple[str, ...]]:
    """Read one knob and its values, parted by commas.

    Raises
    ------
    InputError : it has no values

    >>> read_vary("strakes=9, 10,11")
    ('strakes', ('9', '10', '11'))
    """
    knob, _, values = text.partition("=")
    found = tuple(value.strip() for value in values.split(",") if value.strip())
    if not knob.strip() or not found:
        raise InputError([_wrong("vary", text, "a knob and its values", "strakes=9,10,11")])
    return knob.strip(), found


def crossed(knobs: Sequence[tuple[str, Sequence[str]]]) -> tuple[Alternative, ...]:
    """Cross the values of every knob with those of every other.

    Raises
    ------
    InputError : a knob twice, one that is not known, or too many alternatives

    >>> [a.name for a in crossed([("strakes", ("9", "10")), ("seed", ("1",))])]
    ['strakes 9, seed 1', 'strakes 10, seed 1']
    """
    names = [knob for knob, _ in knobs]
    _known(names)
    count = 1
    for _, values in knobs:
        count *= len(values)
    _few(count)
    every = itertools.product(*(values for _, values in knobs))
    return tuple(_named(tuple(zip(names, values, strict=True))) for values in every)


def listed(path: Path) -> tuple[Alternative, ...]:
    """Read the alternatives of a file: CSV, a row each, or TOML.

    In a CSV file the headings are knobs, and ``alternative`` names the row; an empty cell leaves
    the job as it is. In a TOML file ``[vary]`` is crossed and every ``[[alternative]]`` is one.

    Raises
    ------
    InputError : the file cannot be read, a knob is not known, or there is nothing in it
    """
    text = _text(path)
    found = _from_toml(path, text) if path.suffix.lower() == ".toml" else _from_csv(path, text)
    if not found:
        raise InputError([Problem(path.name, 0, "", "nothing to compare", "a row for each")])
    _few(len(found))
    return found


def forms_with(forms: Mapping[str, Form], own: Alternative, beside: Path) -> dict[str, Form]:
    """Give the job's forms with an alternative's settings made; files lie `beside`.

    Raises
    ------
    InputError : a setting that cannot be read
    """
    found = dict(forms)
    for knob, text in own.settings:
        if knob == "seed":
            _whole(knob, text, 0, SEEDS)
        elif knob == "strakes":
            n = _whole(knob, text, 3, 80)
            for rule in ("least_strakes", "most_strakes"):
                found["rules"] = with_rule(found.get("rules"), f"lining.{rule}", str(n))
        elif knob == "hands":
            found.pop("crew", None)
            n = _whole(knob, text, 1, 200)
            found["rules"] = with_rule(found.get("rules"), "work.hands", str(n))
        elif knob == "stock":
            found["stock"] = _stock(text)
        elif knob.startswith("form."):
            form = _other_form(knob, beside / text)
            found[form.name] = form
        else:
            found["rules"] = with_rule(found.get("rules"), knob, text)
    return found


def _from_csv(path: Path, text: str) -> tuple[Alternative, ...]:
    first = text.splitlines()[0] if text.strip() else ""
    mark = max(",;\t", key=first.count)
    rows = [
        row for row in csv.reader(io.StringIO(text), delimiter=mark) if any(map(str.strip, row))
    ]
    if not rows:
        return ()
    head = [cell.strip() for cell in rows[0]]
    _known([knob for knob in head if knob != "alternative"], path.name)
    return tuple(_row(head, row) for row in rows[1:])


def _row(head: Sequence[str], row: Sequence[str]) -> Alternative:
    cells = dict(zip(head, (cell.strip() for cell in row), strict=False))
    name = cells.pop("alternative", "")
    settings = tuple((knob, text) for knob, text in cells.items() if text)
    return Alternative(name, settings) if name else _named(settings)


def _from_toml(path: Path, text: str) -> tuple[Alternative, ...]:
    try:
        body = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as wrong:
        raise InputError([Problem(path.name, 0, "", str(wrong), "TOML")]) from wrong
    vary, each = body.get("vary", {}), body.get("alternative", [])
    if not isinstance(vary, dict) or not isinstance(each, list):
        wanted = "a table [vary], and tables [[alternative]]"
        raise InputError([Problem(path.name, 0, "", "another thing", wanted)])
    flat = dict(_flat(vary))
    knobs = [(k, tuple(map(str, v)) if isinstance(v, list) else (str(v),)) for k, v in flat.items()]
    return (*(crossed(knobs) if knobs else ()), *(_one(path, own) for own in each))


def _one(path: Path, own: Any) -> Alternative:
    if not isinstance(own, dict):
        raise InputError([Problem(path.name, 0, "alternative", str(own), "a table of knobs")])
    name = str(own.get("name", ""))
    settings = tuple((knob, str(value)) for knob, value in _flat(own) if knob != "name")
    _known([knob for knob, _ in settings], path.name)
    return Alternative(name, settings) if name else _named(settings)


def _flat(table: Mapping[str, Any], before: str = "") -> list[tuple[str, Any]]:
    """Undo what TOML makes of a dotted name that is not in quotes."""
    found: list[tuple[str, Any]] = []
    for name, value in table.items():
        if isinstance(value, dict):
            found += _flat(value, f"{before}{name}.")
        else:
            found.append((f"{before}{name}", _yes_or_no(value)))
    return found


def _yes_or_no(value: Any) -> Any:
    return ("yes" if value else "no") if isinstance(value, bool) else value


def _named(settings: Settings) -> Alternative:
    said = ", ".join(f"{knob.rpartition('.')[2]} {text}" for knob, text in settings)
    return Alternative(said.replace("_", " ") or AS_IT_IS, settings)


def _known(knobs: Sequence[str], file: str = "vary") -> None:
    wanted = "a rule by its name, " + ", ".join(PLAIN) + " or form.NAME"
    problems = [
        _wrong(file, knob, wanted, "lining.greatest_width")
        for knob in knobs
        if knob not in PLAIN and "." not in knob
    ]
    problems += [
        _wrong(file, knob, "each knob once", "") for knob in dict.fromkeys(knobs)
        if knobs.count(knob) > 1
    ]  # fmt: skip
    if problems:
        raise InputError(problems)


def _few(count: int) -> None:
    if count > MOST:
        raise InputError([_wrong("study", f"{count} alternatives", f"at most {MOST}", "")])


def _whole(knob: str, text: str, least: int, most: int) -> int:
    if not (text.isascii() and text.isdigit() and least <= int(text[:12]) <= most):
        raise InputError([_wrong(knob, text, f"a whole number, {least} to {most}", str(least))])
    return int(text)


def _stock(text: str) -> Form:
    """Write the form `stock` from lengths parted by ``;``, each with how many after an x.

    >>> _stock("12-0-0 x 40; 18-0-0").rows
    (('12-0-0', '40'), ('18-0-0', ''))
    """
    parts = [part.strip() for part in text.split(";") if part.strip()]
    cells = [part.partition(" x ") for part in parts]
    rows = tuple((length.strip(), count.strip()) for length, _, count in cells)
    return Form("stock", ("length", "count"), rows, "stock", tuple(range(2, len(rows) + 2)))


def _other_form(knob: str, path: Path) -> Form:
    from ribband.survey.columns import LAYOUTS
    from ribband.survey.csv_forms import read_csv

    name = knob.partition(".")[2]
    if name not in LAYOUTS:
        raise InputError([_wrong(knob, name, "a form: " + ", ".join(LAYOUTS), "form.crew")])
    if not path.is_file():
        raise InputError([_wrong(knob, path.name, "a CSV file beside the job", f"{name}.csv")])
    form, problems = read_csv(path, name)
    if problems:
        raise InputError(problems)
    return form


def _text(path: Path) -> str:
    try:
        body = path.read_bytes()[: MOST_BYTES + 1]
        if len(body) > MOST_BYTES:
            raise InputError([Problem(path.name, 0, "", "a large file", "at most 2 MB")])
        return body.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as wrong:
        said = getattr(wrong, "strerror", "") or "no text in UTF-8"
        raise InputError([Problem(str(path), 0, "", said, "a CSV or TOML file")]) from wrong


def _wrong(where: str, found: str, wanted: str, example: str) -> Problem:
    return Problem(where, 0, "", found, wanted, example)
