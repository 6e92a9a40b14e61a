"""Forms as a yard would fill them, for hulls made from one formula: half-breadth at (x, height).

A `Boat` is given by its profile (stem, stern, keel, sheer) and its sections; every figure on the
forms is worked out from it and rounded as it would be written down. x grows aft, z up, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ribband.errors import InputError, Problem
from ribband.survey import read_forms, read_survey
from ribband.survey.rows import Form, Forms
from ribband.units import format_length

Line = Callable[[float], float]


def cell(mm: float | None, unit: str = "mm") -> str:
    """A length as it would be written in a form."""
    if mm is None:
        return ""
    return f"{mm:.0f}" if unit == "mm" else format_length(mm, unit)


def form(name: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> Form:
    rows = tuple(tuple(row) for row in rows)
    return Form(name, tuple(header), rows, f"{name}.csv", tuple(range(2, len(rows) + 2)))


def problems_in(path: Path) -> tuple[Problem, ...]:
    """Give what is wrong with forms that are there to be read, or nothing."""
    try:
        read_survey(read_forms(path))
    except InputError as error:
        return error.problems
    return ()


@dataclass(frozen=True)
class Boat:
    """stem, stern: x of the rabbet at a height; sheer: height at x; section: share of beam."""

    beam: float
    stem: Line
    stern: Line
    sheer: Line
    section: Callable[[float, float], float]  # (height share, length share) -> 0..1 of half beam
    depth: float
    half_siding: float = 40.0

    def low(self, x: float) -> float:
        """Height of the rabbet at x: the keel at nothing, or where the plane meets an end."""
        z = np.linspace(0, 1.3 * self.depth, 2601)
        inside = [self.stem(a) <= x <= self.stern(a) for a in z]
        return float(z[int(np.argmax(inside))])

    def half(self, x: float, z: float) -> float:
        fore, aft = self.stem(z), self.stern(z)
        t = min(max((x - fore) / (aft - fore), 0.0), 1.0)
        h = min(max(z / self.sheer(x), 0.0), 1.0)
        return self.half_siding + (self.beam / 2 - self.half_siding) * self.section(h, t)

    def top(self) -> tuple[float, float]:
        """x of the sheer at stem and stern."""
        fore, aft = self.stem(self.depth), self.stern(self.depth)
        for _ in range(60):
            fore, aft = self.stem(self.sheer(fore)), self.stern(self.sheer(aft))
        return fore, aft

    def buttock(self, x: float, out: float) -> float | None:
        z = np.linspace(self.low(x), self.sheer(x), 1201)
        y = np.array([self.half(x, a) for a in z])
        if out <= y[0] or out >= y.max():
            return None
        k = int(np.argmax(y > out))
        return float(z[k - 1] + (out - y[k - 1]) / (y[k] - y[k - 1]) * (z[k] - z[k - 1]))

    def girth(self, x: float) -> float:
        z = self.low(x) + (self.sheer(x) - self.low(x)) * np.linspace(0, 1, 4001) ** 3
        y = np.array([self.half(x, a) for a in z])
        return float(np.hypot(np.diff(y), np.diff(z)).sum())

    def point(self, x: float, share: float) -> tuple[float, float, float]:
        """A point at a share of the girth up from the rabbet."""
        z = self.low(x) + (self.sheer(x) - self.low(x)) * np.linspace(0, 1, 1201) ** 3
        y = np.array([self.half(x, a) for a in z])
        s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(y), np.diff(z)))])
        return x, float(np.interp(share * s[-1], s, y)), float(np.interp(share * s[-1], s, z))


def round_section(fullness: float = 2.2, fine: float = 1.0) -> Callable[[float, float], float]:
    """Round sections that run out to both ends."""

    def section(h: float, t: float) -> float:
        plan = (1 - abs(2 * t - 1) ** (2 + 0.9 * h)) ** fine
        return plan * (1 - (1 - h) ** fullness) ** (0.62 + 0.35 * (1 - plan))

    return section


def transom_section(aft: float = 0.72) -> Callable[[float, float], float]:
    """Round sections that still have `aft` of their breadth at the stern."""

    def section(h: float, t: float) -> float:
        plan = 1 - (1 - t) ** 2.4 - (1 - aft) * max(2 * t - 1, 0.0) ** 2.5
        return plan * (1 - (1 - h) ** 2.3) ** (0.6 + 0.5 * (1 - t) + 0.25 * t**3)

    return section


def double_ender(length: float = 9000.0, beam: float = 2800.0, depth: float = 1300.0) -> Boat:
    """A curved stem, a raking sternpost, both ends sharp."""
    return Boat(
        beam,
        stem=lambda z: 900.0 * np.exp(-z / (0.45 * depth)) - 0.02 * z,
        stern=lambda z: length - 450.0 + 0.33 * z,
        sheer=lambda x: depth + 420.0 * (1 - x / (0.55 * length)) ** 2,
        section=round_section(),
        depth=depth,
    )


def transom_boat(length: float = 7000.0, beam: float = 2400.0, rake: float = 0.4) -> Boat:
    """A raking flat transom: its plane cuts the frames aft of the heel."""
    return Boat(
        beam,
        stem=lambda z: 700.0 * np.exp(-z / 450.0) - 0.15 * z,
        stern=lambda z: length - 400.0 + rake * z,
        sheer=lambda x: 1000.0 + 300.0 * (1 - x / (0.7 * length)) ** 2,
        section=transom_section(),
        depth=1000.0,
    )


def stations_of(boat: Boat, count: int) -> list[float]:
    fore, aft = boat.top()
    step = (aft - fore) / (count + 0.4)
    return [round(fore + 0.7 * step + k * step) for k in range(count)]


def vessel(boat: Boat, unit: str = "mm", **more: str) -> Form:
    said = {
        "vessel": "Marl Heron",
        "unit": unit,
        "planking": cell(25.4, unit),
        "rough": cell(31.75, unit),
        "half siding": cell(boat.half_siding, unit),
        **{name.replace("_", " "): value for name, value in more.items()},
    }
    return form("vessel", ("item", "value", "notes"), [(k, v, "") for k, v in said.items()])


def frames(x: Sequence[float], unit: str = "mm", names: Sequence[str] = ()) -> Form:
    names = names or [str(k + 1) for k in range(len(x))]
    rows = [(n, cell(a, unit), "", "", "", "") for n, a in zip(names, x, strict=True)]
    return form("frames", ("frame", "position", "sided", "moulded", "double", "notes"), rows)


def ends(boat: Boat, unit: str = "mm", which: Sequence[str] = ("stem", "stern")) -> Form:
    rows = []
    for end, line, x in zip(("stem", "stern"), (boat.stem, boat.stern), boat.top(), strict=True):
        top = boat.sheer(x)
        heights = top * np.linspace(0, 1, 9) ** 1.4 if end in which else ()
        siding = cell(boat.half_siding, unit)
        rows += [(end, cell(z, unit), cell(line(z), unit), siding, "") for z in heights]
    return form("ends", ("end", "height", "position", "half_siding", "notes"), rows)


def flat_end(boat: Boat, unit: str = "mm") -> list[tuple[str, ...]]:
    """Rows of a transom's edge: its points stand out from the centreline."""
    x = boat.top()[1]
    rows = []
    for z in boat.sheer(x) * np.linspace(0, 1, 11) ** 1.6:
        a = boat.stern(z)
        rows.append(("stern", cell(z, unit), cell(a, unit), cell(boat.half(a, z), unit), ""))
    return rows


