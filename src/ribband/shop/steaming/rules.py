"""Rules of steaming: the yard's time, the weather, what counts as hot, the box."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["SteamingRules"]


@dataclass(frozen=True, slots=True)
class SteamingRules:
    """Rules of steaming.

    >>> SteamingRules().yard_rule
    'hour an inch'
    """

    yard_rule: str = rule(
        "hour an inch", None, None, "", "The yard's rule of time, a name of the table of them.",
        "steam-course",
    )  # fmt: skip
    minutes_per_inch: float = rule(
        0.0, 0.0, 600.0, "min", "The yard's own minutes an inch; nothing: by its rule.", "house"
    )
    steam_c: float = rule(100.0, 80.0, 110.0, "C", "Steam in the box, vented.", "house")
    hot_c: float = rule(
        95.0, 40.0, 105.0, "C", "The plank is heated through when its middle is at.", "house"
    )
    air_c: float = rule(15.0, -30.0, 45.0, "C", "Air, and the plank before it is heated.", "house")
    wind_ms: float = rule(1.0, 0.0, 30.0, "m/s", "Wind between the box and the hull.", "house")
    workable_c: float = rule(
        80.0, 40.0, 100.0, "C", "Mean temperature at which a plank stiffens.", "house"
    )
    cooling_margin: float = rule(
        1.5, 1.0, 5.0, "times", "Hot time is divided by this: water boils off a hot face too.",
        "house",
    )  # fmt: skip
    moisture_percent: float = rule(
        20.0, 0.0, 60.0, "per cent", "Moisture of the planks when steamed.", "house"
    )
    cold_twist: float = rule(
        0.008, 0.0, 0.1, "", "Shear of the faces in twisting up to which a plank is hung cold.",
        "house",
    )  # fmt: skip
    mild_moisture: float = rule(
        16.0, 0.0, 30.0, "per cent", "Least moisture for a mild bend.", "wengert-moisture"
    )
    hard_moisture: float = rule(
        23.0, 0.0, 60.0, "per cent", "Moisture wanted for a severe bend.", "wengert-moisture"
    )
    hard_strain: float = rule(
        0.015, 0.001, 0.1, "", "Outer strain from which a bend is called severe.", "house"
    )
    strap_strain: float = rule(
        0.02, 0.001, 0.1, "", "Outer strain beyond which steamed wood wants a strap or halves.",
        "memory",
    )  # fmt: skip
    heat_up_minutes: float = rule(
        0.0, 0.0, 480.0, "min",
        "From lighting the boiler to a box full of steam, once on each day it is lit; nothing: "
        "not given, and no cost has it in.", "house",
    )  # fmt: skip
    at_once: int = rule(2, 1, 20, "planks", "Planks in the box at once.", "house")
    clear_mm: float = rule(50.0, 10.0, 200.0, "mm", "Steam all round each plank.", "house")
    end_clear_mm: float = rule(150.0, 0.0, 1000.0, "mm", "Free at each end of the box.", "house")
    wall_mm: float = rule(38.0, 5.0, 200.0, "mm", "Timber wall of the box.", "house")
    boiler_margin: float = rule(
        2.0, 1.0, 10.0, "times", "Boiler over what planks and walls take: steam leaks.", "house"
    )
