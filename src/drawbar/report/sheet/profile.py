"""The pressure against the distance from the regulator, along every path of a state: a panel for each set pressure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drawbar import units
from drawbar.checking.results import CheckResult, StateResult
from drawbar.job import ROOT
from drawbar.report.check_report import path_to
from drawbar.report.display import Shown
from drawbar.report.sheet.geometry import LINE_PX, Drawing, Label, Mark, Stroke, Text, width_px

_LEFT_PX, _TOP_PX, _BOTTOM_PX = 56.0, 20.0, 40.0
LEAST_PX = 170.0  # the height of a panel without its axes
_NAME_SHARE, _NAME_MOST_PX = 0.2, 110.0  # of the drawing, and at most
_TICKS = 5


@dataclass(frozen=True, slots=True)
class Point:
    """A place of the profile: distance from the first regulator [m], pressure [Pa gauge]."""

    far_m: float
    gauge_pa: float


@dataclass(frozen=True, slots=True)
class Way:
    """A stretch of the profile. kind : `pipe`, `worst` (pipe on the way to the least margin) or `hose`."""

    kind: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class End:
    """An appliance at the end of a way, with the least pressure of its own if that is above the allowed line."""

    name: str
    at: Point
    needs_gauge_pa: float | None


@dataclass(frozen=True, slots=True)
class Panel:
    """What is set at one pressure [Pa gauge]: its ways, its ends, and the line that pressures may not go below.

    limit_gauge_pa : the set pressure less the allowed drop, or what the next regulators need, where they alone follow
    limit_words : what the line is
    """

    set_gauge_pa: float
    ways: tuple[Way, ...]
    ends: tuple[End, ...]
    limit_gauge_pa: float
    limit_words: str


def panels_of(result: CheckResult, state: StateResult) -> list[Panel]:
    """Return the panels of a state, the first regulator's first."""
    job, line = result.job, result.line
    stage_pa = {
        run.name: line.stage_gauge_pa[number] for run, number in zip(job.runs, line.index.values(), strict=True)
    }
    worst = min(state.appliances, key=lambda one: one.margin_pa)
    on_worst = {flow.section.name for flow in path_to(job, state, worst)}
    end_of = {ROOT: Point(0.0, job.regulator.outlet_gauge_pa)}
    ways: dict[float, list[Way]] = {}
    for flow in state.runs:
        start_m, name = end_of[flow.start].far_m, flow.section.name
        inlet = Point(start_m, flow.inlet_abs_pa - job.atmospheric_pa)
        end = end_of[name] = Point(start_m + flow.section.length_m, flow.outlet_abs_pa - job.atmospheric_pa)
        ways.setdefault(stage_pa[name], []).append(Way("worst" if name in on_worst else "pipe", (inlet, end)))
    ends: dict[float, list[End]] = {}
    least_pa = {one.name: one.min_gauge_pa for one in job.appliances}
    for one in state.appliances:
        set_pa = stage_pa[one.at]
        points = [end_of[one.at]]
        for flow in one.tail:
            far_m = points[-1].far_m + flow.section.length_m
            points.append(Point(far_m, flow.outlet_abs_pa - job.atmospheric_pa))
        last = Point(points[-1].far_m, one.gauge_pa)
        if points[-1] != last:
            points.append(last)
        if len(points) > 1:
            ways[set_pa].append(Way("hose", tuple(points)))
        needs_pa = least_pa[one.name]
        above = needs_pa > set_pa - job.allowed_drop_pa
        ends.setdefault(set_pa, []).append(End(one.name, last, needs_pa if above else None))
    return [
        Panel(set_pa, tuple(ways[set_pa]), tuple(ends.get(set_pa, ())), *_limit(result, set_pa, stage_pa))
        for set_pa in ways
    ]


def _limit(result: CheckResult, set_pa: float, stage_pa: dict[str, float]) -> tuple[float, str]:
    job = result.job
    fed = {appliance.at for appliance in job.appliances} | {outlet.at for outlet in job.outlets}
    if any(at is not None and stage_pa[at] == set_pa for at in fed):
        return set_pa - job.allowed_drop_pa, "allowed"
    needs = [
        run.regulator.inlet_min_gauge_pa
        for run in job.runs
        if run.regulator is not None and stage_pa.get(run.start, job.regulator.outlet_gauge_pa) == set_pa
    ]
    return max(needs), "needed by the next regulator"


def drawn(panels: Sequence[Panel], shown: Shown, width_px: float, tall_px: float = LEAST_PX) -> Drawing:
    """Return the panels under each other on a drawing of a width, each so tall or as its names ask for."""
    drawing = Drawing(width_px=width_px)
    for panel in panels:
        _panel(drawing, panel, shown, tall_px)
    return drawing


