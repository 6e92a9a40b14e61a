"""Timber: boards and what planks weigh."""
