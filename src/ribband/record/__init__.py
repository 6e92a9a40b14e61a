"""Record: the log, planks as hung, re-lining what is left, repairs."""

from ribband.record.closing import shutter_fit, shutters_of
from ribband.record.costs import (
    Cost,
    CostSum,
    Wage,
    cost_sum,
    fastenings_cost,
    timber_to_buy,
    wages_by_operation,
    wages_planned,
    wages_real,
)
from ribband.record.forms import Bad, Photo, read_photos, read_renew
from ribband.record.hung import check_hung, drifts, edge_of, hung_seams, read_hung
from ribband.record.in_the_air import hung_in_the_air
from ribband.record.keeping import Got, HoursLine, PlankRecord, Record, keep_record
from ribband.record.log import check_log, reached, standing
from ribband.record.model import DONE, Drift, HungPoint, Opening, Relined, Standing
from ribband.record.old import OldNew, StrakeOldNew, old_and_new, old_by_strake
from ribband.record.overheads import Labour, overheads_cost, transport_cost
from ribband.record.picture import Picture, bare_picture
from ribband.record.recorded import OldSeams, old_butts_of, record_seams
from ribband.record.relining.check import check_relined
from ribband.record.relining.rules import ReliningRules
from ribband.record.relining.solve import Planned, reline
from ribband.record.repair.check import check_repair
from ribband.record.repair.cut_back import CutBack, cut_backs
from ribband.record.repair.hanging import check_turns_kept, hang_in_turns, lies_against
from ribband.record.repair.held import held_said
from ribband.record.repair.left import left_of_repair
from ribband.record.repair.model import Renewal, Repair, SideRepair
from ribband.record.repair.rules import RepairRules
from ribband.record.repair.solve import Recorded, joints_said, place_said, plan_repair
from ribband.record.rules import RecordRules
from ribband.record.stands import Present, Stands, as_it_stands
from ribband.record.supplied import Heating, Running, heating_of, supplies_cost
from ribband.record.whole import Left, SideLeft, Stuff, left_told, sides_left, what_is_left

__all__ = [
    "DONE",
    "Bad",
    "Cost",
    "CostSum",
    "CutBack",
    "Drift",
    "Got",
    "Heating",
    "HoursLine",
    "HungPoint",
    "Labour",
    "Left",
    "OldNew",
    "OldSeams",
    "Opening",
    "Photo",
    "Picture",
    "PlankRecord",
    "Planned",
    "Present",
    "Record",
    "RecordRules",
    "Recorded",
    "Relined",
    "ReliningRules",
    "Renewal",
    "Repair",
    "RepairRules",
    "Running",
    "SideLeft",
    "SideRepair",
    "Standing",
    "Stands",
    "StrakeOldNew",
    "Stuff",
    "Wage",
    "as_it_stands",
    "bare_picture",
    "check_hung",
    "check_log",
    "check_relined",
    "check_repair",
    "check_turns_kept",
    "cost_sum",
    "cut_backs",
    "drifts",
    "edge_of",
    "fastenings_cost",
    "hang_in_turns",
    "heating_of",
    "held_said",
    "hung_in_the_air",
    "hung_seams",
    "joints_said",
    "keep_record",
    "left_of_repair",
    "left_told",
    "lies_against",
    "old_and_new",
    "old_butts_of",
    "old_by_strake",
    "overheads_cost",
    "place_said",
    "plan_repair",
    "reached",
    "read_hung",
    "read_photos",
    "read_renew",
    "record_seams",
    "reline",
    "shutter_fit",
    "shutters_of",
    "sides_left",
    "standing",
    "supplies_cost",
    "timber_to_buy",
    "transport_cost",
    "wages_by_operation",
    "wages_planned",
    "wages_real",
    "what_is_left",
]
