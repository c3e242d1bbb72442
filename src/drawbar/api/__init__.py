"""What Python code uses: the same calls and results as the commands, with the same depth and defaults.

Everything here is there as `drawbar.NAME` as well. It may import every room but the command line.
"""

from __future__ import annotations

from drawbar.answers import WholeCheck, whole_check
from drawbar.api.batches import job_files, read_results, recheck_files
from drawbar.api.calls import because, check, compare, compare_formulas, swapped, takeoff, tightness
from drawbar.api.figures import quantity
from drawbar.api.files import job_from_text, read_job, read_prices, write_sizes
from drawbar.api.quotes import quote_page, quote_workbook
from drawbar.api.sheets import sheet, verify_sheet
from drawbar.api.starting import json_schema, starter_job
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.compare import FormulaComparison
from drawbar.checking.explain import Explained, explain
from drawbar.checking.results import CheckResult
from drawbar.comparing.changed_job import ChangedJob, changed_job
from drawbar.comparing.ways import ComparedWay, JobsCompared, way_of
from drawbar.first_draft import Draft, DraftAppliance
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.gas_supply.supply import supply
from drawbar.job import Job
from drawbar.materials.needs import Needs
from drawbar.materials.prices import PriceList
from drawbar.materials.quote import Quote, quote
from drawbar.materials.takeoff import Takeoff
from drawbar.onsite.commission import Commissioning, ExpectedPressures, commission, expected_pressures
from drawbar.onsite.readings import Readings, read_readings
from drawbar.onsite.tightness import Tightness
from drawbar.physics.cooling import Duty
from drawbar.problems import Problem, Problems
from drawbar.rechecking.job_files import JobFile
from drawbar.rechecking.recheck import Outcome
from drawbar.rechecking.recheck import recheck_job as recheck
from drawbar.rechecking.since import Since, since
from drawbar.rechecking.swaps import Swap, SwapError, parse_swap
from drawbar.records.verified import SheetVerified
from drawbar.remedies.remedy import Remedies, Remedy
from drawbar.remedies.search import remedies_for
from drawbar.sizing.size import SizeResult, Wishes
from drawbar.sizing.size_job import SizedJob
from drawbar.sizing.size_job import size_job as size
from drawbar.sizing.stock import StockList, read_stock
from drawbar.templates import StarterFile
from drawbar.verdict import Reason, Verdict
from drawbar.water_line.hotwater_answer import HotWaterResult, hotwater

__all__ = [
    "Catalogue",
    "ChangedJob",
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
    "JobFile",
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
    "Since",
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
    "changed_job",
    "check",
    "commission",
    "compare",
    "compare_formulas",
    "expected_pressures",
    "explain",
    "hotwater",
    "job_files",
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
    "read_results",
    "read_stock",
    "recheck",
    "recheck_files",
    "remedies_for",
    "sheet",
    "since",
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
