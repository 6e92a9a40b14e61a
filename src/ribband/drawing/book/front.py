"""The front of the book: cover, contents, how to read it, findings."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import CondPageBreak, Flowable

from ribband.butts.model import Layout
from ribband.drawing.board import measured_to
from ribband.drawing.book.flow import (
    Box,
    IfRoom,
    Pairs,
    Plate,
    Story,
    boxed,
    heading,
    say,
    space,
)
from ribband.drawing.book.hull_pages import far_said
from ribband.drawing.book.model import Book
from ribband.drawing.book.small import draw_small, small_height
from ribband.drawing.book.style import FAINT, HAIR, INK, cover_style, text_width
from ribband.drawing.book.table import Col, Group, Line, Loud, Table
from ribband.drawing.book.words import (
    LEGEND,
    at_stations,
    blank_cells,
    count,
    far_between,
    faults,
    gaps,
    in_unit,
    joined,
    length,
    narrowest,
    open_doubts,
    out_by,
    ranges,
    stations_of,
    unit_words,
    weight_sign,
    widest,
)
from ribband.findings import Severity
from ribband.units import format_volume, format_weight

__all__ = ["Contents", "contents", "cover", "edition", "findings", "how_to_read"]

COVER_PITCH = 17.5  # points from line to line of the particulars
SHOWN = 4  # doubts spelled out on the cover; the rest are counted


def cover(book: Book, pages: dict[str, int]) -> Story:
    """Make the first page: who she is, the key figures, and what is doubtful."""
    p, wide = book.hull.particulars, text_width(book.paper)
    said = [part for part in (f"built {p.built}" if p.built else "", p.yard) if part]
    high = small_height(book, wide)
    story: Story = [
        space(16),
        say("Planking book", "kicker"),
        say(book.vessel, cover_style(book.vessel)),
        say(", ".join(said), "under") if said else space(4),
        space(20),
    ]
    if high:
        story += [Plate(lambda c, w, h: draw_small(book, c, w, h), (wide, high))]
    story += [space(28), Pairs(_particulars(book), key_figures(book), COVER_PITCH), space(20)]
    return [*story, doubtful_box(book, pages), *_where_to_look(pages)]


def _where_to_look(pages: dict[str, int]) -> Story:
    """Say who begins where."""
    readers = (
        ("For the lead shipwright", (("girths", "girths to set off"), ("planks", "plank list"),
                                     ("shapes", "flat shapes"), ("timber", "timber"))),
        ("For the surveyor", (("butts", "butts and their rules"), ("tightest", "rule check"),
                              ("old", "old planking"), ("rules", "rules in force"))),
        ("For the owner", (("lining", "lining out and why"), ("quantities", "quantities"),
                           ("cautions", "cautions"))),
    )  # fmt: skip
    said = []
    for reader, parts in readers:
        found = [f"{words}, page {pages[key]}" for key, words in parts if key in pages]
        if found:
            said.append(boxed(f"{reader}: {'; '.join(found)}."))
    return [IfRoom([say("Where to look", "boxhead"), *said])] if said else []


def _particulars(book: Book) -> list[tuple[str, str]]:
    p, unit = book.hull.particulars, book.unit
    known = {label.lower(): text for label, text in p.more}
    names = book.hull.frames.names
    rows = [
        *((word.capitalize(), known[word]) for word in ("length", "beam") if known.get(word)),
        ("Planking, dressed", length(p.planking_mm, unit) if p.planking_mm else ""),
        ("Planking, rough", length(p.rough_mm, unit) if p.rough_mm else ""),
        ("Timber", p.species),
        ("Frames", f"{names[0]} to {names[-1]}, {len(names)} in all" if names else ""),
        ("Measured at", _measured_at(book)),
        ("Measured to", measured_to(book.hull)),
        ("Measured by", p.measured_by),
        ("Measured on", p.measured_on),
        ("Unit of this book", unit_words(unit)),
    ]
    return [(label, text) for label, text in rows if text]


def _unweighed(book: Book) -> str:
    species = book.hull.particulars.species
    return f"not known: no density of {species}" if species else "species not given"


def _measured_at(book: Book) -> str:
    """Say on the cover that her frames are faired between stations, where they are."""
    if not at_stations(book):
        return ""
    return f"{count(len(stations_of(book)), 'station')}, her frames faired between"


def key_figures(book: Book) -> list[tuple[str, str]]:
    """List the figures a reader asks for first."""
    wide, thin, unit = widest(book.lining), narrowest(book.lining), book.unit
    stealers = sum(s.stealer for s in book.lining.strakes)
    whole = len(book.lining.strakes) - stealers
    rows = [
        (
            "Strakes a side",
            f"{whole}" + (f", and {count(stealers, 'stealer')}" if stealers else ""),
        ),
        ("Widest", f"{length(wide.mm, unit)}, strake {wide.strake}, {wide.at}"),
        ("Narrowest", f"{length(thin.mm, unit)}, strake {thin.strake}, {thin.at}"),
    ]
    return rows + _plank_figures(book) + _butt_figures(book)


def _plank_figures(book: Book) -> list[tuple[str, str]]:
    planks, unit = book.planks, book.unit
    if planks is None or not planks.planks:
        return [("Planks", "not yet divided")]
    longest = max(planks.planks, key=lambda p: p.length_mm)
    volume = sum(t.rough_m3 for t in planks.totals[:1])
    dressed = [p.dressed_kg for p in planks.planks]
    kg = sum(w for w in dressed if w is not None) if all(w is not None for w in dressed) else None
    return [
        ("Planks, both sides" if _sides(book) == 2 else "Planks", f"{len(planks.planks)}"),
        ("Longest plank", f"{longest.name}, {length(longest.length_mm, unit)}"),
        ("Timber, rough, with allowances", format_volume(volume, unit)),
        (
            "Weight, dressed",
            _whole(kg, unit) + weight_sign(book) if kg is not None else _unweighed(book),
        ),
    ]


def _whole(kg: float, unit: str) -> str:
    """Print a weight to a whole pound or kilogram: more would pretend to know."""
    number, mark = format_weight(kg, unit).split()
    return f"{float(number):.0f} {mark}"


def _sides(book: Book) -> int:
    return len({p.side for p in book.planks.planks}) if book.planks else 0


def _butt_figures(book: Book) -> list[tuple[str, str]]:
    if not book.layouts:
        return [("Butts", "not yet laid out")]
    if not all(layout.feasible for _, layout in book.layouts):
        return [("Butts", "no layout keeps every rule")]
    return [(f"Butts {side}", _butts_said(layout)) for side, layout in book.layouts]


def _butts_said(layout: Layout) -> str:
    number = str(len(layout.butts))
    goal = next((g for g in layout.goals if "fewest" in g.name or g.name == "butts"), None)
    if goal is None:
        return number
    if goal.proved:
        return f"{number}, proved the fewest"
    return f"{number}; at least {goal.bound:g} needed, not proved the fewest"


def doubtful_box(book: Book, pages: dict[str, int]) -> Box:
    """Say on the cover what may not be relied on; never left out, even when all is well."""
    lines = doubtful(book, pages)
    if not lines:
        calm = say(
            "Nothing stands in doubt: no reading, no rule and no limit is left open.", "boxed"
        )
        return Box([say("What is doubtful", "boxhead"), calm])
    head = say("Before you build: what is doubtful", "boxhead")
    return Box([head, *(boxed(line) for line in lines)], loud=True)


def doubtful(book: Book, pages: dict[str, int]) -> list[str]:
    """List what is doubtful, the gravest first."""
    wrong, waiting = faults(book), open_doubts(book)
    cautions = sum(f.severity is Severity.CAUTION for f in book.findings)
    missing = gaps(book)
    says = []
    if wrong:
        first = in_unit(f"{wrong[0].where}: {wrong[0].says}", book.unit)
        says.append(f"Not to be built from. {count(len(wrong), 'fault')} open "
                    f"(page {pages.get('findings', 0)}); the first: {_short(first)}")  # fmt: skip
    if waiting:
        each = "; ".join(_doubt_in_words(book, d) for d in waiting[:SHOWN])
        more = f"; and {len(waiting) - SHOWN} more" if len(waiting) > SHOWN else ""
        says.append(f"{count(len(waiting), 'reading')} in doubt and not decided on "
                    f"(page {pages.get('doubts', 0)}): {each}{more}.")  # fmt: skip
    if missing:
        order = book.hull.frames.names
        which = _short(f"{ranges(missing, order)}", 90)
        says.append(f"Nothing was measured at {count(len(missing), 'frame')} of {len(order)} "
                    f"({which}); their girths are faired in between.")  # fmt: skip
    elif at_stations(book) and far_between(book)[1]:
        says.append(f"Her frames are faired between {count(len(stations_of(book)), 'station')}. "
                    f"{far_said(book)} Try their girths on the hull "
                    f"(page {pages.get('gaps', 0)}).")  # fmt: skip
    if blanks := blank_cells(book):
        says.append(f"{count(len(blanks), 'blank')} in the table of measurements, faired across "
                    f"(page {pages.get('gaps', 0)}).")  # fmt: skip
    says += _unproved(book)
    if cautions:
        says.append(f"{count(cautions, 'caution')} to look at before relying on this book "
                    f"(page {pages.get('findings', 0)}).")  # fmt: skip
    return says


def _doubt_in_words(book: Book, doubt: Any) -> str:
    typed = f" {doubt.as_typed}," if doubt.as_typed else ""
    at = f"{doubt.where}, {doubt.line}"
    return f"{at}:{typed} {out_by(doubt.off_mm, book.unit)}"


def _unproved(book: Book) -> list[str]:
    says = []
    if not book.hull.in_space:
        says.append("Only girths were measured: plank lengths are along the strakes on the "
                    "flat expansion, frames set out by their positions, and the true planks are "
                    "longer, most of all at the ends. Take them off the hull with a batten before "
                    "buying. Bevels, hollow and true shapes are not known; widths are fair in the "
                    "expansion, not in space. They are taken along the frame: where a strake leans "
                    "on it, the plank is narrower, and is planed to the seam.")  # fmt: skip
        if book.hull.particulars.measured_to == "planking":
            says.append("The tape went round the outside of the planking and nothing is deducted: "
                        "girths and widths are those of the planking’s face, not of the bare "
                        "frame, which is shorter wherever it turns. Set seams off on a frame by "
                        "their part of its own girth.")  # fmt: skip
    if not book.hull.has_stem or not book.hull.has_stern:
        ends = [end for end, has in (("stem", book.hull.has_stem), ("stern", book.hull.has_stern))
                if not has]  # fmt: skip
        says.append(f"The hood ends at the {joined(ends)} are not known; the planking is given "
                    "only as far as the last frame measured.")  # fmt: skip
    return says


def _short(text: str, most: int = 150) -> str:
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0] + " …"


def edition(book: Book) -> str:
    """Say which edition this is: revision, date, by whom and why, what it came from."""
    parts = [
        book.alone.capitalize(),
        f"Revision {book.revision}",
        book.when,
        f"by {book.who}" if book.who else "",
        book.why,
        f"inputs {book.inputs[:12]}" if book.inputs else "",
        f"Ribband {book.version}" if book.version else "",
    ]
    return "   ·   ".join(part for part in parts if part)


class Contents(Flowable):  # type: ignore[misc]
    """The list of sections with dots to their pages."""

    def __init__(self, entries: list[tuple[int, str, str]], pages: dict[str, int]) -> None:
        super().__init__()
        self.entries, self.pages = entries, pages

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Measure the list."""
        self.room = width * 0.86
        return width, sum(map(self._high, self.entries))

    @staticmethod
    def _high(entry: tuple[int, str, str]) -> float:
        return 18.5 if entry[0] == 0 else 14.0

    def draw(self) -> None:
        """Draw every line, each a link to its page."""
        y = sum(map(self._high, self.entries))
        for entry in self.entries:
            y -= self._high(entry)
            self._line(y + 4, *entry)

    def _line(self, y: float, level: int, key: str, text: str) -> None:
        canvas = self.canv
        face, size = ("Serif-Semibold", 10.6) if level == 0 else ("Sans", 9.2)
        x, page = 14.0 * level, str(self.pages.get(key, 0))
        canvas.setFillColor(INK if level == 0 else FAINT)
        canvas.setFont(face, size)
        canvas.drawString(x, y, text)
        canvas.setFont("Sans", 9.6)
        canvas.drawRightString(self.room, y, page)
        start = x + canvas.stringWidth(text, face, size) + 6
        canvas.setFillColor(HAIR)
        stop = self.room - canvas.stringWidth(page, "Sans", 9.6) - 6
        at = self.room - 5.0 * int((self.room - start) / 5.0)
        while at < stop:
            canvas.circle(at, y + 0.8, 0.45, stroke=0, fill=1)
            at += 5.0
        canvas.linkRect("", key, (0, y - 3, self.room, y + 11), relative=1)


