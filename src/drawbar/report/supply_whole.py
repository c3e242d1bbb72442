"""The whole page of a job's supply, and the tables that it shares with the page of one screen and the sheet."""

from __future__ import annotations

from collections.abc import Iterator

from drawbar.cautions import SUPPLY_CAUTIONS
from drawbar.gas_supply.duty_text import duty_share
from drawbar.gas_supply.supplied import StateSupply, SupplyResult
from drawbar.gas_supply.supply import GRID_AMBIENTS_K, GRID_FILLS, LEAST_FILL, liquid_shares
from drawbar.job import ROOT, Cylinders
from drawbar.line.feeding import pigtail_drop_pa
from drawbar.physics.cooling import EMPTY, GOING, Course, Duty
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Block, Column, Points, Table
from drawbar.report.supply_words import hours_words, in_turn_words, size_words, time_words
from drawbar.report.words import sentence


def supply_in_full(result: SupplyResult, shown: Shown) -> Iterator[Block]:
    """Yield what stands under the verdict of a job's supply when all of it is asked for."""
    yield supplied_states(result, shown)
    yield from in_turn_block(result, shown)
    yield supplied_details(result, shown)
    if result.duty is not None:
        yield _duty(result, result.duty, shown)
    yield offtake_words(result, shown)
    yield _grid_words(result)
    yield _grid(result, shown)
    yield _head(result, shown)
    yield Points("Cautions:", list(SUPPLY_CAUTIONS))


def in_turn_block(result: SupplyResult, shown: Shown) -> Iterator[str]:
    """Yield a line for each sequence of states that are used one after the other."""
    if result.in_turn:
        yield "\n".join(in_turn_words(each, shown) for each in result.in_turn)


def supplied_states(result: SupplyResult, shown: Shown) -> Table:
    """Return a row for each state: its load beside the continuous offtake, how it is used, what becomes of a bottle."""
    heat = shown.display.heat
    columns = (
        Column("state", words=True),
        Column(f"load\n{heat}"),
        Column(f"offtake\n{heat}"),
        Column(f"margin\n{heat}"),
        Column("without a break\na cold bottle", words=True),
        Column("on for"),
        Column("every"),
        Column("verdict", words=True),
    )
    rows = [
        [
            state.name,
            *map(shown.heat, (state.load_w, state.steady_w, state.steady_w - state.load_w)),
            _ended(state.course),
            time_words(state.use.on_s) if state.use else "-",
            hours_words(state.use.every_s) if state.use and state.use.every_s else "-",
            state.verdict.word,
        ]
        for state in result.states
    ]
    return Table(columns, rows)


def supplied_details(result: SupplyResult, shown: Shown) -> Table:
    """Return for each state the gas, the bottles and the regulators in figures."""
    bottles, display = result.cylinders, shown.display
    columns = (
        Column("state", words=True),
        Column(f"gas\n{display.mass}/h"),
        Column("bottles\nneeded"),
        Column("gas for h,\ndrawn from"),
        *([Column("all\nbottles")] if bottles.count > bottles.drawing else []),
        Column(f"liquid\n{display.temperature}"),
        Column(f"left\n{display.mass}"),
        Column("kept up\ndown to"),
        Column("regulator", words=True),
    )
    rows = []
    for state in result.states:
        row = [
            state.name,
            shown.mass_flow(state.flow_kg_s),
            "-" if state.bottles_needed is None else f"{state.bottles_needed:,}",
            f"{state.drawing_s / 3600:.1f}",
        ]
        if bottles.count > bottles.drawing:
            row.append(f"{state.all_s / 3600:.1f}")
        settles = shown.temperature(state.liquid_k) if state.keeps_up else "-"
        rows.append([*row, settles, shown.mass(state.course.left_kg), _lowest(state.lowest_fill), _regulator(state)])
    return Table(columns, rows)


def _regulator(state: StateSupply) -> str:
    if state.overloaded:
        return "over: " + ", ".join("first" if stage.name == ROOT else stage.name for stage in state.overloaded)
    return "not known" if any(stage.regulator.capacity_w is None for stage in state.regulators) else "enough"


def _lowest(fill: float | None) -> str:
    if fill is None:
        return "-"
    return "the end" if fill <= LEAST_FILL else f"{fill * 100:.0f} %"


def _head(result: SupplyResult, shown: Shown) -> str:
    job, bottles = result.job, result.cylinders
    capacity_w = job.regulator.capacity_w
    rated = f", rated {shown.heat_unit(capacity_w)}" if capacity_w is not None else ", of no rated capacity in the job"
    lines = [
        f"File {job.file}. {sentence(gas_words(job.filled_with))} Regulator "
        f"{shown.pressure_unit(job.regulator.outlet_gauge_pa)}{rated}.",
        _bottle(bottles, shown),
        f"The regulator is taken to work down to {shown.gauge_unit(bottles.least_gauge_pa)} in the bottle "
        f"({bottles.least_source}).",
        *_pigtail_words(result, shown),
        *_fit_words(bottles, shown),
    ]
    if len(result.liquid) > 1:
        parts = " and ".join(f"{share * 100:.0f} % {name}" for name, share in liquid_shares(result.liquid))
        lines.append(f"The lighter gas leaves first: the liquid left at this fill is {parts} by mole.")
    return "\n".join(lines)


