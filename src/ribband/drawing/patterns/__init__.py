"""Full-size patterns of planks: one neutral sheet each, on a roll, in tiles, as DXF and SVG."""

from ribband.drawing.patterns.folder import KINDS, write_folder
from ribband.drawing.patterns.paper import roll, tiles, turned
from ribband.drawing.patterns.pattern import LAYERS, full_size

__all__ = ["KINDS", "LAYERS", "full_size", "roll", "tiles", "turned", "write_folder"]
