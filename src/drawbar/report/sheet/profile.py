"""The pressure against the distance from the regulator, along every path of a state: a panel for each set pressure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drawbar import units
from drawbar.checking.drawn_way import DrawnWay
from drawbar.checking.results import ApplianceResult, CheckResult
from drawbar.job import ROOT, Job
from drawbar.line.section import SectionFlow
from drawbar.report.check_whole import path_to
from drawbar.report.display import Shown
from drawbar.report.sheet.geometry import LINE_PX, Drawing, Mark, Stroke, SvgLabel, SvgText, width_px

_LEFT_PX, _TOP_PX, _BOTTOM_PX = 56.0, 20.0, 40.0
LEAST_PX = 100.0  # the height of a panel without its axes
_NAME_SHARE, _NAME_MOST_PX = 0.2, 110.0  # of the drawing, and at most
_TICKS = 5


@dataclass(frozen=True, slots=True)
class ProfilePoint:
    """A place of the profile: distance from the first regulator [m], pressure [Pa gauge]."""

    far_m: float
    gauge_pa: float


@dataclass(frozen=True, slots=True)
class ProfileStretch:
    """A stretch of the profile.

    Attributes
    ----------
    kind : str
        `pipe`, `worst` (pipe on the way to the least margin) or `hose`.
    points : tuple of ProfilePoint
        What it joins, from the regulator's side on.
    """

    kind: str
    points: tuple[ProfilePoint, ...]


@dataclass(frozen=True, slots=True)
class ProfileEnd:
    """An appliance at the end of the line, with the least pressure of its own if that is above the allowed line."""

    name: str
    at: ProfilePoint
    needs_gauge_pa: float | None


@dataclass(frozen=True, slots=True)
class Panel:
    """What is set at one pressure: its stretches, its ends, and the line that pressures may not go below.

    Attributes
    ----------
    set_gauge_pa : float
        The set pressure [Pa gauge].
    stretches : tuple of ProfileStretch
        The runs, and the outlets and hoses behind them.
    ends : tuple of ProfileEnd
        The appliances that are on.
    limit_gauge_pa : float
        The set pressure less the allowed drop, or what the next regulators need where they alone follow [Pa gauge].
    limit_words : str
        What the limit is.
    """

    set_gauge_pa: float
    stretches: tuple[ProfileStretch, ...]
    ends: tuple[ProfileEnd, ...]
    limit_gauge_pa: float
    limit_words: str


def panels_of(result: CheckResult, drawn: DrawnWay) -> list[Panel]:
    """Return the panels of a state in one combination, the first regulator's first."""
    state = drawn.state
    job, line = result.job, result.line
    stage_pa = {
        run.name: line.stage_gauge_pa[number] for run, number in zip(job.runs, line.index.values(), strict=True)
    }
    stretches: dict[float, list[ProfileStretch]] = {}
    end_of_run = {ROOT: ProfilePoint(0.0, job.regulator.outlet_gauge_pa)}
    worst = min(drawn.appliances, key=lambda appliance: appliance.margin_pa)
    on_worst = {flow.section.name for flow in path_to(job, state, worst)}
    for flow in state.runs:
        name = flow.section.name
        start = ProfilePoint(end_of_run[flow.start].far_m, flow.inlet_abs_pa - job.atmospheric_pa)
        end_of_run[name] = _after(start, flow, job)
        kind = "worst" if name in on_worst else "pipe"
        stretches.setdefault(stage_pa[name], []).append(ProfileStretch(kind, (start, end_of_run[name])))
    ends: dict[float, list[ProfileEnd]] = {}
    least_pa = {appliance.name: appliance.min_gauge_pa for appliance in job.appliances}
    for appliance in drawn.appliances:
        set_pa = stage_pa[appliance.at]
        points = _tail(appliance, end_of_run[appliance.at], job)
        if len(points) > 1:
            stretches[set_pa].append(ProfileStretch("hose", tuple(points)))
        needs_pa = least_pa[appliance.name]
        is_above = needs_pa > set_pa - job.allowed_drop_pa
        ends.setdefault(set_pa, []).append(ProfileEnd(appliance.name, points[-1], needs_pa if is_above else None))
    return [
        Panel(set_pa, tuple(stretches[set_pa]), tuple(ends.get(set_pa, ())), *_limit(result, set_pa, stage_pa))
        for set_pa in stretches
    ]


