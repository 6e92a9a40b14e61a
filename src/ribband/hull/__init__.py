"""Hull: the fair surface between rabbet and sheer, and girths along it."""

from ribband.hull.check import check
from ribband.hull.model import Doubt, Floats, GirthLines, Hull, Likely, SideDifference, Surface
from ribband.hull.rules import HullRules
from ribband.hull.solve import fit

__all__ = [
    "Doubt",
    "Floats",
    "GirthLines",
    "Hull",
    "HullRules",
    "Likely",
    "SideDifference",
    "Surface",
    "check",
    "fit",
]
