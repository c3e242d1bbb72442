"""The water side on a page: a row a connection, what a use takes, and the working."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.hot_water import BOILING_K, HEATER_START_S, MIXING
from drawbar.physics.water import density_kg_m3, heat_capacity_j_kg_k, viscosity_pa_s
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Points, Table
from drawbar.report.supply_words import time_words
from drawbar.report.water_words import fix_words
from drawbar.water_line.water_answer import ConnectionResult, held_m3
from drawbar.water_line.water_ends import MEASURED_OFF
from drawbar.water_line.water_flow import StretchDrop
from drawbar.water_line.water_judge import Warmth

_MOST_FIXES = 2  # on the page of one screen


def connections_table(results: Sequence[ConnectionResult], shown: Shown) -> Table:
    """Return a row for each connection: flow, temperature, wait, what a use takes, verdict."""
    columns = (
        Column("connection", words=True),
        Column(f"flow\n{shown.water_name}/min"),
        Column(f"outlet\n{shown.display.temperature}"),
        Column("hot in"),
        Column("on for"),
        Column(f"water\n{shown.water_name}"),
        Column(f"gas\n{shown.display.mass}"),
        Column("uses of\nsource"),
        Column("uses of\nbottle"),
        Column("verdict", words=True),
    )
    return Table(columns, [_row(result, shown) for result in results])


def _row(result: ConnectionResult, shown: Shown) -> list[str]:
    flow = outlet = wait = on_for = water = gas = of_source = of_bottle = "-"
    if result.flows is not None:
        flow = shown.water_flow(result.flows.drawn.flow_m3_s)
    if result.hot is not None:
        outlet = "cold" if result.is_unlit else _comes(result.hot.used.drawn_k, shown)
    if result.wait is not None and not result.is_unlit:
        wait = f"{result.wait.most_s:.0f} s"
    use = result.use
    if use is not None and not result.is_unlit:
        on_for, water = time_words(use.on_s), shown.water(use.water_m3)
        gas = shown.mass(use.gas_kg) if use.gas_kg >= 1.0 else f"{float(_small_mass(use.gas_kg, shown)):.3f}"
        of_source = "-" if use.of_source is None else f"{use.of_source}"
        of_bottle = "-" if use.of_bottles is None else f"{use.of_bottles}"
    return [result.connection.name, flow, outlet, wait, on_for, water, gas, of_source, of_bottle, result.verdict.word]


def _small_mass(kg: float, shown: Shown) -> float:
    return kg / 0.45359237 if shown.display.mass == "lb" else kg


def _comes(k: float, shown: Shown) -> str:
    return "boils" if k >= BOILING_K else shown.temperature(k)


def fixes_points(results: Sequence[ConnectionResult], shown: Shown, *, in_full: bool) -> Iterator[Points]:
    """Yield what would do, each alone."""
    sentences = [fix_words(result, fix, shown) for result in results for fix in result.fixes]
    kept = sentences if in_full else sentences[:_MOST_FIXES]
    untried = [result.connection.name for result in results if result.because and not result.has_fixes_tried]
    if untried:
        more = f" and {len(untried) - 1} more" if len(untried) > 1 else ""
        kept.append(f"For {untried[0]}{more} no other pump or setting was tried: there are too many connections.")
    if kept:
        yield Points("To put it right:", kept)


# the whole


def water_in_full(results: Sequence[ConnectionResult], shown: Shown) -> Iterator[Block]:
    """Yield the ends of each connection, and how it is worked out."""
    yield ends_table(results, shown)
    for result in results:
        if result.flows is not None:
            yield f"{result.connection.name}:"
            yield drops_table(result, shown)
            yield Points("Working:", list(_working(result, shown)))
    yield (
        "A use: water by flow and time; gas by what the heater draws so; uses of the source by its volume at the most "
        "flow, uses of the bottles drawn from by their fill at the most gas. Hot in: "
        f"{MIXING:g} times the water of the hot pipe, what its wall takes up, at the least flow, and "
        f"{HEATER_START_S:g} s for the heater to light: common practice, no source. A pump known by open flow and "
        "shut-off pressure alone has a straight line for its curve, at most a parabola."
    )


def ends_table(results: Sequence[ConnectionResult], shown: Shown) -> Table:
    """Return flow and temperature of each connection at the ends of its tolerances."""
    degrees = shown.display.temperature
    columns = (
        Column("connection", words=True),
        Column(f"least\n{shown.water_name}/min"),
        Column(f"most\n{shown.water_name}/min"),
        Column(f"at heater\n{shown.display.gauge}"),
        Column(f"in full\n{degrees}"),
        Column(f"at worst\n{degrees}"),
        Column(f"lowest\n{degrees}"),
        Column("drawn at\n%"),
        Column("charge\nAh"),
        Column("limit\n" + degrees),
    )
    rows = []
    for result in results:
        row = [result.connection.name, *["-"] * 9]
        if result.flows is not None:
            row[1:3] = [shown.water_flow(end.flow_m3_s) for end in (result.flows.least, result.flows.most)]
            row[3] = shown.water_pressure(result.flows.drawn.heater_pa)
        if result.hot is not None:
            full, lowest = result.hot.full, result.hot.lowest
            row[4:6] = [_comes(full.drawn_k, shown), _range(full, shown)]
            row[6] = "-" if lowest is None else _comes(lowest.drawn_k, shown)
            row[7] = f"{result.hot.used.share * 100:.0f}"
        if result.use is not None and result.use.charge_ah is not None:
            row[8] = f"{result.use.charge_ah:.2f}"
        if result.limit_k is not None:
            row[9] = shown.temperature(result.limit_k, 0)
        rows.append(row)
    return Table(columns, rows)


def _range(warmth: Warmth, shown: Shown) -> str:
    hottest = "boils" if warmth.hottest_k >= BOILING_K else shown.temperature(warmth.hottest_k, 0)
    return f"{shown.temperature(warmth.coldest_k, 0)} to {hottest}"


def drops_table(result: ConnectionResult, shown: Shown) -> Table:
    """Return what each stretch of a connection takes as drawn."""
    columns = (
        Column("part", words=True),
        Column(f"bore\n{shown.display.bore}"),
        Column(f"with fittings\n{shown.display.length}"),
        Column(f"water\n{shown.display.temperature}"),
        Column(f"speed\n{shown.speed_unit}"),
        Column("Re"),
        Column("flow", words=True),
        Column(f"pipe\n{shown.display.gauge}"),
        Column(f"devices\n{shown.display.gauge}"),
    )
    drops = result.flows.drawn.drops if result.flows is not None else ()
    return Table(columns, [_drop_row(drop, shown) for drop in drops])


def _drop_row(drop: StretchDrop, shown: Shown) -> list[str]:
    stretch, water = drop.stretch, shown.temperature(drop.temperature_k)
    devices = shown.water_pressure(drop.devices_pa)
    if not stretch.bore_m:
        return [stretch.name, "-", "-", water, "-", "-", "-", "-", devices]
    return [
        stretch.name,
        shown.bore(stretch.bore_m),
        shown.length(stretch.length_m),
        water,
        shown.speed(drop.velocity_m_s),
        f"{drop.reynolds:.0f}",
        drop.regime,
        shown.water_pressure(drop.friction_pa),
        devices,
    ]


def _working(result: ConnectionResult, shown: Shown) -> Iterator[str]:
    flows, connection = result.flows, result.connection
    if flows is None:
        return
    point, line = flows.drawn, flows.drawn_line
    flow, taken = shown.water_flow_unit(point.flow_m3_s), shown.water_pressure_unit(sum(d.drop_pa for d in point.drops))
    if connection.measured_m3_s is not None:
        off = f"within {MEASURED_OFF * 100:g} % (our own choice)"
        yield f"Flow {flow} as measured, {off}; the line takes {taken} at it."
    else:
        yield (
            f"Flow {flow}: the pump gives {shown.water_pressure_unit(point.pump_pa)}, the height of the water over the "
            f"outlet ({shown.length_unit(line.level_m - line.height_m)}) "
            f"{shown.water_pressure_unit(line.lift_pa)}; together the line takes {taken}."
        )
    cold_k = line.cold_k
    yield (
        "Pipe: dp = f L/d rho v^2 / 2 (Darcy-Weisbach; f = 64/Re below Re 1900, else Colebrook-White). Devices: dp "
        f"goes with the flow squared. Water at {shown.temperature_unit(cold_k)}{_water_figures(cold_k, shown)} (IAPWS "
        "SR6-08(2011))."
    )
    yield from _heat_working(result, shown)
    if result.wait is not None:
        wait = result.wait
        yield (
            f"Hot in {wait.least_s:.1f} s at least, about {wait.most_s:.0f} s at most; runs off first: "
            f"{shown.water_unit(wait.least_m3)} to {shown.water_unit(wait.most_m3)} (hot pipe holds "
            f"{shown.water_unit(held_m3(connection.hot))})."
        )
    if any(not run.wall_known for run in connection.hot):
        yield "A hose that gives no `mass:` has a heavy wall of 0.3 of its bore for the wait: our own choice."


def _water_figures(k: float, shown: Shown) -> str:
    """Return density and viscosity of water, where the job's units are those of its formula."""
    if shown.display.is_us:
        return ""
    return f": rho = {density_kg_m3(k):.1f} kg/m3, mu = {viscosity_pa_s(k) * 1e3:.3f} mPa s"


