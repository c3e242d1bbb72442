"""A line at the bench: checked, sized, explained, supplied, and on one page."""

from __future__ import annotations

import datetime
from typing import NamedTuple

import drawbar.checking.check as _check
import drawbar.checking.explain as _explain
import drawbar.gas_supply as _supply
import drawbar.hot_water as _hot_water
import drawbar.report.compare_report as _compare
import drawbar.sizing.size as _size
import drawbar.sizing.stock as _stock
from drawbar.api.files import StockList, shipped_catalogue
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.explain import Explained
from drawbar.checking.results import CheckResult
from drawbar.gas_supply import SupplyResult
from drawbar.hot_water import HotWater
from drawbar.job import Job
from drawbar.materials.prices import PriceList
from drawbar.physics.cooling import Duty
from drawbar.problems import Problem, Problems
from drawbar.sizing.size import SizeResult, Wishes
from drawbar.sizing.stock import WrongChoice


def check(job: Job, formula: str | None = None, *, with_headroom: bool = True) -> CheckResult:
    """Check whether every appliance gets its pressure, in every state and way of plugging in.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    formula : str, optional
        Another pressure-drop formula than the job's own, by its name in `drawbar list formulas`.
    with_headroom : bool
        Whether what each state has left is worked out as well, which takes several times as long.

    Returns
    -------
    CheckResult
        The states, the worst first; it passes if all of them do and the vents are large enough.

    Raises
    ------
    ValueError
        If a run leaves its size open, or there is no such formula.

    Examples
    --------
    >>> import drawbar
    >>> result = drawbar.check(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> result.passes, result.states[0].name, round(result.states[0].margin_pa, 1)
    (True, 'everything', 86.6)
    """
    return _check.check(job, formula, with_headroom=with_headroom)


class FormulaComparison(NamedTuple):
    """A checked job, and each formula's drop to each appliance, by state and appliance and then by formula [Pa]."""

    check: CheckResult
    drops_pa: dict[tuple[str, str], dict[str, float]]


def compare_formulas(job: Job) -> FormulaComparison:
    """Check a job by every pressure-drop formula, to see how far they part.

    Parameters
    ----------
    job : Job
        The job, with one size a run.

    Returns
    -------
    FormulaComparison
        The job checked by its own formula, and every formula's drop to each appliance [Pa].

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> comparison = drawbar.compare_formulas(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> drops_pa = comparison.drops_pa["everything", "griddle"]
    >>> round(drops_pa["darcy"], 1), round(drops_pa["pole"], 1)
    (163.4, 123.7)
    """
    return FormulaComparison(_check.check(job), _compare.compare(job).drops)


def explain(job: Job, name: str | None = None, state: str | None = None, formula: str | None = None) -> Explained:
    """Return the way to an appliance, or a run, with the flows and pressures along it, so that it can be done by hand.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    name : str, optional
        An appliance or a run; without it, the worst appliance of the worst state.
    state : str, optional
        The state to take it in; without it, the worst.
    formula : str, optional
        Another pressure-drop formula than the job's own.

    Returns
    -------
    Explained
        The legs of the way and what each loses.

    Raises
    ------
    ValueError
        If the appliance is not on in the state, or a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> way = drawbar.explain(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True), "griddle")
    >>> [leg.flow.section.name for leg in way.legs]
    ['main', 'kerbside', 'rear', 'rear-bayonet', 'short-hose']
    """
    return _explain.explain(job, name, state, formula)


class SizedJob(NamedTuple):
    """The sizes of a job, what each run costs in them, by its name, and the unit of all costs."""

    result: SizeResult
    run_costs: dict[str, float]
    cost_unit: str


def size(
    job: Job, *, wishes: Wishes | None = None, stock: StockList | None = None, prices: PriceList | None = None
) -> SizedJob:
    """Choose the sizes that pass in every state at the least cost, among those that the job allows.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    wishes : Wishes, optional
        What the sizes must keep to besides the pressure, a reserve on the loads among them.
    stock : StockList, optional
        The sizes in stock, as `read_stock` reads them; without it, all that the job allows.
    prices : PriceList, optional
        What pipe and fittings cost, as `read_prices` reads it; without it, pipes compare by their mass.

    Returns
    -------
    SizedJob
        The sizes and their cost. Its `result.sized` is the job with them.

    Raises
    ------
    Problems
        The runs whose choices are not in stock, can't keep to the wishes, or have no price.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/market-kitchen-open.yaml")
    >>> sizes = drawbar.size(job)
    >>> sizes.result.passes, sizes.result.sized.runs[0].pipe.label
    (True, 'as1432-b/15.88')
    """
    wishes = wishes or Wishes()
    if stock is not None:
        job, unstocked = _stock.in_stock(job, stock.labels, stock.file)
        _refuse(job, unstocked)
    _refuse(job, list(_stock.contradictions(job, wishes)))
    cost, unit = _size.mass_cost(job)
    if prices is not None:
        _refuse(job, list(_stock.unpriced(job, prices, prices.file)))
        cost, unit = _stock.price_cost(prices), prices.currency
    result = _size.size(job, cost, wishes)
    return SizedJob(result, {run.name: cost(run, run.pipe) for run in result.sized.runs}, unit)


