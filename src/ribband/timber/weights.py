"""What planks weigh as they leave the pile: as thick and as wet as the boards they are sawn from.

The plank list weighs every plank at the vessel's rough thickness and one moisture; a board may be
a quarter thicker, or green. So who lifts a plank is asked of the board it lies on.

Not checked: that boards weigh what the tally says.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.planks.model import Plank
from ribband.timber.board_model import Cut
from ribband.timber.tally.count import Counted
from ribband.units import BOARD_FEET_PER_M3

__all__ = ["rough_on_boards"]


def rough_on_boards(
    planks: Sequence[Plank], cuts: Sequence[Cut], tally: Sequence[Counted]
) -> dict[str, float]:
    """Give what the planks laid weigh rough, kg, with their allowances on.

    Parameters
    ----------
    planks : of the list, rough at the vessel's thickness; those of no thickness are left out
    cuts : which plank lies on which board
    tally : the boards as tallied; nothing is given on one whose weight is not known
    """
    listed = {plank.name: plank for plank in planks if plank.rough_mm}
    boards = {line.board: line for line in tally if line.kg and line.volume_m3}
    found = {}
    for cut in cuts:
        if cut.plank in listed and cut.board in boards:
            plank, board = listed[cut.plank], boards[cut.board]
            assert board.kg is not None  # noqa: S101 - only boards of a known weight are looked at
            thicker = board.thickness_mm / plank.rough_mm
            volume_m3 = plank.rough_board_feet / BOARD_FEET_PER_M3 * thicker
            found[plank.name] = volume_m3 * board.kg / board.volume_m3
    return found
