"""Views: one drawing a module."""
