"""How hot water is shown: how hot it comes, how soon, and how much runs off first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import HOTWATER_CAUTIONS, IN_SHORT, SCALDS, WATER_CAUTIONS
from drawbar.hot_water import HEATER_START_S, MIXING, SCALD_K, WARM_K, HeaterResult, HotWaterDraw
from drawbar.job import Job
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data
from drawbar.report.report import Report
from drawbar.report.verdict_words import reason_points, reason_sentence
from drawbar.report.water_data import WATER_COLUMNS, connection_data, connection_row
from drawbar.report.water_screen import connections_table, fixes_points, water_in_full
from drawbar.report.words import job_name
from drawbar.verdict import Reason
from drawbar.water_line.hotwater_answer import HotWaterResult
from drawbar.water_line.water_answer import limit_with_source

_WORDS = {"given": "the job's flow", "pump": "the other pump"}
_MOST_REASONS = 2  # on the page of one screen
_SMALL = 0.05  # of a kelvin or a second, which are shown to a tenth


class HotWaterReport(Report[HotWaterResult]):
    """What each water heater gives at the job's flow, and at those asked about."""

    kind = "hotwater"
    columns = (
        *("file", "job", "ref", "appliance", "asked", "flow_L_min", "inlet_degC", "outlet_degC", "scalds"),
        *("wait_least_s", "lost_least_L", "wait_s", "lost_L"),
        *WATER_COLUMNS,
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: HotWaterResult) -> list[Block]:
        """Return the page of a job's water heaters: one screen, or with how it is worked out."""
        job, heaters, shown = result.job, result.heaters, Shown(result.job.display)
        name = job_name(job)
        verdict = f": {result.verdict.word}" if result.verdict is not None else ""
        blocks: list[Block] = [Heading(f"{name}: hot water{verdict}")]
        if result.connections:
            blocks.extend(_why(result.because, shown, in_full=self.in_full))
            blocks.append(connections_table(result.connections, shown))
            blocks.extend(fixes_points(result.connections, shown, in_full=self.in_full))
            if self.in_full:
                blocks.extend(water_in_full(result.connections, shown))
        for heater in heaters:
            if not result.connections or len(heater.draws) > 1:
                blocks.extend(_heater(heater, shown))
        if not self.in_full:
            return [*blocks, f"Hot water scalds. {IN_SHORT}" if result.connections else f"{SCALDS}\n{IN_SHORT}"]
        blocks.append(f"File {job.file}.")
        blocks.append(
            "Flow is of cold water, as the pump delivers it. Heat balance with the density and heat capacity of "
            "water of IAPWS SR6-08(2011)."
        )
        if any(heater.pipe_m3 is not None for heater in heaters):
            blocks.append(
                f"Wait and water lost: at least, for the pipe's own water alone; about, with allowances of common "
                f"practice, which have no source: {MIXING:g} times the pipe's water, since hot and cold mix and the "
                f"pipe itself warms, and {HEATER_START_S:g} s for the heater to light. What the pipe loses to the air "
                f"is left out."
            )
        blocks.append(Points("Cautions:", water_cautions(job, shown)))
        return blocks

    def data(self, result: HotWaterResult) -> dict[str, Any]:
        """Return the water side and the heaters as they stand in JSON."""
        job = result.job
        limit = limit_with_source(job)
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "verdict": result.verdict.value if result.verdict is not None else None,
            "because": because_data(result.because, Shown(job.display)),
            "connections": [connection_data(each, Shown(job.display)) for each in result.connections],
            "limit": {"degC": limit.most_k - 273.15, "source": limit.source} if limit is not None else None,
            "heaters": [
                {
                    "name": heater.appliance.name,
                    "input_MJ_h": heater.appliance.input_w * MJ_H,
                    "efficiency": heater.duty.efficiency,
                    "heat_kW": heater.heat_w / 1000.0,
                    "inlet_degC": heater.duty.inlet_k - 273.15,
                    "pipe_L": None if heater.pipe_m3 is None else heater.pipe_m3 * 1e3,
                    "flows": [_draw_data(draw) for draw in heater.draws],
                }
                for heater in result.heaters
            ],
            "allowances": {"mixing": MIXING, "heater_start_s": HEATER_START_S, "source": "common practice"},
            "scald_degC": SCALD_K - 273.15,
            "cautions": water_cautions(job, Shown(job.display)),
        }

    def rows(self, result: HotWaterResult) -> Iterator[list[Any]]:
        """Yield a row for each heater and flow, and for each connection."""
        job = result.job
        for heater in result.heaters:
            for draw in heater.draws:
                cells = _draw_data(draw)
                yield [
                    *(job.file, job.title, job.ref, heater.appliance.name, cells["asked"], cells["flow_L_min"]),
                    heater.duty.inlet_k - 273.15,
                    *(cells["outlet_degC"], "yes" if cells["scalds"] else "no", cells["wait_least_s"]),
                    *(cells["lost_least_L"], cells["wait_s"], cells["lost_L"]),
                    *[None] * len(WATER_COLUMNS),
                ]
        shown, columns = Shown(job.display), len(self.columns) - 3
        for connection in result.connections:
            yield [job.file, job.title, job.ref, *connection_row(connection, SCALD_K, result.verdict, shown, columns)]


