"""Drawbar sizes the low-pressure LPG line of a trailer, caravan, van or boat from one job file.

Examples
--------
>>> import drawbar
>>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
>>> drawbar.check(job).passes
True
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drawbar.api import (
        Catalogue,
        CheckResult,
        Commissioning,
        ComparedWay,
        Draft,
        DraftAppliance,
        Duty,
        ExpectedPressures,
        Explained,
        FormulaComparison,
        HotWaterResult,
        Job,
        JobsCompared,
        Needs,
        Outcome,
        PriceList,
        Problem,
        Problems,
        Quote,
        Readings,
        Reason,
        Remedies,
        Remedy,
        SheetVerified,
        SizedJob,
        SizeResult,
        StarterFile,
        StockList,
        SupplyResult,
        Swap,
        SwapError,
        Takeoff,
        Tightness,
        Verdict,
        WholeCheck,
        Wishes,
        because,
        check,
        commission,
        compare,
        compare_formulas,
        expected_pressures,
        explain,
        hotwater,
        job_from_text,
        json_schema,
        parse_swap,
        quantity,
        quote,
        quote_page,
        quote_workbook,
        read_job,
        read_prices,
        read_readings,
        read_stock,
        recheck,
        remedies_for,
        sheet,
        size,
        starter_job,
        supply,
        swapped,
        takeoff,
        tightness,
        verify_sheet,
        way_of,
        whole_check,
        write_sizes,
    )

__version__ = "0.1.0"
__all__ = [
    "Catalogue",
    "CheckResult",
    "Commissioning",
    "ComparedWay",
    "Draft",
    "DraftAppliance",
    "Duty",
    "ExpectedPressures",
    "Explained",
    "FormulaComparison",
    "HotWaterResult",
    "Job",
    "JobsCompared",
    "Needs",
    "Outcome",
    "PriceList",
    "Problem",
    "Problems",
    "Quote",
    "Readings",
    "Reason",
    "Remedies",
    "Remedy",
    "SheetVerified",
    "SizeResult",
    "SizedJob",
    "StarterFile",
    "StockList",
    "SupplyResult",
    "Swap",
    "SwapError",
    "Takeoff",
    "Tightness",
    "Verdict",
    "WholeCheck",
    "Wishes",
    "because",
    "check",
    "commission",
    "compare",
    "compare_formulas",
    "expected_pressures",
    "explain",
    "hotwater",
    "job_from_text",
    "json_schema",
    "parse_swap",
    "quantity",
    "quote",
    "quote_page",
    "quote_workbook",
    "read_job",
    "read_prices",
    "read_readings",
    "read_stock",
    "recheck",
    "remedies_for",
    "sheet",
    "size",
    "starter_job",
    "supply",
    "swapped",
    "takeoff",
    "tightness",
    "verify_sheet",
    "way_of",
    "whole_check",
    "write_sizes",
]


if not TYPE_CHECKING:  # else every name would be one to a type checker

    def __getattr__(name: str) -> Any:
        # Only now, so that the program's --help loads neither yaml nor the physics.
        if name in __all__:
            return getattr(importlib.import_module("drawbar.api"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return list(__all__)