def _refuse(job: Job, wrong: list[WrongChoice]) -> None:
    if wrong:
        raise Problems(Problem(job.file, 0, 0, f"runs.{choice.run}.pipe", choice.what, choice.fit) for choice in wrong)


def supply(job: Job, state: str | None = None, duty: Duty | None = None) -> SupplyResult:
    """Work out whether bottles and regulators give what a job burns, and for how long.

    Parameters
    ----------
    job : Job
        The job with its `cylinders`; its runs may leave their sizes open.
    state : str, optional
        The only state to look at; without it, all.
    duty : Duty, optional
        A load that comes and goes, followed beside that without a break.

    Returns
    -------
    SupplyResult
        What the bottles give for long, and what becomes of each state.

    Raises
    ------
    ValueError
        If the job does not say what bottles it has, or has no such state.

    Examples
    --------
    >>> import drawbar
    >>> supplied = drawbar.supply(drawbar.read_job("examples/harvest-fair-trailer.yaml"), "service")
    >>> supplied.passes, [state.name for state in supplied.states]
    (False, ['service'])
    """
    if state is not None and state not in [known.name for known in job.states]:
        raise ValueError(f"{state} is not a state of this job")
    return _supply.supply(job, duty, state)


class HotWaterResult(NamedTuple):
    """What the water heaters of a job give: each that says what water it heats, or that which was asked about."""

    job: Job
    heaters: tuple[HotWater, ...]


def hotwater(
    job: Job, appliance: str | None = None, *, pump_m3_s: float | None = None, wanted_k: float | None = None
) -> HotWaterResult:
    """Work out how hot the water of a job's heaters comes, how soon, and how much runs off first.

    Parameters
    ----------
    job : Job
        The job; its runs may leave their sizes open.
    appliance : str, optional
        The only heater to look at; without it, all that say what they heat.
    pump_m3_s : float, optional
        The flow of another pump [m3/s].
    wanted_k : float, optional
        A temperature to give the flow for [K].

    Returns
    -------
    HotWaterResult
        Each heater at the job's own flow and those asked about.

    Raises
    ------
    ValueError
        If no appliance, or not the one asked about, says what water it heats, or the wanted temperature is not above
        that of the cold water.

    Examples
    --------
    >>> import drawbar
    >>> water = drawbar.hotwater(drawbar.read_job("examples/harvest-fair-trailer.yaml"))
    >>> [(heater.appliance.name, round(heater.draws[0].outlet_k - 273.15, 1)) for heater in water.heaters]
    [('basin', 32.0)]
    """
    heaters = [known for known in job.appliances if known.heats is not None and appliance in (None, known.name)]
    if not heaters:
        raise ValueError(f"{appliance or 'no appliance'} says of no water that it heats it")
    return HotWaterResult(job, tuple(_hot_water.hot_water(heater, pump_m3_s, wanted_k) for heater in heaters))


def sheet(job: Job, catalogue: Catalogue | None = None, *, date: datetime.date | None = None) -> str:
    """Return one page to print and file: drawing, pressures, tables, cautions. It needs the extra `drawbar[sheet]`.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    catalogue : Catalogue, optional
        What it was read with; without it, the project's own data.
    date : datetime.date, optional
        The date on the sheet; without it, today's.

    Returns
    -------
    str
        One HTML file, which needs no network and no script.

    Raises
    ------
    ValueError
        If a run leaves its size open.
    ModuleNotFoundError
        If the extra is not installed.

    Examples
    --------
    >>> import drawbar
    >>> page = drawbar.sheet(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> page.startswith("<!DOCTYPE html>")
    True
    """
    from drawbar.report.sheet.contents import sheet_of
    from drawbar.report.sheet.page import as_html

    return as_html(sheet_of(job, catalogue or shipped_catalogue(), date=date))
