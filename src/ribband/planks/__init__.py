"""Planks: the list, with sizes, areas and weights."""

from ribband.planks.check import check
from ribband.planks.model import LengthClass, Plank, PlankList, Timber, Total
from ribband.planks.rules import PlankRules
from ribband.planks.solve import list_planks

__all__ = [
    "LengthClass",
    "Plank",
    "PlankList",
    "PlankRules",
    "Timber",
    "Total",
    "check",
    "list_planks",
]
