"""Entering: every way by which the forms of a job change."""
