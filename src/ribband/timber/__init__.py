"""Timber: boards, what they measure and weigh, how they move, laying planks, what to buy."""

from ribband.timber.board_model import Board, Flaw
from ribband.timber.buying import (
    Bought,
    as_bought,
    boards_for,
    bought_boards,
    buy,
    classes_of,
    lost_boards,
    needs_of,
    not_named,
    thicker_bought,
    with_less_sure,
)
from ribband.timber.climate import ClimateRules, in_climate
from ribband.timber.laid import (
    Laid,
    LayWish,
    lay_longer,
    lay_pile,
    pieces_of_sides,
    read_layings,
    sawn_planks,
)
from ribband.timber.laid_twins import mate_words
from ribband.timber.laying.check import check as check_laying
from ribband.timber.laying.cuts import SawCut, retallied, saw_order
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.solve import lay_planks, pieces
from ribband.timber.laying.spoilt import relay
from ribband.timber.measure import board_feet, practice_board_feet, volume_m3
from ribband.timber.milling import Label, MillingLine, labels, milling_list
from ribband.timber.model import Figure, Species
from ribband.timber.moisture.dress import (
    Dressing,
    DressRules,
    check_dressing,
    will_it_dress,
)
from ribband.timber.moisture.seams import SeamMovement, SeamRules, move_seams
from ribband.timber.moisture.settling import (
    Movement,
    equilibrium_celsius,
    movement,
    partial_shrinkage,
)
from ribband.timber.narrowing import said_of_breadths
from ribband.timber.order.check import check as check_order
from ribband.timber.order.model import MillClass, Need, Order
from ribband.timber.order.needs import (
    lacking,
    mill_classes,
    needs_of_pieces,
    needs_of_planks,
    read_mill,
)
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.solve import order
from ribband.timber.order.words import delivery_note, order_rows
from ribband.timber.own_timbers import read_timbers
from ribband.timber.pile import Pile, PileRules, Wanted, fit_boards, gather
from ribband.timber.species import species, species_named
from ribband.timber.tally.boards import read_boards
from ribband.timber.tally.count import TallyRules, TallySum, count

__all__ = [
    "Board",
    "Bought",
    "ClimateRules",
    "DressRules",
    "Dressing",
    "Figure",
    "Flaw",
    "Label",
    "Laid",
    "LayWish",
    "LayingRules",
    "MillClass",
    "MillingLine",
    "Movement",
    "Need",
    "Order",
    "OrderRules",
    "Pile",
    "PileRules",
    "SawCut",
    "SeamMovement",
    "SeamRules",
    "Species",
    "TallyRules",
    "TallySum",
    "Wanted",
    "as_bought",
    "board_feet",
    "boards_for",
    "bought_boards",
    "buy",
    "check_dressing",
    "check_laying",
    "check_order",
    "classes_of",
    "count",
    "delivery_note",
    "equilibrium_celsius",
    "fit_boards",
    "gather",
    "in_climate",
    "labels",
    "lacking",
    "lay_longer",
    "lay_pile",
    "lay_planks",
    "lost_boards",
    "mate_words",
    "mill_classes",
    "milling_list",
    "move_seams",
    "movement",
    "needs_of",
    "needs_of_pieces",
    "needs_of_planks",
    "not_named",
    "order",
    "order_rows",
    "partial_shrinkage",
    "pieces",
    "pieces_of_sides",
    "practice_board_feet",
    "read_boards",
    "read_layings",
    "read_mill",
    "read_timbers",
    "relay",
    "retallied",
    "said_of_breadths",
    "saw_order",
    "sawn_planks",
    "species",
    "species_named",
    "thicker_bought",
    "volume_m3",
    "will_it_dress",
    "with_less_sure",
]
