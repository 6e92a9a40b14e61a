"""Shop: steaming, fastenings, caulking, order of hanging."""

from ribband.shop.blocks import Block, Blocks, BlockSize, check_blocks, size_blocks
from ribband.shop.blocks_rules import BlockRules
from ribband.shop.caulking import caulk, fills
from ribband.shop.caulking_check import check_caulking
from ribband.shop.caulking_model import Caulking
from ribband.shop.caulking_rules import CaulkingRules
from ribband.shop.fastenings import fasten
from ribband.shop.fastenings_check import check_fastenings
from ribband.shop.fastenings_model import Choice, Fastenings
from ribband.shop.fastenings_rules import FasteningRules
from ribband.shop.fastenings_tables import read_fastenings, width_sets
from ribband.shop.handling import handle, read_path
from ribband.shop.handling_check import check_handling
from ribband.shop.handling_lift import Lift, Limit, limit
from ribband.shop.handling_model import Handled, Handling, Leg, Load
from ribband.shop.handling_rules import HandlingRules
from ribband.shop.handling_turn import longest_turn
from ribband.shop.planking import Crossing, Planking
from ribband.shop.steaming import steam, yard_rules
from ribband.shop.steaming_check import check_steaming
from ribband.shop.steaming_model import Box, SteamedPlank, Steaming, YardRule
from ribband.shop.steaming_rules import SteamingRules
from ribband.shop.whole import Shop, ShopRules, work_shop

__all__ = [
    "Block",
    "BlockRules",
    "BlockSize",
    "Blocks",
    "Box",
    "Caulking",
    "CaulkingRules",
    "Choice",
    "Crossing",
    "FasteningRules",
    "Fastenings",
    "Handled",
    "Handling",
    "HandlingRules",
    "Leg",
    "Lift",
    "Limit",
    "Load",
    "Planking",
    "Shop",
    "ShopRules",
    "SteamedPlank",
    "Steaming",
    "SteamingRules",
    "YardRule",
    "caulk",
    "check_blocks",
    "check_caulking",
    "check_fastenings",
    "check_handling",
    "check_steaming",
    "fasten",
    "fills",
    "handle",
    "limit",
    "longest_turn",
    "read_fastenings",
    "read_path",
    "size_blocks",
    "steam",
    "width_sets",
    "work_shop",
    "yard_rules",
]
