"""Ribband: plank a wooden hull, from a tape's girths to a planking book."""

__version__ = "0.1.0"
