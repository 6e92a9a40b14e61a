"""Writing the open tables: CSV files that say what they are, and a summary beside them.

The folder is a Frictionless Data Package: ``datapackage.json`` gives every column its type, unit,
meaning, key and links. CSV is UTF-8 with a point as decimal sign; an empty cell is not known. A
text that a spreadsheet would run as a formula gets an apostrophe before it. Numbers keep four
decimals (a ten-thousandth of a millimetre).

Only files of our own names are written or taken away; whatever else lies in the folder stays.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ribband.store.table_rows import Known, filled
from ribband.store.table_shapes import NOT_YET, SHAPES, Shape, schema
from ribband.survey.defused import defused

__all__ = ["table_files", "write_tables"]


def write_tables(
    folder: Path, known: Known, title: str, summary: Mapping[str, Any]
) -> tuple[Path, ...]:
    """Write every table that can be filled, ``datapackage.json`` and, last, ``summary.json``.

    Tables of ours from an earlier time that can no longer be filled are taken away.
    """
    folder.mkdir(parents=True, exist_ok=True)
    tables = filled(known)
    for name in SHAPES.keys() - tables.keys():
        folder.joinpath(f"{name}.csv").unlink(missing_ok=True)
    paths = [_write_csv(folder, SHAPES[name], rows) for name, rows in tables.items()]
    package = _write_json(folder / "datapackage.json", _package(title, tuple(tables)))
    left_out = {"tables_left_out": NOT_YET | _missing(tables)}
    return (*paths, package, _write_json(folder / "summary.json", dict(summary) | left_out))


def table_files() -> tuple[str, ...]:
    """Name every file `write_tables` may write.

    >>> "planks.csv" in table_files(), table_files()[-1]
    (True, 'summary.json')
    """
    return (*(f"{name}.csv" for name in SHAPES), "datapackage.json", "summary.json")


def _missing(tables: Mapping[str, Any]) -> dict[str, str]:
    return {name: "not made yet, or nothing taken in" for name in SHAPES if name not in tables}


def _package(title: str, names: Sequence[str]) -> dict[str, Any]:
    return {
        "profile": "tabular-data-package",
        "name": "ribband-tables",
        "title": title,
        "description": "Planking of a vessel; x from forward to aft, y out from the centreline, "
        "z up; lengths in millimetres.",
        "resources": [_resource(SHAPES[name], frozenset(names)) for name in names],
    }


def _resource(shape: Shape, present: frozenset[str]) -> dict[str, Any]:
    return {
        "profile": "tabular-data-resource",
        "name": shape.name,
        "description": f"One row is {shape.row}.",
        "path": f"{shape.name}.csv",
        "scheme": "file",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "quoteChar": '"', "doubleQuote": True, "header": True},
        "schema": schema(shape, present),
    }


def _write_csv(folder: Path, shape: Shape, rows: Sequence[Sequence[Any]]) -> Path:
    path = folder / f"{shape.name}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\r\n")
        out.writerow([column.name for column in shape.columns])
        out.writerows([_cell(value) for value in row] for row in rows)
    return path


def _cell(value: Any) -> str:
    """Write one value.

    >>> [_cell(v) for v in (None, True, 3, 1.50004999, float("nan"), "-", -0.00001)]
    ['', 'true', '3', '1.5', '', '-', '0.0']
    """
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return str(round(value, 4) + 0.0)
    return defused(value) if isinstance(value, str) else str(value)


def _write_json(path: Path, body: Mapping[str, Any]) -> Path:
    text = json.dumps(body, indent=2, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")
    return path
