"""Planks: the list, with sizes, areas and weights."""
