"""Planks: the list, with sizes, areas and weights, and every plank's flat shape."""

from ribband.planks.check import check
from ribband.planks.flat_plank import FlatPlank
from ribband.planks.likely import with_likely
from ribband.planks.model import LengthClass, Plank, PlankList, Timber, Total, plank_name
from ribband.planks.rules import PlankRules
from ribband.planks.shape_check import check_shapes
from ribband.planks.shape_model import Grade, Shape, Shapes, Within
from ribband.planks.shape_rules import ShapeRules
from ribband.planks.shapes import flat_planks, get_shapes, scarf_of
from ribband.planks.solve import list_planks, only_these

__all__ = [
    "FlatPlank",
    "Grade",
    "LengthClass",
    "Plank",
    "PlankList",
    "PlankRules",
    "Shape",
    "ShapeRules",
    "Shapes",
    "Timber",
    "Total",
    "Within",
    "check",
    "check_shapes",
    "flat_planks",
    "get_shapes",
    "list_planks",
    "only_these",
    "plank_name",
    "scarf_of",
    "with_likely",
]
