"""Which page each form is written on, and what its grid is called there.

A form without a name has no grid of its own on its page: it is written by what is done there.
Forms of measuring, and rules, are on the page Measure and on the page of what they rule.
"""

from __future__ import annotations

__all__ = ["WRITTEN", "grids_of", "written_on"]

WRITTEN: dict[str, dict[str, str]] = {
    "line-out": {"lining": ""},
    "butts": {"butts": "", "stock": "Stock lengths"},
    "timber": {
        "boards": "Boards on the pile",
        "outlines": "Outlines of boards, where widths do not tell their shape",
        "timbers": "Your own figures of a timber",
        "mill": "What the mill sells",
        "layings": "Planks pinned to boards, boards barred",
    },
    "shop": {
        "rates": "Rates",
        "crew": "Crew",
        "gear": "Gear",
        "calendar": "Calendar",
        "fastenings": "Fastenings",
        "supplies": "Supplies",
        "path": "Way through the shop",
    },
    "record": {
        "log": "Log",
        "as_hung": "Seams as hung",
        "photos": "Pictures",
        "renew": "To be renewed",
    },
}


def written_on(form: str) -> str:
    """Tell on which page a form is written; those of measuring on their own.

    >>> written_on("as_hung"), written_on("girths")
    ('record', 'measure')
    """
    return next((page for page, forms in WRITTEN.items() if form in forms), "measure")


def grids_of(page: str) -> list[tuple[str, str]]:
    """Give the forms that stand as grids on a page, each with what it is called.

    >>> grids_of("butts"), grids_of("overview")
    ([('stock', 'Stock lengths')], [])
    """
    return [(form, title) for form, title in WRITTEN.get(page, {}).items() if title]
