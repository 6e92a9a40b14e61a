"""One row of the benchmark table; every `benchmarks/<subject>.py` gives `rows()`."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Row"]


@dataclass(frozen=True, slots=True)
class Row:
    """A measured figure beside its target; `target` None where none was set."""

    what: str
    value: float
    unit: str
    target: float | None = None
    note: str = ""
