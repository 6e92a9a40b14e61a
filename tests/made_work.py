"""Work made by hand: a large hull of planks of one length, in strakes, both sides alike."""

from __future__ import annotations

from ribband.shop.hanging.model import Hanging, Look, Seat
from ribband.shop.hanging.solve import in_order
from ribband.shop.work.model import Hand, Measure, Work
from ribband.shop.work.rates import default_rates


def seats_of(strakes: int, planks: int, long: int = 40) -> list[Seat]:
    """Give seats in strakes whose butts are shifted by a third of a plank from one to the next."""
    own = []
    for side in ("port", "starboard"):
        for row in range(strakes):
            cuts = [0, *(long * n + (row % 3) * long // 3 for n in range(1, planks)), long * planks]
            for n in range(planks):
                name = f"{side[0].upper()}{row + 1}-{n + 1}"
                own.append(Seat(name, side, row, cuts[n], cuts[n + 1]))
    return own


def hanging_of(own: list[Seat]) -> Hanging:
    """Give the order of hanging, with a middle plank of a middle strake as shutter."""
    rows = sorted({seat.row for seat in own})
    middle = rows[len(rows) // 2]
    looks = [
        Look(s.plank, 1.0, None, None, None, 700.0, None, hood=False, says="")
        for s in own
        if s.row == middle and s.fore > 0
    ]
    return in_order(own, looks[:1] + [x for x in looks if x.plank[0] == "S"][:1])


def work_of(
    strakes: int = 17, planks: int = 5, length_m: float = 9.144, hands: int = 6, steamed: int = 4
) -> Work:
    """Give work: every plank of a length, 180 mm wide, on frames half a metre apart.

    Every `steamed`-th plank goes into the box for two hours; the lower third want hollowing.
    """
    own = seats_of(strakes, planks)
    measures = tuple(
        Measure(
            seat.plank,
            seat.side,
            length_m,
            length_m * 0.18,
            round(length_m / 0.457),
            length_m,
            hollow=seat.row < strakes / 3,
            steam_min=120.0 if n % steamed == 0 else None,
            kg=60.0,
        )
        for n, seat in enumerate(own)
    )
    crew = tuple(Hand(f"hand {n + 1}") for n in range(hands))
    return Work(measures, hanging_of(own), default_rates(), crew)
