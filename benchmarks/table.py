"""One row of the benchmark table; every `benchmarks/<subject>.py` gives `rows()`."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Row"]


@dataclass(frozen=True, slots=True)
class Row:
    """A measured figure beside its target: the most it may be, or the least if `at_least`."""

    what: str
    value: float
    unit: str
    target: float | None = None
    note: str = ""
    at_least: bool = False

    @property
    def held(self) -> bool | None:
        """Tell whether the target was held; None where none was set."""
        if self.target is None:
            return None
        return self.value >= self.target if self.at_least else self.value <= self.target
