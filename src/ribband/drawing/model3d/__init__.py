"""Model out: the planked hull in space, one body a plank."""

from ribband.drawing.model3d.gltf import write_gltf
from ribband.drawing.model3d.polyfaces import write_polyfaces
from ribband.drawing.model3d.solid import Body, bodies, net

__all__ = ["Body", "bodies", "net", "write_gltf", "write_polyfaces"]
