"""The capacity tables of the International Fuel Gas Code, from tests/published."""

import csv

from paths import ROOT

BTU_H_W = 1055.05585262 / 3600.0
_FOOT_M, _INCH_M = 0.3048, 0.0254


def cells(number: str) -> list[tuple[float, float, float]]:
    """Return length [m], bore [m], capacity [W] of every cell of Table 402.4 of a number."""
    text = (ROOT / "tests" / "published" / f"ifgc-2018-table-402.4-{number}.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return [
        (float(row["length_ft"]) * _FOOT_M, float(name[5:]) * _INCH_M, float(value) * 1000.0 * BTU_H_W)
        for row in rows
        for name, value in row.items()
        if name.startswith("bore_") and value
    ]
