"""Reading what is asked: "P7-2 width at 12" is a thing and what it is of.

*Subject*: the plank, strake, frame or board it is of; a butt is a strake at a frame. The words left
over name the thing: by a column of the open tables (``planks.length_mm``), a rule's name, a
finding's code, a thing's key, a label of the pages, or by as many words as fit.

Not checked here: that there is such a plank.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from ribband.app.why.names import COLUMNS, LABELS, for_column, for_label, plain_words
from ribband.app.why.things import THINGS, Thing, thing_named
from ribband.errors import InputError, Problem
from ribband.findings import meanings

__all__ = ["Question", "Subject", "read_question"]

MOST_LETTERS = 200
ENOUGH = 0.4  # of the words that must fit
SMALL = frozenset({
    "a", "an", "and", "by", "do", "does", "for", "has", "have", "how", "in", "is", "it", "its",
    "many", "much", "of", "on", "or", "out", "so", "that", "the", "there", "this", "to", "was",
    "what", "when", "where", "which", "who", "why", "with",
})  # fmt: skip
OTHER_WORDS = {
    "wide": "width", "long": "length", "thick": "thickness", "heavy": "weight", "steamed": "steam",
    "steaming": "steam", "end": "date", "finish": "date", "count": "number", "cut": "laying",
    "lies": "laying", "spile": "spiling", "offsets": "offset", "kg": "weight", "lb": "weight",
    "lift": "handling", "lifts": "handling", "lifted": "handling", "dates": "date", "plan": "date",
    "line": "seam", "screws": "fastening", "nails": "fastening",
}  # fmt: skip
_PLANK = re.compile(r"(?<![\w-])([ps])(\d+s*)-(\d+)(?![\w-])", re.IGNORECASE)
_FRAME = re.compile(r"(?:\bat\s+frame|\bat|\bframe)\s+([\w.+-]+)", re.IGNORECASE)
_STRAKE = re.compile(r"\b(strake|seam(?:\s+above)?|butt)(?:\s+of)?(?:\s+strake)?\s+(\d+s*)\b", re.I)
_BOARD = re.compile(r"\bboard\s+([\w.-]*\d[\w.-]*)", re.IGNORECASE)
_COLUMN = re.compile(r"\b([a-z_]+)\.([a-z0-9_]+)\b")
_CODE = re.compile(r"(?<!\w)([A-Z]\d{3})(?!\w)")


@dataclass(frozen=True, slots=True)
class Subject:
    """What a thing is of; "" where nothing is said."""

    plank: str = ""
    strake: str = ""
    frame: str = ""
    board: str = ""

    @property
    def said(self) -> str:
        """Say it in the shipwright's words.

        >>> Subject(strake="7", frame="12").said
        'strake 7, frame 12'
        """
        parts = [self.plank, *(f"{name} {getattr(self, name)}" for name in _NAMED
                               if getattr(self, name))]  # fmt: skip
        return ", ".join(part for part in parts if part)


_NAMED = ("strake", "frame", "board")


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: the thing, what it is of, and the column, rule or code where one was named."""

    text: str
    thing: Thing
    subject: Subject
    column: tuple[str, str] | None = None
    rule: str = ""
    code: str = ""


def read_question(text: str, rules: frozenset[str] = frozenset(), label: str = "") -> Question:
    """Read a question; `rules` are the names of rules there are, `label` what stands by the figure.

    Raises
    ------
    InputError : no thing of ours is named, or a code that no finding has

    >>> found = read_question("P7-2 width at 12")
    >>> found.thing.key, found.subject
    ('strake width', Subject(plank='P7-2', strake='', frame='12', board=''))
    >>> read_question("frames.girth_mm 7").subject.said
    'frame 7'
    >>> read_question("planks.sweep_mm").thing.key, read_question("butt 7 at 12").thing.key
    ('sweep', 'butt')
    """
    text = " ".join(text.split())[:MOST_LETTERS]
    if text in rules:
        return Question(text, thing_named("rule"), Subject(), rule=text)
    if code := _CODE.search(text):
        return Question(text, _finding(code[1]), _subject(text)[0], code=code[1])
    subject, rest, kind = _subject(text)
    if (named := _COLUMN.search(text)) and (thing := for_column(named[1], named[2])):
        own = subject if subject != Subject() else _by_key(named[1], text.replace(named[0], " "))
        return Question(text, thing, own, column=(named[1], named[2]))
    thing = (for_label(label) if label else None) or _thing(rest) or _default(subject, kind)
    if thing is None:
        keys = ", ".join(own.key for own in THINGS)
        wanted = f"a plank (P7-2), strake, frame or board, with or without: {keys}"
        raise InputError([Problem("why", 0, "thing", text, wanted, "P7-2 width at 12")])
    return Question(text, thing, subject)


