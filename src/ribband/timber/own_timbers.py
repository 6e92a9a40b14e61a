"""The yard's own figures for a timber, as on the form `timbers`, put over those of the table.

*Own*: a density weighed at a moisture, shrinkages from green to oven-dry. What a row gives stands
in place of the table's figure; of what it leaves blank the table's is kept, if it knows the
timber at all. Every own figure has the source `YARD`, and is marked so wherever it is shown.

Not checked: whether a sample was dry when it was weighed, or stands for the boards in the yard.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ribband.errors import InputError, Problem
from ribband.survey.rows import Row
from ribband.timber.model import FIBRE_SATURATION, Figure, Species
from ribband.timber.species import species_named
from ribband.units import POUND

__all__ = ["YARD", "read_timbers"]

YARD = "yard"  # key of the source
LB_FT3 = float(POUND) / 0.3048**3  # kg/m3
USUAL_PERCENT = 12.0  # moisture of a density given without one
NOTHING = Figure(None)


def read_timbers(rows: Sequence[Row]) -> tuple[Species, ...]:
    """Read the form `timbers`: timbers of the table with the yard's figures in, or new ones.

    Raises
    ------
    InputError : a timber twice, a row without a figure, shrinkages the wrong way about; all of them

    >>> row = Row({"timber": "larch", "density": 610.0, "at": 15.0}, "timbers.csv", 2)
    >>> (own,) = read_timbers([row])
    >>> own.name, round(own.density(15.0)), own.weight_source
    ('European larch', 610, 'yard')
    """
    problems: list[Problem] = []
    found: dict[str, Species] = {}
    for row in rows:
        own = _own(row)
        problems += _wrong(row, own, found)
        found[own.name.casefold()] = own
    if problems:
        raise InputError(problems)
    return tuple(found.values())


def _own(row: Row) -> Species:
    name = " ".join(str(row.values["timber"]).split())
    known = species_named(name) or Species(name, (), *[NOTHING] * 5)
    for way in ("radial", "tangential"):
        if row.values.get(way) is not None:
            figures = {way: Figure(float(row.values[way]), YARD), f"change_{way}": NOTHING}
            known = replace(known, **(figures | {"volumetric": NOTHING}))  # type: ignore[arg-type]
    if known.volumetric.value is None:
        known = replace(known, volumetric=_volumetric(known))
    return known if row.values.get("density") is None else _weighed(known, row)


def _volumetric(species: Species) -> Figure:
    """Give the shrinkage of the volume by those across the grain; along it is next to none."""
    across = species.radial.value, species.tangential.value
    if None in across:
        return NOTHING
    left = 1.0
    for percent in across:
        left *= 1 - (percent or 0.0) / 100
    return Figure(100 * (1 - left), "calculated")


def _weighed(species: Species, row: Row) -> Species:
    """Bring a density at a moisture to the specific gravity on the volume at 12 %."""
    at = row.values.get("at")
    moisture = USUAL_PERCENT if at is None else float(at)
    times = LB_FT3 if row.values.get("unit") == "lb/ft3" else 1.0
    gravity = float(row.values["density"]) * times / 1000 / (1 + moisture / 100)
    there = replace(species, gravity_green=NOTHING, gravity_12=Figure(gravity, YARD))
    if species.volumetric.value is None:
        return there
    as_there = there.gravity(moisture)  # what this gravity on the volume at 12 % would be there
    return replace(there, gravity_12=Figure(gravity * gravity / (as_there or gravity), YARD))


def _wrong(row: Row, own: Species, found: dict[str, Species]) -> list[Problem]:
    v, wrong = row.values, []
    if all(v.get(column) is None for column in ("density", "radial", "tangential")):
        wanted = "a density or a shrinkage of the yard's own"
        wrong.append(Problem(row.file, row.number, "density", "", wanted, "610"))
    if own.name.casefold() in found:
        typed = str(v["timber"])
        wrong.append(Problem(row.file, row.number, "timber", typed, "each timber once"))
    radial, tangential = own.radial.value, own.tangential.value
    if radial is not None and tangential is not None and radial > tangential:
        wanted = f"no more than the tangential, {tangential:g}: wood shrinks more round the rings"
        wrong.append(Problem(row.file, row.number, "radial", f"{radial:g}", wanted, "3.3"))
    at = v.get("at")
    if at is not None and not 0.0 <= at <= FIBRE_SATURATION:
        wanted = f"moisture it was weighed at, 0 to {FIBRE_SATURATION:g} per cent"
        wrong.append(Problem(row.file, row.number, "at", f"{at:g}", wanted, "12"))
    return wrong
