"""Hanging: the order of planks and the shutter."""