def _by_key(table: str, rest: str) -> Subject:
    """Take a bare key beside a column for what its table is of: ``frames.girth_mm 7``."""
    kind, key = _KEYED.get(table, ""), rest.strip()
    return Subject(**{kind: key.lower()}) if kind and re.fullmatch(r"[\w.+-]+", key) else Subject()


_KEYED = {"frames": "frame", "girths": "frame", "boards": "board", "strakes": "strake"}


def _finding(code: str) -> Thing:
    """Give the thing a code is: what it means, the step that says it and the rules it is of."""
    meaning = meanings().get(code)
    if meaning is None:
        wanted = "a code that a finding has; the handbook's page Findings lists them"
        raise InputError([Problem("why", 0, "finding", code, wanted, "L003")])
    return replace(
        thing_named("finding"), says=f"{code}, {meaning.means}", step=meaning.step,
        rules=meaning.rules, page=meaning.page,
    )  # fmt: skip


def _subject(text: str) -> tuple[Subject, str, str]:
    """Take out what it is of; gives the words left over, and "seam" or "butt" where so called."""
    found: dict[str, str] = {}
    kind = ""
    if plank := _PLANK.search(text):
        found["plank"] = f"{plank[1].upper()}{plank[2].lower()}-{plank[3]}"
        text = text.replace(plank[0], " ")
    if board := _BOARD.search(text):
        found["board"], text = board[1], text.replace(board[0], " ")
    if strake := _STRAKE.search(text):
        found["strake"], kind = strake[2].lower(), strake[1].split()[0].lower()
        text = text.replace(strake[0], " ")
    if frame := _FRAME.search(text):
        found["frame"], text = frame[1], text.replace(frame[0], " ")
    return Subject(**found), plain_words(text), kind


def _thing(rest: str) -> Thing | None:
    """Find the thing the words fit best."""
    if not rest:
        return None
    plainly = " ".join(word for word in rest.split() if word not in SMALL)
    exact = next((own for own in THINGS if own.key in {rest, plainly}), None) or for_label(rest)
    if exact is not None:
        return exact
    words = _words(rest)
    best = max(_names(), key=lambda name: _fits(words, name[0]), default=None)
    return thing_named(best[1]) if best and _fits(words, best[0]) >= ENOUGH else None


def _names() -> Iterator[tuple[frozenset[str], str]]:
    """Give every name of every thing as words: keys first, so that they win where both fit."""
    for own in THINGS:
        yield _words(own.key), own.key
    for key, labels in LABELS.items():
        for label in labels.split("|"):
            yield _words(label), key
    for columns in COLUMNS.values():
        for key, names in columns.items():
            for name in names.split():
                yield _words(name.replace("_", " ")), key


def _words(text: str) -> frozenset[str]:
    found = {OTHER_WORDS.get(word, word) for word in re.findall(r"[a-z]+", plain_words(text))}
    return frozenset(w[:-1] if len(w) > 3 and w.endswith("s") else w for w in found - SMALL)


def _fits(words: frozenset[str], name: frozenset[str]) -> float:
    """Give how well two sets of words fit, 0 to 1 (Dice)."""
    return 2.0 * len(words & name) / (len(words) + len(name)) if words and name else 0.0


def _default(subject: Subject, kind: str) -> Thing | None:
    if kind in {"seam", "butt"}:
        return thing_named(kind)
    order = ("plank", "board", "strake", "frame")
    return next((thing_named(name) for name in order if getattr(subject, name)), None)
