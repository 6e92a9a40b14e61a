"""Drawing: one neutral sheet in millimetres, played to SVG, PDF and DXF."""
