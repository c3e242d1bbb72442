"""The calls of the library that differ from a room's: with the commands' defaults, or of several jobs at once."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from decimal import Decimal

from drawbar.asking import asked_by_variant, asked_with
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.checking.check import check_job
from drawbar.checking.compare import FormulaComparison, comparison_of
from drawbar.checking.results import CheckResult
from drawbar.comparing.ways import AskedFile, JobsCompared, read_way, side_by_side
from drawbar.job import Job
from drawbar.materials.needs import Needs, needs_of, together
from drawbar.materials.prices import PriceList
from drawbar.materials.takeoff import Takeoff, takeoff_of
from drawbar.onsite.tightness import Tightness, tightness_of
from drawbar.onsite.tightness_reading import THERMOMETER_K
from drawbar.rechecking.swaps import Swap, swapped_job
from drawbar.report.display import Shown
from drawbar.report.reasons import because_data
from drawbar.yamlfile.carried import JOB, read_carried


def check(job: Job, formula: str | None = None, *, with_headroom: bool = True) -> CheckResult:
    """Check the pressure at every appliance, in every state and combination.

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
        The states, the worst first, and why the verdict is not PASS; `because` has that in words.

    Raises
    ------
    ValueError
        If a run leaves its size open, or there is no such formula.

    Examples
    --------
    >>> import drawbar
    >>> result = drawbar.check(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> result.passes, result.states[0].name, round(result.states[0].margin_pa, 1)
    (True, 'everything', 86.9)
    """
    return check_job(job, formula, with_headroom=with_headroom)


def because(result: CheckResult) -> list[dict[str, str]]:
    """Return why the verdict of a check is not PASS, in the words and the units of the page.

    Parameters
    ----------
    result : CheckResult
        A check.

    Returns
    -------
    list of dict of str to str
        For each reason its `code`, `verdict`, `place`, `text` and `fix`, what to find out or to change; empty for PASS.

    Examples
    --------
    >>> import drawbar
    >>> reasons = drawbar.because(drawbar.check(drawbar.read_job("examples/camper-tail-undecided.yaml", sized=True)))
    >>> [(reason["code"], reason["verdict"]) for reason in reasons]
    [('regulator-rating', 'undecided'), ('unknown-devices', 'undecided')]
    """
    return because_data(result.because, Shown(result.job.display))


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
    (163.1, 123.7)
    """
    return comparison_of(check(job))


def compare(  # noqa: PLR0913 - a keyword for each thing that may be asked of the jobs
    *files: str | os.PathLike[str],
    variants: Sequence[str] = (),
    catalogue: Catalogue | None = None,
    prices: PriceList | None = None,
    settings: Mapping[str, str] | None = None,
    swaps: Sequence[Swap] = (),
    units: str | None = None,
) -> JobsCompared:
    """Compare ways of doing a job: several files, or a file and its variants.

    Parameters
    ----------
    *files : str or path
        The job files, each with one size a run.
    variants : sequence of str
        Of each file, the job with other things set, as `runs.main.pipe=as1432-b/15.88; swap urn=30 MJ/h`.
    catalogue : Catalogue, optional
        What the jobs may name; without it, the project's own data.
    prices : PriceList, optional
        A price list, for what each way costs.
    settings : mapping of str to str, optional
        Keys that are set in all of them, as for `read_job`.
    swaps : sequence of Swap
        Appliances that are swapped in all of them.
    units : str, optional
        The units of pages: `metric`, `mbar` or `us`.

    Returns
    -------
    JobsCompared
        Each way with its verdict, spare, materials, price, volume and waits, and the keys that differ. `way_of` has
        the same of one job.

    Raises
    ------
    Problems
        All that is wrong with the first file that can't be read, or with a variant.
    SwapError
        If a variant's swap names no appliance of the catalogue and no rate.

    Examples
    --------
    >>> import drawbar
    >>> compared = drawbar.compare("examples/harvest-fair-trailer.yaml", variants=["runs.main.pipe=as1432-b/12.70"])
    >>> [(way.standing.verdict.word, round(way.standing.margin_pa), round(way.pipe_kg, 2)) for way in compared.ways]
    [('PASS', 87, 2.62), ('FAIL', -45, 2.17)]
    >>> compared.differences
    (Difference(key='runs.main.pipe', values=('as1432-b/15.88', 'as1432-b/12.70')),)
    """
    known = catalogue or shipped_catalogue()
    base = asked_with(settings, swaps, units)
    asked = [base, *(base.with_more(asked_by_variant(known, text, "variants")) for text in variants)]
    texts = [(os.fspath(file), read_carried(os.fspath(file), JOB)) for file in files]
    ways = [read_way(AskedFile(*text, each), known, prices) for text in texts for each in asked]
    return side_by_side(ways)


def takeoff(
    *jobs: Job | Needs,
    waste: Decimal | float | None = None,
    stock_m: Decimal | float | None = None,
    kerf_m: Decimal | float = 0,
) -> Takeoff:
    """Return the materials of jobs together, or of needs that were put together by hand.

    Parameters
    ----------
    *jobs : Job or Needs
        The jobs, each with one size a run.
    waste : Decimal or float, optional
        The share that is added to the pipe, 1 for 100 %. Without it `quote` adds what its price list says, and the
        takeoff by itself nothing.
    stock_m : Decimal or float, optional
        The stock length that pipe is bought in [m]; without it pipe is bought by the metre.
    kerf_m : Decimal or float
        What a cut takes [m].

    Returns
    -------
    Takeoff
        Pipe by size, parts and joints; lengths are decimals.

    Raises
    ------
    ValueError
        If there are no jobs, a run leaves its size open, or a figure can't be: one below zero, a waste over 100 %.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> [(pipe.pipe, pipe.with_waste_m) for pipe in drawbar.takeoff(job, waste=0.05).pipes]
    [('as1432-b/9.52', Decimal('2.310')), ('as1432-b/12.70', Decimal('2.100')), ('as1432-b/15.88', Decimal('3.780'))]
    """
    if not jobs:
        raise ValueError("there are no jobs to take off")
    needs = together([job if isinstance(job, Needs) else needs_of(job) for job in jobs])
    return takeoff_of(needs, waste, stock_m=stock_m, kerf_m=kerf_m)


def swapped(job: Job, swaps: Sequence[Swap]) -> Job:
    """Return a job with its appliances swapped; a swap of an appliance's name goes before one of its type.

    Parameters
    ----------
    job : Job
        The job.
    swaps : sequence of Swap
        The swaps; those whose appliance the job has not are passed over.

    Returns
    -------
    Job
        The job with the new inputs, and all else as it was.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> after = drawbar.swapped(job, [drawbar.parse_swap("basin", "45 MJ/h")])
    >>> [appliance.input_w for appliance in after.appliances if appliance.name == "basin"]
    [12500.0]
    """
    return swapped_job(job, swaps).job


def tightness(  # noqa: PLR0913 - a keyword for each thing that a visit may say or ask
    job: Job,
    catalogue: Catalogue | None = None,
    *,
    test: str | None = None,
    hoses: bool = False,
    section: str | None = None,
    readings_gauge_pa: tuple[float, float] | None = None,
    temperatures_k: tuple[float, float] | None = None,
    time_s: float | None = None,
    settled_s: float | None = None,
    resolution_pa: float | None = None,
    thermometer_k: float = THERMOMETER_K,
    gas_change_k: float | None = None,
    leak_m3_s: float | None = None,
) -> Tightness:
    """Work out what a line holds, what its tightness test is, what readings mean, and the purge.

    A reading passes only if it was the test; time, settling and the step of the manometer must be given for that.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    catalogue : Catalogue, optional
        Where the figures of the test stand; without it, the project's own data.
    test : str, optional
        The name of a test; without it, that of the job's rule set.
    hoses : bool
        Whether the largest hoses that go on the outlets are counted.
    section : str, optional
        In a job of several stages the section that is meant: `regulator`, or the run with a regulator of its own.
    readings_gauge_pa : (float, float), optional
        First and second reading [Pa gauge].
    temperatures_k : (float, float), optional
        Temperatures of the gas at the two readings [K].
    time_s : float, optional
        Between the readings [s]; without it the time of the test is reckoned with, and nothing passes.
    settled_s : float, optional
        From filling to the first reading [s]; without it nothing passes.
    resolution_pa : float, optional
        The step that the manometer shows [Pa]; without it 10 Pa are reckoned with, and nothing passes.
    thermometer_k : float
        How far each temperature may be from that of the place where it was taken [K].
    gas_change_k : float, optional
        How far the change of the gas's temperature may be from that of this place [K]; without it 0.5 K, where no
        temperatures are given 2 K in a quarter of an hour and more in more.
    leak_m3_s : float, optional
        A leak, to be told how long it takes to show [m3/s].

    Returns
    -------
    Tightness
        Volume, test, reading and purge; `verdict`, None without readings, and `because`, why it is not PASS.

    Raises
    ------
    ValueError
        If a run leaves its size open, or an argument can't be right beside the others, as temperatures alone.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> watched = {"readings_gauge_pa": (2750.0, 2750.0), "settled_s": 180.0, "resolution_pa": 10.0}
    >>> drawbar.tightness(job, time_s=300.0, **watched).verdict
    <Verdict.PASS: 'pass'>
    >>> visit = drawbar.tightness(job, time_s=60.0, **watched)
    >>> visit.verdict, [reason.code for reason in visit.because]
    (<Verdict.UNDECIDED: 'undecided'>, ['test-time'])
    """
    return tightness_of(
        job,
        catalogue or shipped_catalogue(),
        test=test,
        hoses=hoses,
        section=section,
        readings_gauge_pa=readings_gauge_pa,
        temperatures_k=temperatures_k,
        time_s=time_s,
        settled_s=settled_s,
        resolution_pa=resolution_pa,
        thermometer_k=thermometer_k,
        gas_change_k=gas_change_k,
        leak_m3_s=leak_m3_s,
    )
