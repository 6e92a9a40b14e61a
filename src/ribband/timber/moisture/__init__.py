"""Moisture: where it settles, what it does to boards and seams."""
