"""Shop: steaming, fastenings, caulking, handling, order of hanging, plan of work."""

from ribband.shop.blocks.rules import BlockRules
from ribband.shop.blocks.solve import Block, Blocks, BlockSize, check_blocks, size_blocks
from ribband.shop.caulking.check import check_caulking
from ribband.shop.caulking.model import Caulking
from ribband.shop.caulking.rules import CaulkingRules
from ribband.shop.caulking.solve import caulk, fills
from ribband.shop.fastenings.check import check_fastenings
from ribband.shop.fastenings.model import Choice, Fastenings
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.fastenings.solve import fasten
from ribband.shop.fastenings.tables import read_fastenings, width_sets
from ribband.shop.handling.check import check_handling
from ribband.shop.handling.lift import Lift, Limit, limit
from ribband.shop.handling.model import Handled, Handling, Leg, Load
from ribband.shop.handling.rules import HandlingRules
from ribband.shop.handling.solve import handle, read_path
from ribband.shop.handling.turn import longest_turn
from ribband.shop.hanging.check import check_hanging
from ribband.shop.hanging.model import Hanging, Look, Place
from ribband.shop.hanging.rules import HangingRules
from ribband.shop.hanging.seats import Against, against, seams, seats
from ribband.shop.hanging.solve import order_hanging, shapes_by_plank
from ribband.shop.planking import Crossing, Planking
from ribband.shop.steaming.check import check_steaming
from ribband.shop.steaming.model import Box, SteamedPlank, Steaming, YardRule
from ribband.shop.steaming.rules import SteamingRules
from ribband.shop.steaming.solve import steam, yard_rules
from ribband.shop.supplies import Supply, read_supplies
from ribband.shop.whole import Shop, ShopRules, work_shop
from ribband.shop.work.check import check_work
from ribband.shop.work.compare import (
    Case,
    Outcome,
    bad_weather,
    compare,
    longer_boards,
    more_gear,
    more_hands,
)
from ribband.shop.work.days import DayOff, Days, next_monday
from ribband.shop.work.forecast import Forecast, forecast
from ribband.shop.work.forms import (
    Logged,
    done_of,
    read_calendar,
    read_crew,
    read_gear,
    read_log,
    read_rates,
)
from ribband.shop.work.learning import Learned, learn, learned_rates
from ribband.shop.work.measures import measures
from ribband.shop.work.model import Hand, Measure, Rate, Step, Stint, Work, WorkPlan
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rates import default_rates, with_own
from ribband.shop.work.rules import WorkRules

__all__ = [
    "Against",
    "Block",
    "BlockRules",
    "BlockSize",
    "Blocks",
    "Box",
    "Case",
    "Caulking",
    "CaulkingRules",
    "Choice",
    "Crossing",
    "DayOff",
    "Days",
    "FasteningRules",
    "Fastenings",
    "Forecast",
    "Hand",
    "Handled",
    "Handling",
    "HandlingRules",
    "Hanging",
    "HangingRules",
    "Learned",
    "Leg",
    "Lift",
    "Limit",
    "Load",
    "Logged",
    "Look",
    "Measure",
    "Outcome",
    "Place",
    "Planking",
    "Rate",
    "Shop",
    "ShopRules",
    "SteamedPlank",
    "Steaming",
    "SteamingRules",
    "Step",
    "Stint",
    "Supply",
    "Work",
    "WorkPlan",
    "WorkRules",
    "YardRule",
    "against",
    "bad_weather",
    "caulk",
    "check_blocks",
    "check_caulking",
    "check_fastenings",
    "check_handling",
    "check_hanging",
    "check_steaming",
    "check_work",
    "compare",
    "default_rates",
    "done_of",
    "fasten",
    "fills",
    "forecast",
    "handle",
    "learn",
    "learned_rates",
    "limit",
    "longer_boards",
    "longest_turn",
    "measures",
    "more_gear",
    "more_hands",
    "next_monday",
    "order_hanging",
    "plan_work",
    "read_calendar",
    "read_crew",
    "read_fastenings",
    "read_gear",
    "read_log",
    "read_path",
    "read_rates",
    "read_supplies",
    "seams",
    "seats",
    "shapes_by_plank",
    "size_blocks",
    "steam",
    "width_sets",
    "with_own",
    "work_shop",
    "yard_rules",
]
