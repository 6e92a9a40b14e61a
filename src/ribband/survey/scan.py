"""A scan in place of a tape: read it, set it upright, cut it at the frames, go on as with points.

``read_scan`` gives a `Cloud`; ``place`` finds the hull in it and sets her in her own axes, with the
shipwright's `Placing` as the last word; ``cut_at_frames`` gives the form `points`.

Not checked here: anything; each step says what it doubts.
"""

from __future__ import annotations

from ribband.survey.scan_cut import cut_at_frames
from ribband.survey.scan_file import read_scan
from ribband.survey.scan_model import Cloud, Cut, Datum, Placed, Placing
from ribband.survey.scan_place import place

__all__ = ["Cloud", "Cut", "Datum", "Placed", "Placing", "cut_at_frames", "place", "read_scan"]
