"""A species of timber: what is known of its weight and shrinkage, and who says so.

Values that nobody read are None; every value has the key of its source. *Specific gravity* here
is oven-dry weight over the volume named (green, or at 12 % moisture content), water = 1.
Shrinkages are green to oven-dry, per cent.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Figure", "Species"]

FIBRE_SATURATION = 30.0  # per cent; shrinkage begins below it, Wood Handbook 2010 eq. 4-7


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure and the key of its source; `value` None where not known."""

    value: float | None
    source: str = ""


@dataclass(frozen=True, slots=True)
class Species:
    """A species; `also` are other names it goes by.

    change_radial, change_tangential : part of a dimension that moves for each per cent of moisture
        between 6 and 14 (Wood Handbook 2010, Table 13-5)
    fibre_saturation : moisture content below which it shrinks, per cent; None is the usual 30
    """

    name: str
    also: tuple[str, ...]
    gravity_green: Figure
    gravity_12: Figure
    volumetric: Figure
    radial: Figure
    tangential: Figure
    change_radial: Figure = Figure(None)
    change_tangential: Figure = Figure(None)
    fibre_saturation: Figure = Figure(None)

    def density(self, moisture_percent: float) -> float | None:
        """Give kg/m3, water included, at a moisture content from 0 to 30 %; None if not known.

        1000 G (1 + x/100), Wood Handbook 2010 ch. 4, where G is brought from the volume it was
        measured on to the volume at x by the volumetric shrinkage; where that is not known G
        at 12 % is taken as it stands, and G green gives no density.

        Raises
        ------
        ValueError : moisture content outside 0 to 30 %

        >>> none = Figure(None)
        >>> ash = Species("ash", (), Figure(0.55), Figure(0.605), Figure(13.3), none, none)
        >>> round(ash.density(12.0))
        678
        """
        if not 0.0 <= moisture_percent <= FIBRE_SATURATION:
            raise ValueError(f"moisture content from 0 to 30 per cent, not {moisture_percent:g}")
        gravity = self.gravity(moisture_percent)
        return None if gravity is None else 1000.0 * gravity * (1 + moisture_percent / 100)

    def gravity(self, moisture_percent: float) -> float | None:
        """Give the specific gravity on the volume at a moisture content, or None."""
        shrinkage = self.volumetric.value
        if self.gravity_12.value is not None:
            if shrinkage is None:
                return self.gravity_12.value
            return (
                self.gravity_12.value
                * _shrunk(shrinkage, 12.0)
                / _shrunk(shrinkage, moisture_percent)
            )
        if self.gravity_green.value is None or shrinkage is None:
            return None
        return self.gravity_green.value / _shrunk(shrinkage, moisture_percent)

    @property
    def weight_source(self) -> str:
        """Give the key of the source of the specific gravity used; empty if there is none."""
        return (
            self.gravity_12.source
            if self.gravity_12.value is not None
            else self.gravity_green.source
        )


def _shrunk(volumetric_percent: float, moisture_percent: float) -> float:
    """Give the volume at a moisture content over the green volume (eq. 4-7, linear below 30 %)."""
    return 1 - volumetric_percent / 100 * (1 - moisture_percent / FIBRE_SATURATION)
