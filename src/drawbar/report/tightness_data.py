"""A tightness test as it stands in JSON: the test, each section, the reading with its verdict, and the purge."""

from __future__ import annotations

from typing import Any

from drawbar.onsite.line_volume import TestSection
from drawbar.onsite.purge import PURGED, Purge, mixed_volumes
from drawbar.onsite.tightness import NO_FALL_SOURCE, Tightness
from drawbar.onsite.tightness_reading import TightnessReading
from drawbar.report.display import MJ_H, Shown
from drawbar.report.tightness_words import L_H, tightness_reason_words
from drawbar.rules import TightnessTest
from drawbar.verdict import Reason


def tightness_data(result: Tightness) -> dict[str, Any]:
    """Return a result as it stands in JSON, but for warnings and cautions; `verdict` is null without a reading."""
    job, test, shown = result.job, result.test, Shown(result.job.display)
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "verdict": result.verdict.value if result.verdict else None,
        "because": [_reason_data(reason, shown) for reason in result.because],
        "atmosphere_kPa": job.atmospheric_pa / 1000.0,
        "temperature_degC": job.temperature_k - 273.15,
        "test": _test_data(test) if test else None,
        "allowed_fall_Pa": test.allowed_fall_pa if test else 0.0,
        "allowed_fall_source": test.source if test else NO_FALL_SOURCE,
        "resolution_Pa": result.resolution_pa,
        "time_s": result.time_s,
        "asked_leak_L_h": result.leak_m3_s * L_H if result.leak_m3_s is not None else None,
        "sections": [_section_data(result, section) for section in result.sections],
        "reading": _reading_data(result.reading) if result.reading else None,
        "purge": [_purge_data(purge, job.gas.gross_j_kg) for purge in result.purges],
    }


def _reason_data(reason: Reason, shown: Shown) -> dict[str, Any]:
    text, fix = tightness_reason_words(reason, shown)
    return {"code": reason.code, "verdict": reason.verdict.value, "place": reason.place, "text": text, "fix": fix}


def _test_data(test: TightnessTest) -> dict[str, Any]:
    return {
        "name": test.name,
        "title": test.title,
        "source": test.source,
        "medium": test.medium,
        "pressure_kPa": test.pressure_gauge_pa / 1000.0,
        "settle_s": test.settle_s,
        "hold_s": test.hold_s,
        "volume_min_L": test.volume_min_m3 * 1e3 if test.volume_min_m3 is not None else None,
    }


def _section_data(result: Tightness, section: TestSection) -> dict[str, Any]:
    smallest = result.smallest_leak_m3_s(section)
    return {
        "name": section.name,
        "working_pressure_kPa": section.gauge_pa / 1000.0,
        "test_pressure_kPa": result.gauge_pa(section) / 1000.0,
        "volume_L": section.volume_m3 * 1e3,
        "runs": [
            {
                "name": run.name,
                "pipe": run.pipes[0].label,
                "bore_mm": run.pipes[0].bore_m * 1e3,
                "length_m": run.length_m,
                "volume_L": volume_m3 * 1e3,
            }
            for run, volume_m3 in section.runs
        ],
        "hoses": [
            {"name": hose.name, "outlet": outlet.name, "volume_L": volume_m3 * 1e3}
            for outlet, hose, volume_m3 in section.hoses
        ],
        "Pa_per_K": result.pa_per_k(section),
        "smallest_leak_L_h": smallest * L_H if smallest is not None else None,
        "wait_s": result.wait_s(section),
    }


def _reading_data(reading: TightnessReading) -> dict[str, Any]:
    return {
        "start_kPa": reading.start_gauge_pa / 1000.0,
        "end_kPa": reading.end_gauge_pa / 1000.0,
        "start_degC": reading.start_k - 273.15,
        "end_degC": reading.end_k - 273.15,
        "temperatures_given": reading.is_corrected,
        "unseen_change_K": reading.change_k,
        "time_s": reading.time_s,
        "time_given": reading.is_timed,
        "settled_s": reading.settled_s,
        "resolution_given": reading.is_step_known,
        "fall_Pa": reading.fall_pa,
        "leak_L_h": reading.leak_m3_s * L_H,
        "most_leak_L_h": reading.most_leak_m3_s * L_H,
        "most_other_Pa": {
            "step": reading.resolution_pa,
            "temperature": reading.temperature_band_pa,
            "weather": reading.weather_band_pa,
        },
    }


def _purge_data(purge: Purge, gross_j_kg: float) -> dict[str, Any]:
    return {
        "appliance": purge.appliance.name,
        "at": purge.appliance.at,
        "outlet": purge.outlet.name if purge.outlet else None,
        "hose": purge.hose.name if purge.hose else None,
        "volume_L": purge.volume_m3 * 1e3,
        "gas_least_L": purge.volume_m3 * 1e3,
        "gas_most_L": purge.volume_m3 * 1e3 * mixed_volumes(PURGED),
        "smallest_burner_MJ_h": purge.smallest_kg_s * gross_j_kg * MJ_H,
        "smallest_burner_known": purge.is_burner_known,
        "least_s": purge.least_s,
        "most_s": purge.mixed_s,
    }
