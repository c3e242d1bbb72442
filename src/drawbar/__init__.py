"""Drawbar sizes the low-pressure LPG line of a trailer, caravan, van or boat from one job file."""

from __future__ import annotations

__version__ = "0.1.0"