def bottles_words(bottles: Cylinders, shown: Shown) -> str:
    """Return how many bottles there are, of what size, how full and in what air."""
    many = "1 bottle" if bottles.count == 1 else f"{bottles.count} bottles"
    drawn = f", {'all' if bottles.drawing == bottles.count else bottles.drawing} drawn from at once"
    now = f"{bottles.fill * 100:g} % full, in air of {shown.temperature_unit(bottles.ambient_k)}"
    if bottles.has_changeover:
        drawn += ", the sides by a changeover"
    return f"{many} of {size_words(bottles, shown)}{drawn if bottles.count > 1 else ''}, {now}"


def _pigtail_words(result: SupplyResult, shown: Shown) -> Iterator[str]:
    """Yield what the pigtail takes at the largest load, with the regulator at its lowest inlet pressure."""
    bottles, job = result.cylinders, result.job
    if bottles.pigtail is None:
        return
    hardest = max(result.states, key=lambda state: state.flow_kg_s)
    each_kg_s = hardest.flow_kg_s / bottles.drawing
    takes_pa = pigtail_drop_pa(bottles, each_kg_s, bottles.least_gauge_pa + job.atmospheric_pa)
    flow = shown.mass_flow_unit(each_kg_s)
    yield (
        f"The pigtail takes {shown.gauge_unit(takes_pa)} more in {hardest.name}, at {flow} from each bottle: a bottle "
        "starves so much sooner."
    )


def _fit_words(bottles: Cylinders, shown: Shown) -> Iterator[str]:
    """Yield over what the offtake was fitted, how this bottle stands to it, and a second published figure."""
    fit = bottles.fit
    if fit is None:
        return
    least_kg, most_kg = fit.left_kg
    left_kg = bottles.size_kg * bottles.fill
    stands = "within it" if least_kg <= left_kg <= most_kg else f"outside it with {shown.mass_unit(left_kg)} left"
    yield (
        f"The heat into the bottle is fitted to a table of {shown.mass(least_kg)} to {shown.mass_unit(most_kg)} left "
        f"and of {shown.temperature(fit.air_k[0], 0)} to {shown.temperature_unit(fit.air_k[1])}, within "
        f"{fit.share * 100:.0f} %; this bottle is {stands}. {sentence(fit.beyond)}"
    )
    if fit.trade_bottle_kg is not None and fit.trade_kg_s is not None:
        yield (
            f"A second table takes a bottle of {shown.mass_unit(fit.trade_bottle_kg)} for "
            f"{shown.mass_flow_unit(fit.trade_kg_s)} without a break, in the cold and with little left in it "
            f"({fit.trade_source})."
        )


def _bottle(bottles: Cylinders, shown: Shown) -> str:
    bottle = bottles.bottle
    return (
        f"Each is {shown.bore_unit(bottle.diameter_m)} across, holds {shown.volume_unit(bottle.water_capacity_m3)} and "
        f"weighs {shown.mass_unit(bottle.tare_kg)} empty ({bottles.source})."
    )


def offtake_words(result: SupplyResult, shown: Shown) -> str:
    """Return the continuous offtake of the bottles drawn from, as sentences."""
    steady, bottles = result.steady, result.cylinders
    drawn = "The bottle" if bottles.count == 1 else "The bottle drawn from"
    if bottles.drawing > 1:
        drawn = f"The {bottles.drawing} bottles drawn from"
    if steady.gross_w <= 0.0:
        gives = "give" if bottles.drawing > 1 else "gives"
        return (
            f"{drawn} {gives} nothing: in air of {shown.temperature_unit(bottles.ambient_k)} the pressure is below "
            f"what the regulator needs. This gas must be at {shown.temperature_unit(steady.liquid_k)} for that."
        )
    has = "have" if bottles.drawing > 1 else "has"
    return (
        f"{drawn} {has} a continuous offtake of {shown.heat_unit(bottles.drawing * steady.gross_w)} "
        f"({shown.mass_flow_unit(bottles.drawing * steady.flow_kg_s)}). More heat does not come through the wetted "
        f"wall: the liquid is then at {shown.temperature_unit(steady.liquid_k)}, as cold as the regulator lets it be."
    )


def _duty(result: SupplyResult, duty: Duty, shown: Shown) -> Table:
    columns = (
        Column(f"state, its load {time_words(duty.on_s)} on,\n{time_words(duty.off_s)} off", words=True),
        Column(f"mean\n{shown.display.heat}"),
        Column("a cold bottle", words=True),
        Column(f"left\n{shown.display.mass}"),
    )
    rows = [
        [
            state.name,
            shown.heat(state.load_w * duty_share(duty)),
            _ended(state.duty_course),
            shown.mass(state.duty_course.left_kg),
        ]
        for state in result.states
        if state.duty_course is not None
    ]
    return Table(columns, rows)


def _grid_words(result: SupplyResult) -> str:
    drawn = "the bottle drawn from" if result.cylinders.drawing == 1 else f"{result.cylinders.drawing} bottles"
    return f"Continuous offtake of {drawn}, by fill and by the air around:"


def _grid(result: SupplyResult, shown: Shown) -> Table:
    heat = shown.display.heat
    columns = (
        Column("full"),
        *(
            Column(f"{shown.temperature(ambient_k, 0)} {shown.display.temperature}\n{heat}")
            for ambient_k in GRID_AMBIENTS_K
        ),
    )
    rows = [[f"{fill * 100:.0f} %", *map(shown.heat, row)] for fill, row in zip(GRID_FILLS, result.grid, strict=True)]
    return Table(columns, rows)


def _ended(course: Course | None) -> str:
    assert course is not None  # the caller has looked
    if course.ended == GOING:
        return f"over {time_words(course.time_s)}"
    if course.ended == EMPTY:
        return f"empty, {time_words(course.time_s)}"
    return "starves at once" if course.time_s <= 0.0 else f"starves, {time_words(course.time_s)}"
