"""Packs for a delivery: boards of like length together, none heavier than the yard can lift.

Not checked here: the machine, its reach, the ground or the slings.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ribband.findings import Finding, Severity
from ribband.timber.order.model import OrderLine, Pack
from ribband.units import counted, format_length, format_weight

__all__ = ["NOT_SPLIT", "pack", "packing_findings"]

NOT_SPLIT = (
    "the weight of these boards is not known, so they were not split into packs the yard can lift: "
    "get the weights from the mill, and split the packs by them, before anything is lifted"
)

LIFTING = (
    "a lift over people's heads or beyond the machine's plate kills. Go by the plate of the "
    "forklift or crane at the reach used, slings and operator as the local code asks; green "
    "boards weigh up to half as much again"
)


def pack(lines: Sequence[OrderLine], lift_kg: float) -> tuple[Pack, ...]:
    """Pack the lines, longest first; a board alone over the limit is a pack by itself.

    Lines without a weight are packed by themselves, weight unknown.
    """
    order = sorted(range(len(lines)), key=lambda k: -lines[k].of.length_mm)
    packs: list[Pack] = []
    for k in order:
        packs += _of_line(k, lines[k], packs, lift_kg)
    return tuple(packs)


def _of_line(k: int, line: OrderLine, packs: list[Pack], lift_kg: float) -> list[Pack]:
    """Fill up the last pack with boards of a line, and give the further packs it needs."""
    if line.kg is None:
        return [Pack(((k, line.count),), line.of.length_mm, None)]
    each, left = line.kg / line.count, line.count
    new: list[Pack] = []
    if packs and packs[-1].kg is not None:
        room = min(left, int((lift_kg - packs[-1].kg) / each + 1e-9))
        if room > 0:
            last = packs.pop()
            packs.append(
                Pack((*last.boards, (k, room)), last.length_mm, (last.kg or 0.0) + room * each)
            )
            left -= room
    full = max(int(lift_kg / each + 1e-9), 1)
    while left > 0:
        boards = min(left, full)
        new.append(Pack(((k, boards),), line.of.length_mm, boards * each))
        left -= boards
    return new


def packing_findings(packs: Sequence[Pack], lift_kg: float, unit: str) -> Iterable[Finding]:
    """Say what the heaviest lift is (T033), what is over the limit (T034), what is not known."""
    known = [p for p in packs if p.kg is not None]
    if len(known) < len(packs):
        yield Finding("T032", Severity.CAUTION, "timber", "delivery", NOT_SPLIT, LIFTING)
    if not known:
        return
    heaviest = max(known, key=lambda p: p.kg or 0.0)
    many = counted(len(packs), "pack")
    says = (
        f"{many}; the heaviest is {format_weight(heaviest.kg or 0.0, unit)}, the "
        f"longest {format_length(max(p.length_mm for p in packs), unit)}"
    )
    yield Finding("T033", Severity.CAUTION, "timber", "delivery", says, LIFTING, "common-practice")
    if (heaviest.kg or 0.0) > lift_kg:
        says = f"a board weighs more than a pack may, {format_weight(lift_kg, unit)}"
        yield Finding("T034", Severity.FAULT, "timber", "delivery", says, LIFTING, "house")
