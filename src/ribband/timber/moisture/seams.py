"""How much each seam opens before launching and closes afloat, and where that is too much.

A plank is hung at one moisture, may stand in a dry shed until launching, and takes up afloat. A
seam moves by half of each of the two planks beside it. *Gape*: before launching it opens more
than paying and putty follow. *Crush*: afloat the planks close more of the caulked opening than
the caulking can yield, and crush their edges, start their fastenings or push the frames.

The opening of a seam at its face is a part of the plank's thickness (see the rules).

Not checked here: paint, salt, sun on one side, and planks that are wet within and dry without. It
is a comparison of widths and timbers, no promise of what one seam will do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.rulebook import rule
from ribband.timber.model import Species
from ribband.timber.moisture.dress import DressRules
from ribband.timber.moisture.settling import Grain, Movement, movement
from ribband.units import format_length, format_small

__all__ = ["SeamMovement", "SeamRules", "move_seams"]

HUNG = DressRules().planking_percent


@dataclass(frozen=True, slots=True)
class SeamRules:
    """Rules of the movement of seams; the moisture planks are hung at is a rule of dressing."""

    standing_percent: float = rule(
        12.0, 4.0, 30.0, "per cent",
        "Driest they get before launching: a shed at 20 degrees C and 65 % humidity.", "calculated",
    )  # fmt: skip
    afloat_percent: float = rule(
        20.0, 5.0, 30.0, "per cent", "What they take up to afloat, through their thickness.",
        "house",
    )  # fmt: skip
    opening_part: float = rule(
        0.125, 0.02, 0.3, "", "Opening of a seam at its face over the thickness of the plank.",
        "choptank",
    )  # fmt: skip
    crush_part: float = rule(
        0.5, 0.1, 1.0, "", "Part of that opening that may close afloat.", "house"
    )
    gape_mm: float = rule(1.5, 0.2, 10.0, "mm", "Most a seam may open before launching.", "house")


@dataclass(frozen=True, slots=True, eq=False)
class SeamMovement:
    """Movement of S - 1 seams at F columns, mm, opening positive; NaN where there is no seam.

    `standing_mm` by launching, `afloat_mm` after it; both from the day of hanging. `crush_mm` is
    the most that may close, `widest_mm` the widest plank that neither crushes nor gapes (infinite
    if it does not move; None where the movement is not known).
    """

    standing_mm: Floats
    afloat_mm: Floats
    crush_mm: float
    widest_mm: float | None
    findings: tuple[Finding, ...] = ()


def move_seams(
    widths_mm: Floats,
    strakes: Sequence[str],
    thickness_mm: float,
    species: Species,
    cut: Grain = "",
    *,
    rules: SeamRules = SeamRules(),
    hung_percent: float = HUNG,
    unit: str = "mm",
) -> SeamMovement:
    """Move the seams of strakes `widths_mm` (S, F) wide, NaN where a strake is not.

    hung_percent : moisture of the planks when they are hung, `DressRules.planking_percent`

    Findings: T020 a strake that will crush, T021 one that will gape, T022 the movement is not
    known, T023 the cut is not known and the livelier way was taken.

    >>> from ribband.timber.species import species_named
    >>> fir = species_named("douglas fir coast")
    >>> moved = move_seams(np.array([[250.0], [150.0]]), ["1", "2"], 38.1, fir, "flat")
    >>> moved.afloat_mm.round(2).tolist(), [f.where for f in moved.findings if f.code == "T020"]
    ([[-2.63]], ['strake 1'])
    """
    standing = movement(species, cut, hung_percent, rules.standing_percent)
    afloat = movement(species, cut, hung_percent, rules.afloat_percent)
    between = (widths_mm[:-1] + widths_mm[1:]) / 2
    crush = rules.crush_part * rules.opening_part * thickness_mm
    widest = _widest(standing, afloat, crush, rules.gape_mm)
    findings = _unknown(species, afloat)
    if standing.width is not None and afloat.width is not None:
        wide = _widest_of(widths_mm, strakes)
        for limit in (
            _Limit("T020", afloat.width, crush, afloat.source),
            _Limit("T021", -standing.width, rules.gape_mm, standing.source),
        ):
            findings += _too_wide(limit, wide, unit)
    return SeamMovement(
        -between * _known(standing), -between * _known(afloat), crush, widest, tuple(findings)
    )


def _widest(standing: Movement, afloat: Movement, crush: float, gape: float) -> float | None:
    if standing.width is None or afloat.width is None:
        return None
    rates = ((afloat.width, crush), (-standing.width, gape))
    return min((limit / rate for rate, limit in rates if rate > 0), default=float("inf"))


def _widest_of(widths_mm: Floats, strakes: Sequence[str]) -> dict[str, float]:
    """Give the widest place of every strake; nothing where it has no width at all."""
    filled = np.where(np.isfinite(widths_mm), widths_mm, 0.0)
    return {name: float(row.max()) for name, row in zip(strakes, filled, strict=True)}


def _known(moved: Movement) -> float:
    return float("nan") if moved.width is None else moved.width


def _unknown(species: Species, moved: Movement) -> list[Finding]:
    if moved.width is None:
        says = f"how {species.name} moves is not known: no seam could be judged"
        return [Finding("T022", Severity.CAUTION, "timber", "planking", says)]
    if moved.assumed:
        says = f"the cut of {species.name} is not known; flat, the livelier, was taken"
        return [Finding("T023", Severity.NOTE, "timber", "planking", says, "", moved.source)]
    return []


@dataclass(frozen=True, slots=True)
class _Limit:
    """What one leg may do: its finding, how much of its width a plank moves, and the limit."""

    code: str
    rate: float
    limit_mm: float
    source: str


def _too_wide(limit: _Limit, widest_mm: dict[str, float], unit: str) -> list[Finding]:
    """Give one finding that names every strake whose widest plank moves more than the limit."""
    names = [name for name, wide in widest_mm.items() if limit.rate * wide > limit.limit_mm]
    if not names:
        return []
    wide = max(widest_mm[name] for name in names)
    says = _SAYS[limit.code].format(
        width=format_length(wide, unit),
        by=format_small(limit.rate * wide, unit),
        limit=format_small(limit.limit_mm, unit),
        least=format_length(limit.limit_mm / limit.rate, unit),
    )
    where = f"strake{'s' if len(names) > 1 else ''} {', '.join(names)}"
    why = f"the limit is a rule of the house; the timber's figure is from {limit.source}"
    return [Finding(limit.code, Severity.CAUTION, "timber", where, says, why, "house")]


_SAYS = {
    "T020": "up to {width} wide, it grows {by} afloat and may crush its seam, which yields "
    "{limit}: hang it wetter, cut it quarter, or keep it under {least}",
    "T021": "up to {width} wide, it shrinks {by} before launching and its seam may gape over "
    "{limit}: hang it drier, keep it damp, or keep it under {least}",
}
