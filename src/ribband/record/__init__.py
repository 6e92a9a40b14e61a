"""Record: the log, planks as hung, re-lining what is left, repairs."""

from ribband.record.forms import Bad, Photo, read_photos, read_renew
from ribband.record.hung import check_hung, drifts, hung_seams, read_hung
from ribband.record.log import check_log, reached, standing
from ribband.record.model import DONE, Drift, HungPoint, Opening, Relined, Standing
from ribband.record.relining import Planned, reline
from ribband.record.relining_check import check_relined
from ribband.record.rules import RecordRules
from ribband.record.whole import Left, SideLeft, Stuff, what_is_left

__all__ = [
    "DONE",
    "Bad",
    "Drift",
    "HungPoint",
    "Left",
    "Opening",
    "Photo",
    "Planned",
    "RecordRules",
    "Relined",
    "SideLeft",
    "Standing",
    "Stuff",
    "check_hung",
    "check_log",
    "check_relined",
    "drifts",
    "hung_seams",
    "reached",
    "read_hung",
    "read_photos",
    "read_renew",
    "reline",
    "standing",
    "what_is_left",
]