def _after(start: ProfilePoint, flow: SectionFlow, job: Job) -> ProfilePoint:
    """Return the end of a section that starts at a point."""
    return ProfilePoint(start.far_m + flow.section.length_m, flow.outlet_abs_pa - job.atmospheric_pa)


def _tail(appliance: ApplianceResult, start: ProfilePoint, job: Job) -> list[ProfilePoint]:
    """Return the points from the end of a run through outlet and hose to an appliance's inlet."""
    points = [start]
    for flow in appliance.tail:
        points.append(_after(points[-1], flow, job))
    inlet = ProfilePoint(points[-1].far_m, appliance.gauge_pa)
    return points if points[-1] == inlet else [*points, inlet]


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


def drawn(panels: Sequence[Panel], shown: Shown, wide_px: float, tall_px: float = LEAST_PX) -> Drawing:
    """Draw panels under each other.

    Parameters
    ----------
    panels : sequence of Panel
        What is drawn.
    shown : Shown
        The units that it is drawn in.
    wide_px, tall_px : float
        How wide the drawing is, and how tall each panel; a panel is as tall as its names ask for [px].

    Returns
    -------
    Drawing
        The panels with their axes, as tall as it must be.
    """
    drawing = Drawing(width_px=wide_px)
    for panel in panels:
        name_px = min(_NAME_MOST_PX, _NAME_SHARE * wide_px)
        names = [_name_of(end, shown, name_px) for end in panel.ends]
        plot = _plot(drawing, panel, names, shown, tall_px)
        _draw_axes(drawing, plot, shown)
        _draw_limit(drawing, plot, panel, shown)
        _draw_stretches(drawing, plot, panel)
        _draw_names(drawing, plot, panel, names)
        drawing.height_px = plot.bottom_px + _BOTTOM_PX
    return drawing


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where a panel's pressures and distances stand on a drawing, in the job's units."""

    top_px: float
    bottom_px: float
    right_px: float
    x_ticks: list[float]
    y_ticks: list[float]
    far_most: float
    shown: Shown

    def x_px(self, far: float) -> float:
        return _LEFT_PX + (self.right_px - _LEFT_PX) * far / self.far_most

    def y_px(self, pressure: float) -> float:
        tall_px = self.bottom_px - self.top_px
        return self.bottom_px - tall_px * (pressure - self.y_ticks[0]) / (self.y_ticks[-1] - self.y_ticks[0])

    def place(self, point: ProfilePoint) -> tuple[float, float]:
        far = units.from_si(point.far_m, self.shown.display.length, units.LENGTH)
        return self.x_px(far), self.y_px(units.from_si(point.gauge_pa, self.shown.display.pressure, units.PRESSURE))


def _plot(drawing: Drawing, panel: Panel, names: Sequence[Sequence[SvgText]], shown: Shown, tall_px: float) -> _Plot:
    """Return the plot of a panel under what is drawn already, with room for the names at its right."""
    names_px = max((sum(piece.width_px + 5.0 for piece in pieces) for pieces in names), default=0.0) + 24.0
    points = [point for stretch in panel.stretches for point in stretch.points]
    pressures_pa = [panel.set_gauge_pa, panel.limit_gauge_pa, *(point.gauge_pa for point in points)]
    pressures_pa += [end.needs_gauge_pa for end in panel.ends if end.needs_gauge_pa is not None]
    unit = shown.display.pressure
    low, high = (units.from_si(pa, unit, units.PRESSURE) for pa in (min(pressures_pa), max(pressures_pa)))
    far_most = max(units.from_si(point.far_m, shown.display.length, units.LENGTH) for point in points)
    top_px = drawing.height_px + _TOP_PX
    return _Plot(
        top_px=top_px,
        bottom_px=top_px + max(tall_px, LINE_PX * (len(names) - 1)),
        right_px=drawing.width_px - names_px,
        x_ticks=[tick for tick in _ticks(0.0, far_most) if tick <= far_most * (1.0 + 1e-9)],
        y_ticks=_ticks(low - 0.04 * (high - low), high),  # the lowest line stays clear of the axis
        far_most=far_most,
        shown=shown,
    )


def _draw_axes(drawing: Drawing, plot: _Plot, shown: Shown) -> None:
    corners = (_LEFT_PX, plot.top_px), (_LEFT_PX, plot.bottom_px), (plot.right_px, plot.bottom_px)
    drawing.strokes.append(Stroke("axis", corners))
    drawing.labels.append(SvgLabel(4.0, plot.top_px - 9.0, SvgText(shown.display.pressure)))
    for tick, text in zip(plot.y_ticks, _tick_texts(plot.y_ticks), strict=True):
        y_px = plot.y_px(tick)
        drawing.strokes.append(Stroke("axis", ((_LEFT_PX - 4.0, y_px), (_LEFT_PX, y_px))))
        drawing.labels.append(SvgLabel(_LEFT_PX - 7.0, y_px + 4.0, SvgText(text), ends=True))
    free_px = 0.0  # from here on a figure finds room
    for tick, text in zip(plot.x_ticks, _tick_texts(plot.x_ticks), strict=True):
        x_px, half_px = plot.x_px(tick), width_px(text) / 2.0
        drawing.strokes.append(Stroke("axis", ((x_px, plot.bottom_px), (x_px, plot.bottom_px + 4.0))))
        if x_px - half_px >= free_px:
            drawing.labels.append(SvgLabel(x_px + half_px, plot.bottom_px + 18.0, SvgText(text), ends=True))
            free_px = x_px + half_px + 4.0
    words = SvgText(f"{shown.display.length} from the regulator")
    drawing.labels.append(SvgLabel(plot.right_px, plot.bottom_px + 33.0, words, ends=True))


def _draw_limit(drawing: Drawing, plot: _Plot, panel: Panel, shown: Shown) -> None:
    _, limit_px = plot.place(ProfilePoint(0.0, panel.limit_gauge_pa))
    drawing.strokes.append(Stroke("limit", ((_LEFT_PX, limit_px), (plot.right_px, limit_px))))
    words = SvgText(f"{panel.limit_words}: {shown.pressure_unit(panel.limit_gauge_pa)}")
    beside_px = 13.0 if limit_px + 18.0 < plot.bottom_px else -5.0  # above the line where there is no room under it
    drawing.labels.append(SvgLabel(_LEFT_PX + 6.0, limit_px + beside_px, words))


def _draw_stretches(drawing: Drawing, plot: _Plot, panel: Panel) -> None:
    """Draw the stretches, the way to the least margin last, so that nothing is drawn over it."""
    for kind in ("pipe", "hose", "worst"):
        for stretch in panel.stretches:
            if stretch.kind == kind:
                drawing.strokes.append(Stroke(kind, tuple(map(plot.place, stretch.points))))
                if kind != "hose":
                    drawing.marks.append(Mark("point", *plot.place(stretch.points[-1])))


def _draw_names(drawing: Drawing, plot: _Plot, panel: Panel, names: Sequence[Sequence[SvgText]]) -> None:
    places = [plot.place(end.at) for end in panel.ends]
    heights_px = _spread([y_px for _, y_px in places], plot.top_px, plot.bottom_px)
    for place, pieces, at_px in zip(places, names, heights_px, strict=True):
        drawing.marks.append(Mark("appliance", *place))
        leader = (place, (plot.right_px + 8.0, at_px), (plot.right_px + 14.0, at_px))
        drawing.strokes.append(Stroke("leader", leader))
        drawing.write(plot.right_px + 18.0, at_px + 4.0, pieces, 5.0)


def _name_of(end: ProfileEnd, shown: Shown, most_px: float) -> list[SvgText]:
    pieces = [SvgText(end.name, "name").clipped(most_px), SvgText(shown.pressure(end.at.gauge_pa))]
    if end.needs_gauge_pa is not None:
        pieces.append(SvgText(f"min {shown.pressure(end.needs_gauge_pa)}"))
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
