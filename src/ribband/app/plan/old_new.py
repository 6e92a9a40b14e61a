"""What every plank is got out of, and the old planking set beside it.

Of a repair only the new planks are there; where none crosses an old strake, the old one stays.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.app.plan.planning import Planned
    from ribband.record import Got, OldNew

__all__ = ["got_out_of", "old_of"]


def got_out_of(planned: Planned) -> Mapping[str, Got]:
    """Give what each plank is got out of and held by; it answers for planks without a board."""
    from ribband.record import Got
    from ribband.store.table_timber import board_of_planks

    done = planned.run
    laid, shop = done.result("laying"), done.result("shop")
    boards = {board.name: board for board in (laid.boards if laid else ())}
    species = done.bench.survey.particulars.species
    held = shop.fastenings.sized(done.bench.unit) if shop else ""
    found: dict[str, Got] = {}
    for plank, name in board_of_planks(laid, done.result("order")).items():
        own = boards.get(name)
        timber = (own.species if own else "") or species
        said = shop.fastenings.says(plank, done.bench.unit) if shop else ""
        found[plank] = Got(name, timber, own.moisture_percent if own else None, said, held)
    return defaultdict(lambda: Got("", species, fastening=held), found)


def old_of(planned: Planned) -> tuple[OldNew, ...]:
    """Set the old planking as recorded beside the planks as they stand; none before planks."""
    from ribband.record import old_and_new

    bench, now = planned.run.bench, planned.run.present
    if now is None or not bench.survey.old_widths:
        return ()
    linings = {side: now.anew.get(side, bench.lining) for side in ("port", "starboard")}
    return old_and_new(bench.survey.old_widths, linings, now.planks.planks, got_out_of(planned))
