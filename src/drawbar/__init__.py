"""Drawbar sizes the low-pressure LPG line of a trailer, caravan, van or boat from one job file.

job = drawbar.read_job("job.yaml", sized=True)
result = drawbar.check(job)
print("passes" if result.passes else "fails")
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drawbar.api import (
        Catalogue,
        CheckResult,
        Job,
        Needs,
        Outcome,
        PriceList,
        Problem,
        Problems,
        Quote,
        SizeResult,
        Swap,
        SwapError,
        Takeoff,
        Wishes,
        check,
        quote,
        read_job,
        read_prices,
        recheck,
        size,
        swap_of,
        takeoff,
    )

__version__ = "0.1.0"
__all__ = [
    "Catalogue",
    "CheckResult",
    "Job",
    "Needs",
    "Outcome",
    "PriceList",
    "Problem",
    "Problems",
    "Quote",
    "SizeResult",
    "Swap",
    "SwapError",
    "Takeoff",
    "Wishes",
    "check",
    "quote",
    "read_job",
    "read_prices",
    "recheck",
    "size",
    "swap_of",
    "takeoff",
]


if not TYPE_CHECKING:  # else every name would be one to a type checker

    def __getattr__(name: str) -> Any:
        # Only now, so that the program's --help loads neither yaml nor the physics.
        if name in __all__:
            return getattr(importlib.import_module("drawbar.api"), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*globals(), *__all__]