def _panel(drawing: Drawing, panel: Panel, shown: Shown, tall_px: float) -> None:
    unit = shown.display.pressure
    name_px = min(_NAME_MOST_PX, _NAME_SHARE * drawing.width_px)
    names = [_named(end, shown, name_px) for end in panel.ends]
    names_px = max((sum(piece.width_px + 5.0 for piece in pieces) for pieces in names), default=0.0) + 24.0
    plot_px = drawing.width_px - _LEFT_PX - names_px
    tall_px = max(tall_px, LINE_PX * (len(names) - 1))
    top_px = drawing.height_px + _TOP_PX
    bottom_px = top_px + tall_px

    points = [point for way in panel.ways for point in way.points]
    pressures = [panel.set_gauge_pa, panel.limit_gauge_pa, *(point.gauge_pa for point in points)]
    pressures += [end.needs_gauge_pa for end in panel.ends if end.needs_gauge_pa is not None]
    low, high = (units.from_si(pa, unit, units.PRESSURE) for pa in (min(pressures), max(pressures)))
    y_ticks = _ticks(low - 0.04 * (high - low), high)  # the lowest line stays clear of the axis
    far_most = max(units.from_si(point.far_m, shown.display.length, units.LENGTH) for point in points)
    x_ticks = [tick for tick in _ticks(0.0, far_most) if tick <= far_most * (1.0 + 1e-9)]

    def x(far_m: float) -> float:
        return _LEFT_PX + plot_px * units.from_si(far_m, shown.display.length, units.LENGTH) / far_most

    def y(value: float) -> float:
        return bottom_px - tall_px * (value - y_ticks[0]) / (y_ticks[-1] - y_ticks[0])

    def place(point: Point) -> tuple[float, float]:
        return x(point.far_m), y(units.from_si(point.gauge_pa, unit, units.PRESSURE))

    right_px = _LEFT_PX + plot_px
    drawing.strokes.append(Stroke("axis", ((_LEFT_PX, top_px), (_LEFT_PX, bottom_px), (right_px, bottom_px))))
    drawing.labels.append(Label(4.0, top_px - 9.0, Text(unit)))
    for tick, text in zip(y_ticks, _tick_texts(y_ticks), strict=True):
        drawing.strokes.append(Stroke("axis", ((_LEFT_PX - 4.0, y(tick)), (_LEFT_PX, y(tick)))))
        drawing.labels.append(Label(_LEFT_PX - 7.0, y(tick) + 4.0, Text(text), ends=True))
    free_px = 0.0  # from here on a figure finds room
    for tick, text in zip(x_ticks, _tick_texts(x_ticks), strict=True):
        at_px, half_px = _LEFT_PX + plot_px * tick / far_most, width_px(text) / 2.0
        drawing.strokes.append(Stroke("axis", ((at_px, bottom_px), (at_px, bottom_px + 4.0))))
        if at_px - half_px >= free_px:
            drawing.labels.append(Label(at_px + half_px, bottom_px + 18.0, Text(text), ends=True))
            free_px = at_px + half_px + 4.0
    far_words = f"{shown.display.length} from the regulator"
    drawing.labels.append(Label(right_px, bottom_px + 33.0, Text(far_words), ends=True))

    limit_px = place(Point(0.0, panel.limit_gauge_pa))[1]
    drawing.strokes.append(Stroke("limit", ((_LEFT_PX, limit_px), (right_px, limit_px))))
    words = Text(f"{panel.limit_words}: {shown.pressure_unit(panel.limit_gauge_pa)}")
    beside_px = 13.0 if limit_px + 18.0 < bottom_px else -5.0  # above the line where there is no room under it
    drawing.labels.append(Label(_LEFT_PX + 6.0, limit_px + beside_px, words))
    for kind in ("pipe", "hose", "worst"):
        for way in panel.ways:
            if way.kind == kind:
                drawing.strokes.append(Stroke(kind, tuple(map(place, way.points))))
                drawing.marks.extend(Mark("point", *place(point)) for point in way.points[-1:] if kind != "hose")
    heights = _spread([place(end.at)[1] for end in panel.ends], top_px, bottom_px)
    for end, pieces, at_px in zip(panel.ends, names, heights, strict=True):
        own = place(end.at)
        drawing.marks.append(Mark("appliance", *own))
        drawing.strokes.append(Stroke("leader", (own, (right_px + 8.0, at_px), (right_px + 14.0, at_px))))
        drawing.write(right_px + 18.0, at_px + 4.0, pieces, 5.0)
    drawing.height_px = bottom_px + _BOTTOM_PX


def _named(end: End, shown: Shown, most_px: float) -> list[Text]:
    pieces = [Text(end.name, "name").clipped(most_px), Text(shown.pressure(end.at.gauge_pa))]
    if end.needs_gauge_pa is not None:
        pieces.append(Text(f"min {shown.pressure(end.needs_gauge_pa)}"))
    return pieces


def _spread(wanted: Sequence[float], top_px: float, bottom_px: float) -> list[float]:
    """Return heights for names near those wanted, a line from each other: the higher first, none below bottom_px."""
    order = sorted(range(len(wanted)), key=lambda number: wanted[number])
    heights = [0.0] * len(wanted)
    next_px = top_px
    for number in order:
        heights[number] = max(next_px, wanted[number])
        next_px = heights[number] + LINE_PX
    lowest_px = bottom_px
    for number in reversed(order):
        heights[number] = min(heights[number], lowest_px)
        lowest_px = heights[number] - LINE_PX
    return heights


def _ticks(low: float, high: float) -> list[float]:
    """Return round figures that reach from at most low to at least high."""
    span = high - low or abs(high) or 1.0
    rough = span / _TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * size for size in (1.0, 2.0, 2.5, 5.0, 10.0) if power * size >= rough * (1.0 - 1e-9))
    first = math.floor(low / step + 1e-9)
    last = max(first + 1, math.ceil(high / step - 1e-9))
    return [number * step for number in range(first, last + 1)]


def _tick_texts(ticks: Sequence[float]) -> list[str]:
    """Return the figures with the digits that tell them apart."""
    step = ticks[1] - ticks[0]
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    if round(step * 10**digits, 6) % 1:
        digits += 1
    return [f"{tick:.{digits}f}" for tick in ticks]
