"""Run every benchmark and print the table kept in `docs/benchmarks.md`."""

from __future__ import annotations

import os
import platform
import sys
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path

from benchmarks.table import Row

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "benchmarks.md"
NOT_SUBJECTS = {"__init__", "__main__", "table"}


def subjects() -> list[str]:
    """List the benchmark modules, by name."""
    return sorted(p.stem for p in HERE.glob("*.py") if p.stem not in NOT_SUBJECTS)


def machine() -> str:
    """Say what machine this is, in one line."""
    return f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"


def line(row: Row) -> str:
    """One line of the table."""
    bound = "at least" if row.at_least else "at most"
    target = "" if row.target is None else f"{bound} {row.target:g} {row.unit}"
    held = {None: "", True: "yes", False: "**no**"}[row.held]
    return f"| {row.what} | {row.value:.4g} {row.unit} | {target} | {held} | {row.note} |"


def table(wanted: list[str]) -> list[str]:
    """Run the wanted subjects, printing each line as it comes."""
    lines = []
    for subject in wanted:
        lines += [
            f"\n## {subject}\n",
            "| what | measured | target | held | note |",
            "|---|---|---|---|---|",
        ]
        print("\n".join(lines[-3:]), flush=True)
        for row in import_module(f"benchmarks.{subject}").rows():
            lines.append(line(row))
            print(lines[-1], flush=True)
    return lines


def main() -> None:
    """Run all subjects, or those named; the page is written only after a whole run."""
    wanted = sys.argv[1:] or subjects()
    lines = table(wanted)
    if wanted != subjects():
        return
    head = [
        "# Benchmarks",
        "",
        f"Last run of `make bench`: {datetime.now(UTC).date()}, on {machine()}.",
        "Times are the least of several runs unless the note says otherwise.",
    ]
    PAGE.write_text("\n".join([*head, *lines]) + "\n", "utf-8")


if __name__ == "__main__":
    main()
