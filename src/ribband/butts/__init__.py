"""Butts: where planks of a strake meet, by rule."""

from ribband.butts.check import Broken, check, check_sides, clashes, in_words
from ribband.butts.forms import read_stock, read_wishes
from ribband.butts.model import Butt, ButtWish, Goal, Layout, Relief, Ways
from ribband.butts.problem import landing_name, other_side, ways
from ribband.butts.rules import ButtRules, rule_sets, shown
from ribband.butts.solve import lay

__all__ = [
    "Broken",
    "Butt",
    "ButtRules",
    "ButtWish",
    "Goal",
    "Layout",
    "Relief",
    "Ways",
    "check",
    "check_sides",
    "clashes",
    "in_words",
    "landing_name",
    "lay",
    "other_side",
    "read_stock",
    "read_wishes",
    "rule_sets",
    "shown",
    "ways",
]