def contents(entries: list[tuple[int, str, str]], pages: dict[str, int]) -> Story:
    """Set the contents, section by section, over as many pages as need be."""
    groups: list[list[tuple[int, str, str]]] = []
    for entry in entries:
        if entry[0] == 0 or not groups:
            groups.append([])
        groups[-1].append(entry)
    parts = [Contents(group, pages) for group in groups]
    return [say("Contents", "section"), *parts, space(6)]


def _widths_and_girths(book: Book) -> str:
    """Tell how widths and girths are taken: girths alone do not say how a strake leans."""
    girths = "Girths are along the frame from the rabbet, as a seam is set off. "
    if not book.hull.in_space:
        return (
            f"{girths}Widths are girths too, from seam to seam: girths alone do not tell how a "
            "strake leans on the frame. Where it does, towards the ends, the plank is planed "
            "narrower than its width here."
        )
    return (
        f"Widths are square across the strake, as a plank is got out. {girths}The two are not the "
        "same where a strake crosses the frame aslant, towards the ends: set off by girth, get "
        "out by width."
    )


def how_to_read(book: Book, pages: dict[str, int]) -> Story:
    """Say in half a page how the book is meant."""
    unit = unit_words(book.unit)
    sixteenth = (
        " A + after the last figure is a sixteenth of an inch over the eighth: "
        "0-7-3+ is seven inches, three eighths and a sixteenth."
        if book.unit == "ft-in-8ths"
        else ""
    )
    return [
        heading("How to read this book", "how"),
        say(f"Every length is in {unit}, the unit she was measured in.{sixteenth} Frames are "
            "numbered from forward. Strakes are numbered from the keel: 1 is the garboard. "
            "A stealer bears the number of the strake below it and an s. Planks are numbered "
            "from forward: P7-2 is to port, strake seven, second plank; S7-2 is her opposite."),
        say(_widths_and_girths(book)),
        say("Faults come first and forbid building; while one is open a band on every page says "
            "so. Cautions want a look. A figure that was not read in its source carries a sign:"),
        say(LEGEND, "small"),
        say("“Proved” beside a figure means that no better one exists under the rules shown. Where "
            "a search was stopped before that, the book gives what was reached and the bound, and "
            "the truth lies between them."),
        say("The book plans timber. It does not pass judgement on the vessel’s strength, nor on "
            "the way work is to be done safely: read “Cautions” on page "
            f"{pages.get('cautions', 0)} before the first plank comes off."),
    ]  # fmt: skip


