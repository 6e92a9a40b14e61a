"""Shop: steaming, fastenings, caulking, order of hanging."""

from ribband.shop.planking import Crossing, Planking
from ribband.shop.steaming import steam, yard_rules
from ribband.shop.steaming_check import check_steaming
from ribband.shop.steaming_model import Box, SteamedPlank, Steaming, YardRule
from ribband.shop.steaming_rules import SteamingRules

__all__ = [
    "Box",
    "Crossing",
    "Planking",
    "SteamedPlank",
    "Steaming",
    "SteamingRules",
    "YardRule",
    "check_steaming",
    "steam",
    "yard_rules",
]
