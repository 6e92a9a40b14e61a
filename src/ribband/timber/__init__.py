"""Timber: boards and what planks weigh."""

from ribband.timber.model import Figure, Species
from ribband.timber.species import species, species_named

__all__ = ["Figure", "Species", "species", "species_named"]
