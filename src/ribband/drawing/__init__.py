"""Drawing: one neutral sheet in millimetres, played to SVG, PDF and DXF."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Page, Sheet, Title
    from ribband.drawing.views.body import body_plan
    from ribband.drawing.views.expansion import expansion
    from ribband.drawing.views.girths import girth_curve
    from ribband.drawing.views.lines import lines_drawing
    from ribband.drawing.views.ticks import tick_strips
    from ribband.drawing.views.widths import widths_table

__all__ = [
    "Page",
    "Setting",
    "Sheet",
    "Title",
    "body_plan",
    "expansion",
    "girth_curve",
    "lines_drawing",
    "tick_strips",
    "widths_table",
]

_ROOMS = {
    "Page": "sheet", "Sheet": "sheet", "Title": "sheet", "Setting": "board",
    "body_plan": "views.body", "expansion": "views.expansion", "girth_curve": "views.girths",
    "lines_drawing": "views.lines", "tick_strips": "views.ticks", "widths_table": "views.widths",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    """Open a view only when it is asked for: drawing loads much."""
    if name not in _ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_ROOMS[name]}"), name)
