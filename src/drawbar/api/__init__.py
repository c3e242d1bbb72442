"""What Python code uses: the same calls and results as the commands, with the same depth and defaults.

Everything here is there as `drawbar.NAME` as well. It may import every room but the command line.
"""

from __future__ import annotations

from drawbar.api.design import (
    FormulaComparison,
    HotWaterResult,
    SizedJob,
    check,
    compare_formulas,
    explain,
    hotwater,
    sheet,
    size,
    supply,
)
from drawbar.api.figures import quantity
from drawbar.api.files import StockList, job_from_text, read_job, read_prices, read_readings, read_stock, write_sizes
from drawbar.api.quoting import quote, takeoff
from drawbar.api.site_visit import ExpectedPressures, commission, expected_pressures, tightness
from drawbar.api.swapping import recheck, remedied, swap_of, swapped
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.explain import Explained
from drawbar.checking.results import CheckResult
from drawbar.gas_supply import SupplyResult
from drawbar.job import Job
from drawbar.materials.prices import PriceList
from drawbar.materials.quote import Quote
from drawbar.materials.takeoff import Needs, Takeoff
from drawbar.onsite.commission import Commissioning
from drawbar.onsite.readings import Readings
from drawbar.onsite.tightness import Tightness
from drawbar.physics.cooling import Duty
from drawbar.problems import Problem, Problems
from drawbar.rechecking.recheck import Outcome, Remedy, Swap, SwapError
from drawbar.sizing.size import SizeResult, Wishes

__all__ = [
    "Catalogue",
    "CheckResult",
    "Commissioning",
    "Duty",
    "ExpectedPressures",
    "Explained",
    "FormulaComparison",
    "HotWaterResult",
    "Job",
    "Needs",
    "Outcome",
    "PriceList",
    "Problem",
    "Problems",
    "Quote",
    "Readings",
    "Remedy",
    "SizeResult",
    "SizedJob",
    "StockList",
    "SupplyResult",
    "Swap",
    "SwapError",
    "Takeoff",
    "Tightness",
    "Wishes",
    "check",
    "commission",
    "compare_formulas",
    "expected_pressures",
    "explain",
    "hotwater",
    "job_from_text",
    "quantity",
    "quote",
    "read_job",
    "read_prices",
    "read_readings",
    "read_stock",
    "recheck",
    "remedied",
    "sheet",
    "size",
    "supply",
    "swap_of",
    "swapped",
    "takeoff",
    "tightness",
    "write_sizes",
]
