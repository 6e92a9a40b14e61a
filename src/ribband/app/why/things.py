"""The things a job's figures say, each with the step that makes it and what that step leans on.

*Thing*: one kind of figure or mark: a plank's width, a seam's place, a date. This is the one table
that the verb, the pages and the tests ask: which step gives it, which forms and rules feed it,
which data tables are looked into, the method in a line, and the page of the docs that has it in
full. The forms and rules of the steps before are reached through those steps.

Not checked here: that a method does what it says; each stage's own check and tests do.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["THINGS", "Thing", "thing_named"]


@dataclass(frozen=True, slots=True)
class Thing:
    """A kind of figure.

    step : of `ribband.app.plan.steps`, or empty where it comes from the forms or the program alone
    forms : whose rows bear on it directly; rules : names, or a stage with ``.*``
    data : tables of figures looked into; page : of the docs
    """

    key: str
    says: str
    step: str
    forms: tuple[str, ...]
    rules: tuple[str, ...]
    method: str
    page: str
    data: tuple[str, ...] = ()


_MEASURED = ("frames", "girths", "offsets", "ends", "points", "doubts")
_WIDTHS = (
    "lining.greatest_width", "lining.least_width", "lining.greatest_hood", "lining.least_hood",
    "lining.garboard", "lining.first_broad", "lining.second_broad", "lining.sheer_strake",
    "lining.hollow", "lining.weight_sweep", "lining.weight_fairness", "lining.weight_evenness",
    "lining.weight_board", "lining.board_width",
)  # fmt: skip
_COUNTS = (
    "lining.least_strakes", "lining.most_strakes", "lining.weight_strake", "lining.stealers",
    "lining.weight_stealer",
)  # fmt: skip
_LENGTHS = (
    "butts.set", "butts.least_plank", "butts.least_plank_spaces", "butts.greatest_plank",
    "butts.trim",
)  # fmt: skip

THINGS: tuple[Thing, ...] = (
    # ---- as measured, and made fair
    Thing("vessel", "what the yard says of her", "survey", ("vessel",), (),
          "As typed, in the job's unit.", "measuring"),
    Thing("frame", "a frame: its number and position", "survey", ("frames", "offsets"), (),
          "As typed, in order of position; the yard's own numbers are kept.", "measuring"),
    Thing("girth", "the girth along a frame, rabbet to sheer", "hull", _MEASURED, ("hull.*",),
          "A bicubic surface fitted to every reading by least squares, smoothed by its third "
          "derivatives (from girths alone: the expansion made fair); the girth is measured on it "
          "along the frame.", "hull"),
    Thing("doubtful reading", "a reading that does not lie fair", "hull", _MEASURED,
          ("hull.doubt_times", "hull.tolerance"),
          "Left out one at a time: doubtful where its neighbours fit better without it; common "
          "slips of tape and pencil are tried as the reason.", "hull"),
    Thing("fairing", "how far readings lie off the fair surface", "hull", _MEASURED, ("hull.*",),
          "Root mean square of the distances square to the surface.", "hull"),
    Thing("two sides", "how far port and starboard differ", "hull", _MEASURED, ("hull.sides",),
          "Each side fitted alone and compared along the frames.", "hull"),
    # ---- lining out
    Thing("strakes", "how many strakes and stealers there are", "lining", ("lining", "old_strakes"),
          (*_COUNTS, *_WIDTHS),
          "Divisions of several counts are lined out and weighed: sweep, fairness, evenness and a "
          "price on each strake; the best is kept, near-equal ones are told. No bound is proved.",
          "lining"),
    Thing("strake", "a strake: what it is called and where it reaches", "lining",
          ("lining", "old_strakes"), _COUNTS,
          "Numbered from the keel; a stealer bears the number of the strake below it.", "lining"),
    Thing("strake width", "the width of a strake, square across it", "lining",
          ("lining", "old_strakes", "frames"), _WIDTHS,
          "Seams laid for least sweep, fair change and even widths within the limits, by "
          "Gauss-Newton with an active set; the width is the girth between two seams times the "
          "sine of their angle to the frame (with girths alone the girth itself).", "lining"),
    Thing("seam", "where a seam crosses a frame", "lining", ("lining", "frames"),
          (*_WIDTHS, "lining.sine_floor"),
          "The girth fraction of the seam at each frame, found with all seams together; set off "
          "along the frame from the rabbet.", "lining"),
    Thing("stealer", "a stealer and its nib", "lining", ("lining",),
          ("lining.stealers", "lining.weight_stealer", "lining.nib_width"),
          "Places are searched along the hull by dynamic programming and the best lined out.",
          "lining"),
    Thing("old width", "the width of an old strake, as recorded", "survey", ("old_strakes",), (),
          "As typed.", "measuring"),
    Thing("fairness", "how straight and even the seams run", "lining", ("lining",),
          ("lining.weight_sweep", "lining.weight_fairness", "lining.weight_evenness"),
          "Geodesic curvature of the seams and its change along them, root mean square.", "lining"),
    Thing("limit", "a limit or wish that holds the lining where it is", "lining", ("lining",),
          _WIDTHS, "The multipliers of the limits that hold say what easing each would gain.",
          "lining"),
    # ---- butts
    Thing("butt", "where a butt stands", "butts", ("butts", "stock"), ("butts.*",),
          "Each strake laid by dynamic programming against its neighbours' penalties in a guided "
          "search; proved, or bounded, by CP-SAT. Wishes fixed or forbidden are kept.", "butts",
          ("butt_rules",)),
    Thing("butts", "how many butts there are", "butts", ("butts", "stock"), ("butts.*",),
          "The fewest found under the rules; the bound says how few there can be at best.", "butts",
          ("butt_rules",)),
    Thing("goal", "what the search for butts reached, and its bound", "butts", ("butts", "stock"),
          ("butts.*",), "Goals in order, each after the one before; a bound is proved or it is "
          "said that it is not.", "butts"),
    Thing("butt rule", "which rule of butts holds here", "butts", ("butts", "rules"), ("butts.*",),
          "Measured from the layout, apart from the search that made it.", "butts",
          ("butt_rules",)),
    Thing("old butt", "where an old butt stands, as recorded", "survey", ("old_butts",), (),
          "As typed.", "measuring"),
    # ---- planks
    Thing("plank", "a plank: its name, its ends", "planks", ("butts",), ("planks.sides",),
          "Named by side, strake and number from forward; its ends are butts or hood ends.",
          "planks"),
    Thing("planks", "how many planks there are", "planks", ("butts",), ("planks.sides", *_LENGTHS),
          "The strakes cut at their butts, both sides.", "planks"),
    Thing("plank length", "the length of a plank along its middle", "planks", ("butts", "stock"),
          _LENGTHS, "Measured along the middle of the strake between its ends; by girths alone, "
          "along the positions of the frames, which is short of the truth.", "planks"),
    Thing("plank thickness", "the thickness of a plank, dressed and rough", "planks", ("vessel",),
          ("planks.dressed", "planks.rough", "planks.rough_over", "shapes.dressed", "shapes.rough"),
          "As the form vessel says, or by the rule where it says nothing.", "planks"),
    Thing("plank area", "the area of planking", "planks", (), ("planks.sides",),
          "The strip between two seams summed along the plank, the face on the frames.", "planks"),
    Thing("timber", "the timber that planks take", "planks", ("vessel",),
          ("planks.edge_allowance", "planks.end_allowance", "planks.yield_part", "planks.rough"),
          "Length and width with allowances times the rough thickness; waste is not in it.",
          "planks"),
    Thing("weight", "the weight of planks and boards", "planks", ("vessel", "timbers"),
          ("planks.moisture_percent", "order.moisture_percent"),
          "Volume times the species' density at the moisture of the rule; an average of the "
          "species, to be checked on a scale before a lift.", "timber", ("species",)),
    Thing("blank", "the smallest blank a plank is got out of", "shapes", (),
          ("shapes.*", "planks.edge_allowance"),
          "The least rectangle round the flat shape, turned as the grain allows.", "shapes"),
    Thing("sweep", "the bow of a plank's flat shape", "shapes", (), ("shapes.*",),
          "The plank rolled out flat; the height of its middle over its ends' chord.", "shapes"),
    Thing("flat shape", "a plank's flat outline", "shapes", (), ("shapes.*",),
          "Rolled out by the turning of its middle line, then edge strains relaxed on a grid.",
          "shapes"),
    Thing("spiling", "offsets from the spiling batten", "shapes", (), ("shapes.*",),
          "Straight from end to end in the flat plank, along a geodesic on the hull; offsets are "
          "taken from the flat shape.",
          "shapes"),
    Thing("bevel", "the bevel of a plank's edge at a frame", "shapes", (),
          ("shapes.outgauge_on", "shapes.opening_part", "shapes.tight_part"),
          "From the angle between this plank's face and its neighbour's, halved, and the opening "
          "of the seam.", "shapes"),
    Thing("likely error", "how near edges and bevels are likely to be", "shapes", _MEASURED,
          ("hull.*", "shapes.*"),
          "The survey's readings scatter about the fair surface; how it may be out is drawn by "
          "chance from that scatter and the batten's stiffness, and carried through the flat shape "
          "and the bevels. 95 of 100 lie within.", "shapes"),
    Thing("hollow", "backing out at a frame", "shapes", (),
          ("lining.hollow", "shapes.greatest_hollow"),
          "The rise of the hull's curve across the plank's width.", "shapes"),
    Thing("bend", "how a plank bends and twists", "shapes", ("vessel",),
          ("shapes.least_strain", "shapes.cold_margin", "steaming.*"),
          "Curvature and twist along the middle on the fair surface; strain in the outer face from "
          "the thickness over the radius.", "shapes", ("bending",)),
    Thing("strain", "what is left in a plank's edges when it is forced to shape", "shapes", (),
          ("shapes.*", "lining.weight_strain"),
          "The edge strain that flattening could not relax.", "shapes"),
    Thing("stock", "stock lengths and what is cut from them", "planks", ("stock",),
          (*_LENGTHS, "planks.end_allowance"),
          "Each plank from the shortest length in hand that holds it.", "planks"),
    Thing("old fastening", "an old fastening, as recorded", "survey", ("old_fastenings",), (),
          "As typed.", "measuring"),
    # ---- timber
    Thing("board", "a board of the pile", "boards", ("boards", "outlines", "timbers"), ("tally.*",),
          "As tallied: outline from its widths, flaws where they were marked; volumes and the "
          "practice of the trade by their own rules.", "timber", ("species",)),
    Thing("drying", "how boards dry and dress", "boards", ("boards", "vessel", "timbers"),
          ("climate.*", "dressing.*"),
          "Moisture where it settles in the climate of the yard; shrinkage by the species' "
          "coefficients; what is left to plane.", "timber", ("species",)),
    Thing("movement", "how seams open and close", "boards", ("boards", "vessel", "timbers"),
          ("climate.*", "seams.*"),
          "Widths times the species' movement between the moisture planked at and afloat.",
          "timber", ("species",)),
    Thing("laying", "which board a plank is got out of, and how it lies", "laying",
          ("boards", "layings"), ("laying.*",),
          "Patterns of planks by contact of their profiles, chosen over all boards by column "
          "generation and diving; a bound by area and slices.", "laying"),
    Thing("off-cut", "an end of a board kept for another plank", "laying", ("boards",),
          ("laying.offcut_length", "laying.offcut_width", "laying.kerf"),
          "What is left between the last cut and the end, where it is large enough.", "laying"),
    Thing("order", "what is to be bought", "order", ("mill", "stock"), ("order.*",),
          "Classes a mill sells, chosen for least cost over the planks without a board; spares so "
          "that it is enough with the confidence said.", "timber"),
    # ---- shop
    Thing("steam time", "how long a plank is steamed", "shop", ("vessel", "timbers"),
          ("steaming.*",), "The longer of the yard's rule and the time heat takes to the middle of "
          "the plank.", "steaming", ("steaming", "bending", "species")),
    Thing("hot time", "how long a plank stays workable out of the box", "shop", ("vessel",),
          ("steaming.*",), "Heat lost to air and wind until its face is too cool; an estimate.",
          "steaming", ("steaming",)),
    Thing("steam box", "the box and the boiler", "shop", ("vessel",), ("steaming.*",),
          "The longest and widest plank with clearances; boiling for its heat and losses.",
          "steaming"),
    Thing("fastening", "fastenings: size, hole and number", "shop", ("fastenings", "frames"),
          ("fastenings.*",), "Sizes from tables by thickness; counts by width and the distances "
          "the rules ask for.", "fastenings",
          ("fastenings", "fastening_widths", "planking_screws", "wood_screws", "treenails",
           "metals")),
    Thing("butt block", "a block behind a butt in a bay", "shop", ("frames",), ("blocks.*",),
          "As long as the bay leaves, lapped on the strakes beside, thick by the rule.",
          "fastenings"),
    Thing("caulking", "seams to be caulked and what that takes", "shop", ("vessel",),
          ("caulking.*",), "Lengths of seams, ends and butts; strands by the thickness; paying by "
          "the groove's section.", "caulking", ("caulking",)),
    Thing("handling", "who lifts a plank", "shop", ("vessel", "path"), ("handling.*",),
          "The revised lifting equation for one and several hands; beyond it, tackle.", "handling",
          ("lifting",)),
    Thing("order of hanging", "the order planks are hung in, and the shutter", "hanging", (),
          ("hanging.*",), "Garboard and sheer first, both sides level, the easiest plank of each "
          "face last.", "hanging"),
    Thing("date", "when a step of the work begins and ends", "work",
          ("rates", "crew", "gear", "calendar", "log"), ("work.*", "hanging.level"),
          "A schedule of every step by hands, gear and days, built and improved by search; a bound "
          "says how soon it could end at best.", "plan-of-work", ("rates",)),
    Thing("hours", "man-hours of an operation", "work", ("rates", "log"), ("work.*",),
          "Rates times what each plank measures, with what the log taught.", "plan-of-work",
          ("rates",)),
    Thing("forecast", "when the last plank may be done", "work", ("rates", "log", "calendar"),
          ("work.rate_error", "work.lost_days", "work.spoilt_part"),
          "The plan run over many times with scattered hours, spoilt planks and lost days.",
          "plan-of-work", ("rates",)),
    # ---- record
    Thing("log", "what was done to a plank, and by whom", "relined", ("log",), (), "As logged.",
          "record"),
    Thing("as hung", "how far a seam hangs from its place", "relined", ("as_hung", "log"),
          ("record.*",), "The girth as measured against the girth as planned.", "relining"),
    Thing("relined", "the planking that is left, divided anew", "relined", ("as_hung", "log"),
          ("record.*", "relining.*", *_WIDTHS), "What hangs is kept as it hangs; so many strakes "
          "as take the drift up are lined out again between.", "relining"),
    Thing("renewal", "what is renewed of an old planking", "repair",
          ("renew", "old_strakes", "old_butts"), ("repair.*", "butts.*"),
          "Ends shifted past what is bad to where the rules of butts allow; opened in turns so "
          "that she keeps her shape.", "repairs"),
    Thing("cost", "what the planking costs, planned and real", "",
          ("boards", "fastenings", "supplies", "crew", "log"), ("work.*", "caulking.*"),
          "Prices of boards, fastenings and supplies and the crew's wages times what was planned "
          "and what was logged; what wants a price is said to be wanting.", "record"),
    # ---- of the program
    Thing("finding", "what a check doubts or refuses", "", (), (),
          "Every stage is looked over by a check written apart from what made it.", "book"),
    Thing("rule", "a rule, its value and its source", "", ("rules",), (),
          "The form rules over the chosen set, or our default; the range is kept.", "forms"),
    Thing("source", "where a figure comes from", "", (), (),
          "One bibliography, cited by key; each with how far it was read.", "made/sources"),
)  # fmt: skip


def thing_named(key: str) -> Thing:
    """Find a thing by its key.

    >>> thing_named("strake width").step
    'lining'
    """
    return _BY_KEY[key]


_BY_KEY = {thing.key: thing for thing in THINGS}