def _heat_working(result: ConnectionResult, shown: Shown) -> Iterator[str]:
    hot, heater, flows = result.hot, result.connection.heater, result.flows
    if hot is None or flows is None or heater.efficiency is None or hot.full.drawn_k >= BOILING_K:
        return
    cold_k, flow_m3_s = flows.drawn_line.cold_k, flows.drawn.flow_m3_s
    heat_w, cp = heater.input_w * heater.efficiency, heat_capacity_j_kg_k(0.5 * (cold_k + hot.full.drawn_k))
    figures = (
        f"{heat_w / 1000:.3f} kW / ({density_kg_m3(cold_k):.1f} kg/m3 x {flow_m3_s * 1e3:.5f} L/s x "
        f"{cp / 1000:.3f} kJ/kg/K)"
    )
    if shown.display.is_us:
        figures = f"{shown.difference(hot.full.drawn_k - cold_k)} {shown.difference_unit}"
    yield (
        f"In full: T2 = T1 + P / (rho V cp) = {shown.temperature_unit(cold_k)} + {figures} = "
        f"{shown.temperature_unit(hot.full.drawn_k)} (heat balance; {shown.heat_unit(heat_w)} of "
        f"{shown.heat_unit(heater.input_w)} to the water)."
    )
    wanted_k = result.connection.wanted_k
    if hot.wanted_m3_s is not None and wanted_k is not None:
        wanted = shown.temperature_unit(wanted_k[0])
        yield f"The flow for {wanted}, by the same turned round: {shown.water_flow_unit(hot.wanted_m3_s)}."
