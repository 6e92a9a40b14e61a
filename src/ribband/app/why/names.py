"""The names under which figures stand in the tables, the book and the pages, each to its thing.

Three tables: columns of the open tables, headings of the book's tables by the module that sets
them, labels of the pages. A heading made with a unit in it is written here with … in its place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from ribband.app.why.things import Thing, thing_named

__all__ = ["BOOK", "COLUMNS", "LABELS", "for_column", "for_heading", "for_label", "plain_words"]

# thing -> columns, by table; "*" is every column of the table not named elsewhere
COLUMNS: dict[str, dict[str, str]] = {
    "frames": {"frame": "frame x_mm", "girth": "girth_mm basis"},
    "strake_edges": {
        "seam": "side strake frame lower_girth_mm upper_girth_mm lower_x_mm lower_y_mm lower_z_mm "
        "upper_x_mm upper_y_mm upper_z_mm", "old width": "recorded_width_mm",
    },
    "strakes": {
        "strake": "side strake called first_frame last_frame", "stealer": "stealer",
        "strake width": "width_max_mm width_min_mm", "planks": "planks",
    },
    "butts": {"butt": "side strake frame landing fixed"},
    "planks": {
        "plank": "plank side strake fore aft", "plank length": "length_mm",
        "strake width": "width_max_mm width_min_mm", "plank thickness": "dressed_mm rough_mm",
        "blank": "blank_length_mm blank_width_mm", "sweep": "sweep_mm", "plank area": "area_m2",
        "weight": "weight_kg", "steam time": "steam_min", "laying": "board", "log": "state",
    },
    "shapes": {"flat shape": "plank edge point x_mm y_mm"},
    "spiling": {
        "spiling": "plank frame along_mm lower_mm upper_mm",
        "bevel": "lower_bevel_deg upper_bevel_deg lower_fit_deg upper_fit_deg",
        "hollow": "hollow_mm",
        "bend": "twist_deg_per_m bend_radius_mm",
        "likely error": "lower_within_mm upper_within_mm lower_bevel_within_deg "
        "upper_bevel_within_deg",
    },
    "findings": {"finding": "code severity stage where says source"},
    "boards": {
        "board": "board length_mm width_mm thickness_mm species moisture_percent volume_m3 state "
        "board_feet practice_board_feet price why_not lies log leaf turned", "weight": "weight_kg",
        "laying": "use", "drying": "dresses to_spare_mm",
    },
    "board_outlines": {"board": "board ring point x_mm y_mm kind live"},
    "cuts": {
        "laying": "plank board flipped turn_deg x_mm y_mm kerf_mm edge_mm end_mm live_edge_mm "
        "turn_most_deg sap_allowed got_out with_plank with_as",
    },
    "offcuts": {"off-cut": "offcut board from_mm to_mm thickness_mm volume_m3"},
    "order": {
        "order": "item quantity unit allowance_percent of length_mm width_mm thickness_mm "
        "volume_m3 price", "weight": "weight_kg",
    },
    "steaming": {
        "steam time": "plank needed why rule_min heat_min steam_min binds", "hot time": "hot_min",
    },
    "fastenings": {"fastening": "plank at where count room", "strake width": "width_mm"},
    "butt_blocks": {"butt block": "side strake frame length_mm width_mm thickness_mm short"},
    "seams": {"caulking": "side of length_mm"},
    "handling": {
        "handling": "plank rough_hands hung_hands by_hand says", "weight": "rough_kg hung_kg",
    },
    "sequence": {
        "order of hanging": "plank place needs says",
        "date": "start end crew steam_start steam_end hang_start hang_end",
    },
    "steps": {"date": "plank operation start end hands crew", "hours": "hours"},
    "log": {"log": "plank state at by note"},
    "drift": {"as hung": "side above frame planned_mm measured_mm drift_mm"},
    "openings": {"as hung": "side strake frame planned_mm left_mm measured"},
    "relined_edges": {"relined": "side strake frame lower_mm upper_mm width_mm stand"},
    "relined_planks": {
        "relined": "plank strake fore aft length_mm width_max_mm width_min_mm blank_length_mm "
        "blank_width_mm changed", "as hung": "moved_mm moved_edge moved_frame",
    },
    "renewals": {
        "renewal": "side strake bad found fore aft bad_mm length_mm joint new_joints turn planks",
    },
    "cut_backs": {
        "renewal": "side strake stays joint_mm tip_mm full_mm face length_mm thickness_mm frame "
        "off_frame_mm plank",
    },
    "record": {
        "log": "plank state first last hands spoilt photos notes", "laying": "board",
        "board": "species moisture_percent", "fastening": "fastened", "as hung": "drift_mm",
    },
    "planned_strake_edges": {
        "seam": "side strake frame lower_girth_mm upper_girth_mm lower_x_mm lower_y_mm lower_z_mm "
        "upper_x_mm upper_y_mm upper_z_mm", "old width": "recorded_width_mm",
    },
    "planned_strakes": {
        "strake": "side strake called first_frame last_frame", "stealer": "stealer",
        "strake width": "width_max_mm width_min_mm", "planks": "planks",
    },
    "planned_butts": {"butt": "side strake frame landing fixed"},
    "wages": {
        "cost": "wage planned_cost real_cost", "hours": "operation planned_hours logged_hours",
    },
    "photos": {"log": "plank file at by note picture sha256"},
    "costs": {"cost": "what planned real says"},
    "old_planking": {
        "old width": "side strake frame old_width_mm old_thickness_mm old_timber old_fastening "
        "condition", "strake width": "new_width_mm", "plank thickness": "new_thickness_mm",
        "timber": "new_timber", "fastening": "new_fastening", "plank": "plank",
    },
    "hours": {"hours": "operation planned_hours logged rated_hours real_hours"},
}  # fmt: skip

# thing -> headings parted by |, by the module of the book that sets them
BOOK: dict[str, dict[str, str]] = {
    "back_pages": {
        "source": "|source|how far read", "plank": "plank", "plank length": "length",
        "weight": "rough, …|dressed, …",
    },
    "butt_pages": {
        "butt rule": "ease this rule|where|to what|butts that break it now|rule|"
        "why no butt may stand there|frames",
        "goal": "goal, in order of weight|reached|bound|proved best",
        "butt": "strakes between|strake|butt|frame spaces|along the strake|on frames|"
        "on blocks in the bays aft of", "butts": "butts",
    },
    "front": {"finding": "code|where|what was found, and why|found in|what to do"},
    "hull_pages": {
        "doubtful reading": "line|as typed|would lie fair at|out by|explained by|decision|cell",
        "frame": "at|frame|position", "two sides": "girth to port|farthest apart|where",
        "girth": "girth|from|basis",
    },
    "lining_pages": {
        "strake": "strake|called|reaches|length end to end", "strake width": "widest|narrowest",
        "limit": "limit or wish|where|what easing it gains",
        "strakes": "strakes|stealers|what it means|blanks a side", "fairness": "cost|round in …",
        "seam": "…",
    },
    "plank_pages": {
        "blank": "blank length|blank width", "sweep": "sweep",
        "plank": "plank||fore end|aft end|…", "plank length": "length|run of plank",
        "strake width": "widest|narrowest|new width", "timber": "rough board ft|rough m³|"
        "rough, board ft|rough, m³|new timber", "weight": "rough …|dressed …|rough, …",
        "planks": "planks", "plank area": "ft²|m²",
        "old width": "strake|frame|side|old width|old thickness|old timber|condition",
        "plank thickness": "new thickness",
        "old fastening": "where|kind|gauge|to a frame|old fastening",
        "fastening": "new fastening", "old butt": "old butts at",
        "butt": "new butts at|new scarfs at",
    },
    "record_front": {"log": "|in short"},
    "record_pages": {
        "renewal": "turn|side|strake|bad at|found|renewed|joints|length|planks|code||where|what|"
        "old plank|cut off|full thickness|face|slope|joined to|end|stands at|not at|for",
        "log": "plank|state|hands|pictures|when|step|note|from|to", "laying": "board",
        "board": "timber|moisture, %", "as hung": "seam above strake|frame|planned|as hung|off",
        "fastening": "metal|gauge|how many",
        "cost": "cost|real, so far|of what|an hour, mean|wages, planned|wages, real",
        "hours": "operation|all planks, planned|steps logged|these, planned|these, real|"
        "real over planned|hours, planned|hours, logged",
    },
    "rule_table": {
        "rule": "rule|what it says|in force||default|may be", "source": "source",
    },
    "shape_pages": {
        "plank": "plank", "bend": "grade|tightest bend|at frame|outer strain %|bent to|"
        "most twist, degrees per …|how|thickness needed", "strain": "strain left %|seam error, …|"
        "edge set if got out straight", "likely error": "edges within, …|bevels within, °",
    },
    "shop_pages": {
        "plank": "planks", "plank thickness": "thick", "steam time": "by rule|by heat|minutes|why",
        "hot time": "hot",
        "fastening": "where|fastening|long|hole|bung|driven|to buy|boxes|price|strake|on a frame|"
        "at a butt or block|at a hood end|in all",
        "caulking": "what|how much|waste in it|how reckoned|",
        "butt block": "how many|wide", "weight": "rough, …|hung, …", "handling": "lifted by",
    },
    "stock_table": {
        "stock": "stock length|boards in hand|planks from it|boards left|planks",
    },
    "timber_pages": {
        "drying": "rough|dries by|planed off|dressed|to spare|dress", "board": "board|boards",
        "strake width": "widest", "movement": "strake|shrinks before launching|grows by afloat|",
        "laying": "planks", "order": "length|width|thickness|spare of them|timber|allowance|"
        "of the planks’ own|for|price|pack|boards in each|of", "weight": "weight|weight of each",
    },
    "work_pages": {
        "order of hanging": "place|planks|face|needs fast before|plank|points against|how it lies",
        "date": "hung by the plan|week of|planks hung",
        "hours": "hours of all hands|operation|man-hours|rates|steps logged|of the rate|",
    },
}  # fmt: skip

# thing -> labels of the pages' figures and tables, in words the page shows
LABELS: dict[str, str] = {
    "vessel": "beam|built|yard|species|timber named",
    "frame": "frames|frame",
    "girth": "greatest girth|girth",
    "doubtful reading": "doubtful readings|doubtful",
    "fairing": "fairing",
    "strakes": "strakes a side|stealers a side|straight boards for a side, guessed",
    "strake": "strake|strakes",
    "strake width": "widest|narrowest|width|square width|new width",
    "fairness": "sweep of seams, on the whole|points against it, to compare linings|sweep of seams",
    "seam": "seam",
    "stealer": "stealer|stealers",
    "limit": "limit",
    "butts": "butts a side|butts",
    "goal": "goal, first things first|reached|proved at least|gap|bound",
    "plank": "plank|from|to|name|new plank",
    "planks": "planks|planks in the list",
    "plank length": "plank length|length",
    "plank thickness": "rough thickness|thickness|thick|new thickness",
    "plank area": "area",
    "timber": "timber|new timber",
    "weight": "weight|rough|from the pile, weight",
    "blank": "smallest blank|blank",
    "sweep": "sweep",
    "spiling": "along|lower edge|upper edge|offset|lower|upper",
    "bevel": "bevel|lower bevel|upper bevel|caulking bevel",
    "hollow": "hollow|backing out",
    "bend": "tightest bend|bending|twist|bend",
    "strain": "left-over strain|edge set",
    "likely error": "likely within",
    "movement": "hung at|driest before launching|afloat|seam closes to|garboard's seam at the keel",
    "board": "sound boards|board|boards",
    "drying": "will dress|dries by",
    "laying": "planks (their length)|planks laid|got out already|boards cut into|timber used|"
    "price of it|proved bound|yield|laid on",
    "off-cut": "off-cuts|ends kept",
    "order": "planks without a board|to buy|no class holds|sure to be enough|price|of them|for|"
    "planks packed|allowance",
    "steam time": "steam|to be steamed|the yard's rule|heat-through|by rule, min|by heat, min|"
    "minutes|binds|rule by width|why steamed|why",
    "hot time": "hot, min|weather|workable for",
    "steam box": "box inside|boiler",
    "fastening": "new fastening|one|other|mv apart|wastes|holding power|fastened|driven|"
    "to be driven|fastening|long|hole|pilot, soft to hard|bung|"
    "in the frame|where|with spares|boxes|cost|hours|refastened|whole cost|whole hours",
    "butt block": "how many|wide|butt blocks",
    "caulking": "seams, ends and butts|open at the face|what|how much|waste in it|how reckoned|"
    "drawn at, on average|caulking",
    "handling": "lifted by|not by hand|one person, from the pile|one person, hot to the hull|"
    "older allowable load|from the pile|to the hull|hung|leg|far|walked|longest round it|"
    "do not get round",
    "order of hanging": "order|shutters|one side ahead|face|needs|why here|points against|"
    "how it lies|place",
    "date": "longer search|left to do|begins|ends|planned end|who|date",
    "hours": "hours, planned|hours, logged|steps|of the rate|man-hours|hours at work|hands|"
    "operation",
    "forecast": "as like as not by|nine in ten by|runs|day|working days gained",
    "log": "state|done|port|starboard",
    "as hung": "planned|measured|off|its edge off|as hung",
    "cost": "real, so far|cost of the planking|cost of|by plan|of what|what is known, by plan|"
    "what is known, so far|an hour, mean|wages, planned|wages, real",
    "old width": "old width|old thickness|old timber|old fastening|condition",
    "finding": "findings|faults|cautions|finding",
    "rule": "in force|where from|rule|rules",
    "source": "source|sources|mark",
}  # fmt: skip

_GAP = re.compile(r"\s+")


def plain_words(text: str) -> str:
    r"""Bring a heading or question to plain lower words.

    >>> plain_words("Blank\nlength "), plain_words("rough, lb")
    ('blank length', 'rough, lb')
    """
    return _GAP.sub(" ", text.replace("’", "'")).strip().lower()


def for_column(table: str, column: str) -> Thing | None:
    """Find the thing a column of an open table says.

    >>> for_column("planks", "width_max_mm").key
    'strake width'
    """
    return _found(COLUMNS.get(table, {}), column, str.split)


def for_heading(module: str, heading: str) -> Thing | None:
    r"""Find the thing under a heading of the book; … stands for a part that is filled in.

    >>> for_heading("plank_pages", "blank\nlength").key
    'blank'
    """
    return _found(BOOK.get(module, {}), plain_words(heading), _parted)


def for_label(text: str) -> Thing | None:
    """Find the thing behind a label of a page.

    >>> for_label("Timber used").key
    'laying'
    """
    return _found(LABELS, plain_words(text), _parted)


def _parted(text: str) -> list[str]:
    return [plain_words(part) for part in text.split("|")]


def _found(own: Mapping[str, str], name: str, parted: Callable[[str], list[str]]) -> Thing | None:
    return next((thing_named(key) for key, names in own.items() if name in parted(names)), None)
