"""Laying planks on boards: candidates, search, bound, check."""
