"""Timber: boards, what they measure and weigh, how they move, and what to buy."""

from ribband.timber.board_model import Board, Flaw
from ribband.timber.measure import board_feet, practice_board_feet, volume_m3
from ribband.timber.model import Figure, Species
from ribband.timber.moisture import (
    Movement,
    equilibrium_celsius,
    equilibrium_fahrenheit,
    movement,
    partial_shrinkage,
)
from ribband.timber.moisture_dress import Dressing, DressRules, check_dressing, will_it_dress
from ribband.timber.moisture_seams import SeamMovement, SeamRules, move_seams
from ribband.timber.species import species, species_named
from ribband.timber.tally import read_boards
from ribband.timber.tally_count import TallyRules, TallySum, count

__all__ = [
    "Board",
    "DressRules",
    "Dressing",
    "Figure",
    "Flaw",
    "Movement",
    "SeamMovement",
    "SeamRules",
    "Species",
    "TallyRules",
    "TallySum",
    "board_feet",
    "check_dressing",
    "count",
    "equilibrium_celsius",
    "equilibrium_fahrenheit",
    "move_seams",
    "movement",
    "partial_shrinkage",
    "practice_board_feet",
    "read_boards",
    "species",
    "species_named",
    "volume_m3",
    "will_it_dress",
]