def _why(because: Sequence[Reason], shown: Shown, *, in_full: bool) -> Iterator[Points]:
    """Yield why the verdict is not PASS: all of it, or the first that fit on one screen."""
    if in_full or len(because) <= _MOST_REASONS:
        yield from reason_points(because, shown, in_full=True)
        return
    sentences = [reason_sentence(reason, shown) for reason in because[:_MOST_REASONS]]
    yield Points(f"Why ({_MOST_REASONS} of {len(because)}, the rest with --full):", sentences)


def water_cautions(job: Job, shown: Shown) -> list[str]:
    """Return the cautions of a job's hot water, with the limit that goes with its rule if there is one."""
    limit = limit_with_source(job)
    general = WATER_CAUTIONS if job.water is not None else HOTWATER_CAUTIONS
    if limit is None:
        return list(general)
    return [
        general[0],
        f"At most {shown.temperature_unit(limit.most_k)} may reach an outlet ({limit.source}).",
        *general[1:],
    ]


def _heater(heater: HeaterResult, shown: Shown) -> Iterator[Block]:
    appliance, duty = heater.appliance, heater.duty
    lines = [
        f"{appliance.name}: {shown.heat_unit(appliance.input_w)} of gas, {duty.efficiency * 100:g} % of it to the "
        f"water ({shown.heat_unit(heater.heat_w)}). Cold water at {shown.temperature_unit(duty.inlet_k)}."
    ]
    if heater.pipe_m3 is not None and duty.bore_m is not None and duty.length_m is not None:
        lines.append(
            f"Pipe to the tap: bore {shown.bore_unit(duty.bore_m)}, {shown.length_unit(duty.length_m)} long, holds "
            f"{shown.water_unit(heater.pipe_m3)}."
        )
    else:
        lines.append("The job gives no water pipe: with `pipe:` under `heats:`, the wait at the tap is shown.")
    yield "\n".join(lines)
    yield _table(heater, shown)
    yield from _changes(heater, shown)
    yield from _scalds(heater, shown)


