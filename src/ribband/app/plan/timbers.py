"""The timber of the planking and of boards, the yard's own figures before the table's.

Reads the form `timbers` and finds a timber by its name; what the figures are good for is
`ribband.timber`'s.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ribband.survey.rows import Form

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.timber import Species

__all__ = ["planking_timber", "timbers_of"]


def timbers_of(forms: Mapping[str, Form], unit: str) -> tuple[Species, ...]:
    """Read the form `timbers`.

    Raises
    ------
    InputError : every cell that cannot be used
    """
    from ribband.app.plan.making import rows_of
    from ribband.timber import read_timbers

    return read_timbers(rows_of(forms, "timbers", unit))


def planking_timber(bench: Bench) -> Species | None:
    """Give the timber the form vessel names; None where nobody knows it.

    Raises
    ------
    InputError : a cell of the form `timbers` that cannot be used
    """
    from ribband.timber import species_named

    own = timbers_of(bench.forms, bench.unit)
    return species_named(bench.survey.particulars.species, own)
