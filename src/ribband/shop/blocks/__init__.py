"""Butt blocks: sizes and timber."""
