"""Forms as the job file keeps them: the exact text, addressed by its hash.

*Body*: a form as JSON, with the file and the row numbers it came from, so that a doubt found next
year still points at the cell as it was typed. *Sense*: what the form says, heading and rows,
whatever file it came in and however many notes or empty lines stood between. Two forms of the
same sense are the same input, and taking the second in changes nothing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import lru_cache

from ribband.survey.rows import Form

__all__ = ["body_of", "form_of", "hash_of", "inputs_hash", "sense_of"]


def body_of(form: Form) -> str:
    """Write the whole form as one JSON text."""
    own = {
        "name": form.name,
        "header": form.header,
        "rows": form.rows,
        "file": form.file,
        "numbers": form.numbers,
        "notes": form.notes,
        "heading_row": form.heading_row,
    }
    return json.dumps(own, ensure_ascii=False, separators=(",", ":"))


@lru_cache(maxsize=64)
def form_of(body: str) -> Form:
    """Read a form back from its body; equal to the form it was made from.

    A body read a moment ago gives the very same form; nothing ever changes one.

    Raises
    ------
    ValueError : it is no body of a form
    """
    try:
        own = json.loads(body)
        form = Form(
            name=own["name"],
            header=tuple(own["header"]),
            rows=tuple(tuple(row) for row in own["rows"]),
            file=own["file"],
            numbers=tuple(own["numbers"]),
            notes=tuple((number, text) for number, text in own["notes"]),
            heading_row=own["heading_row"],
        )
    except (KeyError, TypeError, AttributeError, RecursionError) as wrong:
        raise ValueError(f"no form: {type(wrong).__name__}") from wrong
    if not _is_form(form):
        raise ValueError("no form: a cell that is no text, or a row number that is none")
    return form


def _is_form(form: Form) -> bool:
    texts = (form.name, form.file, *form.header, *(text for _, text in form.notes))
    numbers = (*form.numbers, form.heading_row, *(number for number, _ in form.notes))
    return (
        all(type(text) is str for text in texts)
        and all(type(cell) is str for row in form.rows for cell in row)
        and all(type(number) is int for number in numbers)
        and len(form.numbers) == len(form.rows)
    )


def hash_of(text: str) -> str:
    """SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def sense_of(form: Form) -> str:
    """Hash what the form says: its heading and rows."""
    said = [list(form.header), [list(row) for row in form.rows]]
    return hash_of(json.dumps(said, ensure_ascii=False, separators=(",", ":")))


def inputs_hash(forms: Mapping[str, Form]) -> str:
    """Hash what all forms of a job say together; the order they come in does not matter.

    >>> inputs_hash({}) == inputs_hash({})
    True
    """
    return hash_of("\n".join(f"{name} {sense_of(forms[name])}" for name in sorted(forms)))
