"""The sheet's drawings: the line in two widths, and the pressure along it, described in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from drawbar.checking.drawn_way import DrawnWay
from drawbar.checking.results import ApplianceResult, CheckResult
from drawbar.report.display import Shown
from drawbar.report.sheet import diagram, profile, tree_layout
from drawbar.report.sheet.geometry import Drawing
from drawbar.report.sheet.svgs import as_svg

_NARROW_PX = 322.0
_PROFILE_PX = 300.0  # beside the tables, where neither several panels nor least pressures ask for more
_ACROSS_MOST_PX = 790.0  # a line that is wider from left to right would be too small to read on paper
_DOWN_PX = 460.0  # a line that goes down the page, with the profile beside it


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing in two widths, for paper and for a narrow screen."""

    wide: Markup
    narrow: Markup


def figures(result: CheckResult, drawn: DrawnWay, shown: Shown) -> dict[str, Any]:
    """Return the drawings: the line across the page with the profile under it, or down the page with it beside.

    Parameters
    ----------
    result : CheckResult
        A job checked.
    drawn : DrawnWay
        The state in the combination that is drawn.
    shown : Shown
        The job's units.

    Returns
    -------
    dict
        `line`, a Figure; `profile`, one drawing for all widths; `goes_down`, whether the line goes down the page.
    """
    job, root = result.job, diagram.tree_of(result, drawn)
    wide, narrow = tree_layout.across(root), tree_layout.down(root, _NARROW_PX)
    panels = profile.panels_of(result, drawn)
    is_plain = len(panels) == 1 and not any(end.needs_gauge_pa for end in panels[0].ends)
    tall_px, goes_down = profile.LEAST_PX, wide.width_px > _ACROSS_MOST_PX
    if goes_down:
        wide = tree_layout.down(root, _DOWN_PX)
        tall_px = max(tall_px, 0.5 * wide.height_px / len(panels))
    profile_px = _PROFILE_PX if is_plain and not goes_down else _NARROW_PX
    titles = (
        f"The line of {job.title}",
        f"{_number(len(job.runs), 'run')}, {_number(len(job.outlets), 'outlet')} and "
        f"{_number(len(job.appliances), 'appliance')}, from the regulator on. {_gets(drawn, shown)} Every figure "
        f"stands in the tables below.",
    )
    least = least_of(drawn)
    profile_titles = (
        f"Pressure against distance in state {drawn.state.name}",
        f"Pressure falls from {shown.pressure_unit(job.regulator.outlet_gauge_pa)} at the regulator to "
        f"{shown.pressure_unit(least.gauge_pa)} at {least.name}, which has the least to spare. Every figure stands in "
        f"the tables below.",
    )
    return {
        "line": _figure("line", (wide, narrow), titles),
        "profile": Markup(as_svg(profile.drawn(panels, shown, profile_px, tall_px), "profile", *profile_titles)),
        "goes_down": goes_down,
    }


def least_of(drawn: DrawnWay) -> ApplianceResult:
    """Return the appliance with the least to spare in the way that is drawn."""
    return min(drawn.appliances, key=lambda appliance: appliance.margin_pa)


def _gets(drawn: DrawnWay, shown: Shown) -> str:
    """Return what each appliance gets, for those who do not see the drawing."""
    return (
        "; ".join(
            f"{each.name} at {each.outlet or each.at} has {shown.pressure_unit(each.gauge_pa)}, {each.verdict.word}"
            for each in drawn.appliances
        )
        + "."
    )


def _figure(name: str, drawings: tuple[Drawing, Drawing], words: tuple[str, str]) -> Figure:
    """Return a drawing in its two widths, under a title and a description."""
    wide, narrow = (Markup(as_svg(drawing, f"{name}-{n}", *words)) for n, drawing in enumerate(drawings))
    return Figure(wide, narrow)


def _number(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")
