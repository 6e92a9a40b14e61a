"""What moisture timber comes to: in the yard before it is hung, in the hull before launching.

Temperature and humidity, kept up for weeks or months, bring timber to its equilibrium moisture
content (Wood Handbook 2010, eq. 4-5). Where a humidity is not said (0), the moisture of the rules
of dressing and of seams stands.

Not checked here: that the air of a place stays so, or that a board has lain long enough in it.
Measure the boards with a meter before they are planed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ribband.rulebook import rule
from ribband.timber.moisture.dress import DressRules
from ribband.timber.moisture.seams import SeamRules
from ribband.timber.moisture.settling import equilibrium_celsius

__all__ = ["ClimateRules", "in_climate"]

DRIEST, WETTEST = 5.0, 30.0  # per cent, as the rules of dressing and of seams allow


@dataclass(frozen=True, slots=True)
class ClimateRules:
    """The air timber lies in; a humidity of 0 is one not said.

    >>> ClimateRules().yard_humidity
    0.0
    """

    yard_celsius: float = rule(
        20.0, -1.0, 60.0, "degrees C", "Temperature where the boards dry before they are hung.",
        "house",
    )  # fmt: skip
    yard_humidity: float = rule(
        0.0, 0.0, 95.0, "per cent",
        "Humidity of the air there; 0 = not said, then the rule dressing.planking_percent holds.",
        "house",
    )  # fmt: skip
    vessel_celsius: float = rule(
        20.0, -1.0, 60.0, "degrees C", "Temperature where the planked hull stands till launching.",
        "house",
    )  # fmt: skip
    vessel_humidity: float = rule(
        0.0, 0.0, 95.0, "per cent",
        "Humidity of the air there; 0 = not said, then the rule seams.standing_percent holds.",
        "house",
    )  # fmt: skip


def in_climate(
    climate: ClimateRules, dressing: DressRules, seams: SeamRules
) -> tuple[DressRules, SeamRules]:
    """Give the rules with the moistures that the air of yard and vessel brings timber to.

    >>> damp = ClimateRules(yard_humidity=75.0, vessel_humidity=50.0)
    >>> dressing, seams = in_climate(damp, DressRules(), SeamRules())
    >>> round(dressing.planking_percent, 1), round(seams.standing_percent, 1)
    (14.5, 9.3)
    """
    if climate.yard_humidity:
        hung = _settled(climate.yard_celsius, climate.yard_humidity)
        dressing = replace(dressing, planking_percent=hung)
    if climate.vessel_humidity:
        standing = _settled(climate.vessel_celsius, climate.vessel_humidity)
        seams = replace(seams, standing_percent=standing)
    return dressing, seams


def _settled(celsius: float, humidity: float) -> float:
    """Give the equilibrium moisture, held to what the rules allow; the equation starts at 5 %."""
    found = equilibrium_celsius(celsius, max(humidity, 5.0))
    return min(max(found, DRIEST), WETTEST)
