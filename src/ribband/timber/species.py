"""The table of species, ``data/species.csv``, and finding one by any name it goes by.

Not checked here: whether the figures are right for your timber; they are averages, and a plank
may be a fifth lighter or heavier.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from ribband.timber.model import Figure, Species

__all__ = ["another_timber", "names_like", "species", "species_named"]


@cache
def species() -> tuple[Species, ...]:
    """Give every species of the table, in its order."""
    text = files("ribband").joinpath("data", "species.csv").read_text(encoding="utf-8")
    return tuple(_species(row) for row in csv.DictReader(text.splitlines()))


def species_named(name: str, own: Sequence[Species] = ()) -> Species | None:
    """Find a species by its name or another it goes by, whatever the capitals; None if unknown.

    own : timbers of the yard, which go before the table's

    >>> species_named("oregon pine").name
    'Douglas-fir, coast'
    >>> species_named("larch of the yard") is None
    True
    """
    said = _plain(name)
    every = (*own, *species())
    return next((s for s in every if said in {_plain(n) for n in (s.name, *s.also)}), None)


def names_like(name: str, own: Sequence[Species] = ()) -> tuple[str, ...]:
    """Give the names known that are most like one that is not; all of them where none is.

    >>> names_like("douglas"), names_like("honduran mahogany")[0]
    (('Douglas-fir',), 'Honduras mahogany')
    """
    every = {_plain(n): n for s in (*own, *species()) for n in (s.name, *s.also)}
    near = get_close_matches(_plain(name), list(every), 3, 0.6)
    return tuple(every[own] for own in near) or tuple(s.name for s in species())


def another_timber(one: str, two: str) -> bool:
    """Tell whether two names are known to be of two timbers; a blank one may be any.

    >>> another_timber("Oregon pine", "Douglas-fir, coast"), another_timber("oak", "white oak")
    (False, True)
    >>> another_timber("", "white oak")
    False
    """
    if not one.strip() or not two.strip():
        return False
    first, second = species_named(one), species_named(two)
    if first is None and second is None:
        return _plain(one) != _plain(two)
    return first is not second


def _species(row: dict[str, str]) -> Species:
    return Species(
        name=row["species"],
        also=tuple(part.strip() for part in row["also"].split(";") if part.strip()),
        gravity_green=_figure(row["g_green"], row["g_green_source"]),
        gravity_12=_figure(row["g_12"], row["g_12_source"]),
        volumetric=_figure(row["volumetric_percent"], row["volumetric_source"]),
        radial=_figure(row["radial_percent"], row["shrinkage_source"]),
        tangential=_figure(row["tangential_percent"], row["shrinkage_source"]),
        change_radial=_figure(row["change_radial"], row["change_radial_source"]),
        change_tangential=_figure(row["change_tangential"], row["change_tangential_source"]),
        fibre_saturation=_figure(row["fibre_saturation_percent"], row["fibre_saturation_source"]),
    )


def _figure(text: str, source: str) -> Figure:
    return Figure(float(text), source) if text else Figure(None)


def _plain(name: str) -> str:
    return " ".join("".join(c if c.isalnum() else " " for c in name.lower()).split())
