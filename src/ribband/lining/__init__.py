"""Lining out: dividing the girth at every frame into strakes that run fair."""

from ribband.lining.check import check
from ribband.lining.lineout import Drag, hold, line_out
from ribband.lining.model import Alternative, Bind, Lining, Strake, Wish
from ribband.lining.old_strakes import beside_old
from ribband.lining.rules import LiningRules, WidthLimits, limits_of
from ribband.lining.wishes import read_wishes

__all__ = [
    "Alternative",
    "Bind",
    "Drag",
    "Lining",
    "LiningRules",
    "Strake",
    "WidthLimits",
    "Wish",
    "beside_old",
    "check",
    "hold",
    "limits_of",
    "line_out",
    "read_wishes",
]
