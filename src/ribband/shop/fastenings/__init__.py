"""Fastenings: sizes, pattern, holding power, metals, totals."""
