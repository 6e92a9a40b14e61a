"""Steaming: need, time, heat, box."""
