"""Butts: where planks of a strake meet, by rule."""
