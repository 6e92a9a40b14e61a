"""Shop: steaming, fastenings, caulking, order of hanging."""

from ribband.shop.fastenings import fasten
from ribband.shop.fastenings_check import check_fastenings
from ribband.shop.fastenings_model import Choice, Fastenings
from ribband.shop.fastenings_rules import FasteningRules
from ribband.shop.fastenings_tables import read_fastenings, width_sets
from ribband.shop.planking import Crossing, Planking
from ribband.shop.steaming import steam, yard_rules
from ribband.shop.steaming_check import check_steaming
from ribband.shop.steaming_model import Box, SteamedPlank, Steaming, YardRule
from ribband.shop.steaming_rules import SteamingRules

__all__ = [
    "Box",
    "Choice",
    "Crossing",
    "FasteningRules",
    "Fastenings",
    "Planking",
    "SteamedPlank",
    "Steaming",
    "SteamingRules",
    "YardRule",
    "check_fastenings",
    "check_steaming",
    "fasten",
    "read_fastenings",
    "steam",
    "width_sets",
    "yard_rules",
]