MEND = (
    (
        "survey",
        (
            "Look at the cell named. Correct it in the form, or answer it in the form “doubts” "
            "(accept, correct, keep), and run again."
        ),
    ),
    ("hull", "Measure again where the line is not fair, or answer it in the form “doubts”."),
    ("lining", "Give up or ease the wish or limit named, in the forms “lining” or “rules”."),
    (
        "butts",
        (
            "Ease the rule named, or open the stretch that is closed, in the forms “rules” or "
            "“butts”; ask the surveyor first where a rule is a published one."
        ),
    ),
    ("planks", "Look at the planks named before getting them out; shift a butt or a seam."),
)  # fmt: skip
_TITLES = {
    Severity.FAULT: "Faults: not to be built from until mended",
    Severity.CAUTION: "Cautions: look before relying on it",
    Severity.NOTE: "Notes",
}


def findings(book: Book) -> Story:
    """List every finding, faults first, and what to do about each kind."""
    rows = _finding_rows(book)
    story: Story = [heading("Findings", "findings")]
    if not rows:
        return [*story, say("No check found anything to say.")]
    story.append(say("What the checks doubt or refuse. The code names the check; it does not "
                      "change from one program to the next."))  # fmt: skip
    cols = [Col("code"), Col("where", share=1.1), Col("what was found, and why", share=3)]
    story.append(Table(cols, rows, fives=False))
    stages = {f.stage for f in (*book.findings, *faults(book)) if f.severity is not Severity.NOTE}
    todo = [(stage, says) for stage, says in MEND if stage in stages]
    if todo:
        story.append(CondPageBreak(90))
        story.append(Table([Col("found in"), Col("what to do", share=1)], todo, fives=False,
                           title="What to do"))  # fmt: skip
    return story


def _finding_rows(book: Book) -> list[Line]:
    every = [*(f for f in faults(book) if f not in book.findings), *book.findings]
    rows: list[Line] = []
    for severity in (Severity.FAULT, Severity.CAUTION, Severity.NOTE):
        chosen = [f for f in every if f.severity is severity]
        if chosen:
            rows.append(Group(_TITLES[severity], str(len(chosen))))
        for f in chosen:
            says = " ".join(_sentence(part) for part in (f.says, f.why) if part)
            cells = (f.code or f.stage, in_unit(f.where, book.unit), in_unit(says, book.unit))
            rows.append(Loud(cells) if severity is Severity.FAULT else cells)
    return rows


def _sentence(text: str) -> str:
    """Give a capital and a full stop to what a check says.

    >>> _sentence("edges out of order")
    'Edges out of order.'
    """
    return text[:1].upper() + text[1:] + ("" if text[-1] in ".!?…" else ".")