def _table(heater: HeaterResult, shown: Shown) -> Table:
    water = shown.water_name
    columns = [
        Column("", words=True),
        Column(f"flow\n{water}/min"),
        Column(f"rise\n{shown.difference_unit}"),
        Column(f"outlet\n{shown.display.temperature}"),
    ]
    if heater.pipe_m3 is not None:
        columns += [
            Column("wait s\nat least"),
            Column("wait s\nabout"),
            Column(f"lost {water}\nat least"),
            Column(f"lost {water}\nabout"),
        ]
    rows = []
    for draw in heater.draws:
        row = [
            _WORDS.get(draw.why) or f"for {shown.temperature_unit(heater.wanted_k or 0.0)}",
            shown.water_flow(draw.flow_m3_s),
            "-" if draw.outlet_k is None else shown.difference(draw.outlet_k - heater.duty.inlet_k),
            "boils" if draw.outlet_k is None else shown.temperature(draw.outlet_k),
        ]
        if heater.pipe_m3 is not None:
            row += [_seconds(draw.wait_least_s), _seconds(draw.wait_s)]
            row += ["-" if m3 is None else shown.water(m3) for m3 in (draw.lost_least_m3, draw.lost_m3)]
        rows.append(row)
    return Table(tuple(columns), rows)


def _changes(heater: HeaterResult, shown: Shown) -> Iterator[str]:
    """Tell in a sentence what another pump changes."""
    by_why = {draw.why: draw for draw in heater.draws}
    given, other = by_why["given"], by_why.get("pump")
    if other is None:
        return
    sentence = f"From {shown.water_flow_unit(given.flow_m3_s)} to {shown.water_flow_unit(other.flow_m3_s)}"
    if given.outlet_k is not None and other.outlet_k is not None:
        change_k = other.outlet_k - given.outlet_k
        if abs(change_k) < _SMALL:
            sentence += ": no change in temperature"
        else:
            by = f"{shown.difference(abs(change_k))} {shown.difference_unit}"
            sentence += f" the water comes {by} {'hotter' if change_k > 0 else 'cooler'}"
    else:
        sentence += ": the water would boil at one of them"
    if given.wait_s is not None and other.wait_s is not None:
        sooner_s = given.wait_s - other.wait_s
        if abs(sooner_s) >= _SMALL:
            sentence += f", {abs(sooner_s):.1f} s {'sooner' if sooner_s > 0 else 'later'}"
    yield f"{sentence}."


def _scalds(heater: HeaterResult, shown: Shown) -> Iterator[str]:
    """Tell which flows give water that scalds or boils, and that the job's own gives none for a shower."""
    given = heater.draws[0]
    if given.outlet_k is not None and given.outlet_k < WARM_K and heater.warm_m3_s is not None:
        outlet, warm = shown.temperature_unit(given.outlet_k), shown.temperature_unit(WARM_K)
        yield (
            f"COOL: at {shown.water_flow_unit(given.flow_m3_s)} the water comes at {outlet}, cooler than a shower is "
            f"taken ({warm}, common practice); {shown.water_flow_unit(heater.warm_m3_s)} gives that."
        )
    for draw in heater.draws:
        flow = shown.water_flow_unit(draw.flow_m3_s)
        if draw.outlet_k is None:
            yield (
                f"SCALD: at {flow} the water would boil at full heat. A heater that can't turn itself down must not "
                f"run at so little flow."
            )
        elif draw.outlet_k > SCALD_K:
            hot, limit = (f"{shown.temperature(k, 0)} {shown.display.temperature}" for k in (draw.outlet_k, SCALD_K))
            yield f"SCALD: at {flow} the water leaves the heater at {hot}, over {limit}."


def _seconds(seconds: float | None) -> str:
    return "-" if seconds is None else f"{seconds:.1f}"


def _draw_data(draw: HotWaterDraw) -> dict[str, Any]:
    return {
        "asked": draw.why,
        "flow_L_min": draw.flow_m3_s * 60e3,
        "outlet_degC": None if draw.outlet_k is None else draw.outlet_k - 273.15,
        "boils": draw.outlet_k is None,
        "scalds": draw.scalds,
        "wait_least_s": draw.wait_least_s,
        "lost_least_L": None if draw.lost_least_m3 is None else draw.lost_least_m3 * 1e3,
        "wait_s": draw.wait_s,
        "lost_L": None if draw.lost_m3 is None else draw.lost_m3 * 1e3,
    }