def with_transom(boat: Boat, unit: str = "mm") -> Form:
    sharp = ends(boat, unit, ("stem",))
    return form("ends", sharp.header, [*sharp.rows, *flat_end(boat, unit)])


def offsets(
    boat: Boat,
    stations: Sequence[float],
    waterlines: Sequence[float],
    buttocks: Sequence[float] = (),
    unit: str = "mm",
    names: Sequence[str] = (),
) -> Form:
    """The table of offsets, blank where a line does not pass a station."""
    names = list(names) or [str(k) for k in range(len(stations))]
    row = lambda line, at, values: (line, at, *(cell(v, unit) for v in values), "")  # noqa: E731
    low, high = [boat.low(x) for x in stations], [boat.sheer(x) for x in stations]
    out_at = lambda z: [boat.half(*at) for at in zip(stations, z, strict=True)]  # noqa: E731
    rows = [
        row("position", "", stations),
        row("rabbet height", "", low),
        row("rabbet half-breadth", "", out_at(low)),
        row("sheer height", "", high),
        row("sheer half-breadth", "", out_at(high)),
    ]  # fmt: skip
    for z in waterlines:
        passes = [a < z < b for a, b in zip(low, high, strict=True)]
        cells = [boat.half(x, z) if p else None for x, p in zip(stations, passes, strict=True)]
        rows.append(row("waterline", cell(z, unit), cells))
    for out in buttocks:
        cells = [boat.buttock(x, out) for x in stations]
        if sum(c is not None for c in cells):
            rows.append(row("buttock", cell(out, unit), cells))
    return form("offsets", ("line", "at", *names, "notes"), rows)


def forms_of(*given: Form) -> Forms:
    return {f.name: f for f in given}


def changed(given: Form, row: int, column: str, text: str) -> Form:
    """The form with one cell typed anew; rows counted from 0."""
    k = given.header.index(column)
    rows = [list(r) for r in given.rows]
    rows[row][k] = text
    return form(given.name, given.header, rows)


def whole(
    boat: Boat,
    *,
    stations: int = 14,
    spacing: float = 400.0,
    transom: bool = False,
    unit: str = "mm",
    waterlines: int = 8,
    buttocks: int = 3,
    **more: str,
) -> Forms:
    """All the forms of a boat."""
    fore, aft = boat.top()
    heights = boat.sheer((fore + aft) / 2) * np.linspace(0, 1.25, waterlines + 1)[1:]
    outs = boat.beam / 2 * np.linspace(0, 1, buttocks + 2)[1:-1]
    step = {"mm": 10.0}.get(unit, 304.8 / 4)
    neat = lambda values: [step * round(a / step) for a in values]  # noqa: E731
    at = np.arange(fore + spacing, aft, spacing)
    return forms_of(
        vessel(boat, unit, **more), frames(list(at), unit),
        offsets(boat, neat(stations_of(boat, stations)), neat(heights), neat(outs), unit),
        with_transom(boat, unit) if transom else ends(boat, unit),
    )  # fmt: skip
