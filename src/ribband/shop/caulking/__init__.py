"""Caulking: seams, strands, weights, paying."""
