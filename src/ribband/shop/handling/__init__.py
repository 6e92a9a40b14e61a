"""Handling: weights, lifting limits, the way through the shop."""
