"""Ways of doing a job side by side: how each stands, what it takes to build, to purge and to wait for hot water."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from yaml.nodes import Node

from drawbar.catalogue.catalogue import Catalogue
from drawbar.comparing.differences import Difference, differences_of
from drawbar.hot_water import heater_result
from drawbar.job import Job, decided
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.jobfile.reader import job_of
from drawbar.materials.prices import PriceList
from drawbar.materials.quote import Quote, materials_of
from drawbar.materials.takeoff import Takeoff
from drawbar.onsite.line_volume import sections_of
from drawbar.rechecking.standing import Standing, standing
from drawbar.verdict import Verdict
from drawbar.water_line.water_answer import water_results
from drawbar.yamlfile.nodes import Source, compose


class AskedFile(NamedTuple):
    """A job file's text with what is asked of it, which is one way of doing the job."""

    file: str
    text: str
    asked: Asked = NOTHING_ASKED


class TapWait(NamedTuple):
    """How long a tap runs until it is hot.

    Attributes
    ----------
    appliance : str
        The water heater.
    connection : str or None
        The connection of the job's water side that it is of; None by what the appliance itself says of its water.
    wait_s : float or None
        With mixing and the heater's start, at the least flow [s]; None where it can't be worked out, or does not come
        hot.
    verdict : Verdict or None
        That of `drawbar hotwater` on the connection; None where it is none.
    """

    appliance: str
    connection: str | None
    wait_s: float | None
    verdict: Verdict | None

    @property
    def name(self) -> str:
        """The connection's name, else the appliance's."""
        return self.connection or self.appliance


class ComparedWay(NamedTuple):
    """A way of doing a job.

    Attributes
    ----------
    job : Job
        The job; its `asked` is what was set beside its file.
    standing : Standing
        Its verdict and its least spare, as drawn and with every tolerance at its worst.
    takeoff : Takeoff
        The materials.
    quote : Quote or None
        The same with prices, None without a price list.
    pipe_kg : float or None
        Mass of the pipe [kg], None where that of a size is not known.
    volume_m3 : float
        What the line holds with the largest hoses on its outlets, which a purge has to push out [m3].
    waits : tuple of TapWait
        For each connection of the water side, and each water heater that is in none.
    """

    job: Job
    standing: Standing
    takeoff: Takeoff
    quote: Quote | None
    pipe_kg: float | None
    volume_m3: float
    waits: tuple[TapWait, ...]

    @property
    def pipe_m(self) -> float:
        """Length of pipe as laid, without waste [m]."""
        return float(self.takeoff.length_m)

    @property
    def fittings(self) -> int:
        """How many fittings there are to buy or to make."""
        return sum(count for part, count in self.takeoff.parts if part.section == "fitting")

    @property
    def joints(self) -> int:
        """How many joints there are to make."""
        return self.takeoff.joints

    @property
    def price(self) -> Decimal | None:
        """What the quote comes to; None without a price list, and where a line has no price."""
        return self.quote.total if self.quote is not None and self.quote.is_complete else None


class JobsCompared(NamedTuple):
    """Ways of doing a job side by side.

    Attributes
    ----------
    ways : tuple of ComparedWay
        Each by itself.
    differences : tuple of Difference
        The keys whose values are not the same in all of them.
    """

    ways: tuple[ComparedWay, ...]
    differences: tuple[Difference, ...]


def way_of(job: Job, prices: PriceList | None = None) -> ComparedWay:
    """Return what one way of doing a job comes to.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.
    prices : PriceList or None
        A price list.

    Returns
    -------
    ComparedWay

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> way = drawbar.way_of(drawbar.read_job("examples/harvest-fair-trailer.yaml"))
    >>> way.standing.verdict.word, round(way.pipe_kg, 2)
    ('PASS', 2.62)
    """
    decided(job)
    materials = materials_of([job], prices)[-1]
    masses_kg = [run.length_m * run.pipe.mass_kg_m if run.pipe.mass_kg_m is not None else None for run in job.runs]
    known_kg = [mass_kg for mass_kg in masses_kg if mass_kg is not None]
    return ComparedWay(
        job=job,
        standing=standing(job),
        takeoff=materials.takeoff,
        quote=materials.quote,
        pipe_kg=sum(known_kg) if len(known_kg) == len(masses_kg) else None,
        volume_m3=sum(section.volume_m3 for section in sections_of(job, hoses=True)),
        waits=tuple(_waits(job)),
    )


def _waits(job: Job) -> Iterator[TapWait]:
    connections = water_results(job, with_fixes=False)
    for each in connections:
        wait_s = each.wait.most_s if each.wait is not None and not each.is_unlit else None
        yield TapWait(each.connection.heater.name, each.connection.name, wait_s, each.verdict)
    connected = {each.connection.heater.name for each in connections}
    for appliance in job.appliances:
        if appliance.heats is not None and appliance.name not in connected:
            yield TapWait(appliance.name, None, heater_result(appliance).draws[0].wait_s, None)


def read_way(asked_file: AskedFile, catalogue: Catalogue, prices: PriceList | None = None) -> tuple[ComparedWay, Node]:
    """Return a way of doing a job, and the tree of its file with all that is asked.

    Parameters
    ----------
    asked_file : AskedFile
        The file and what is asked of it.
    catalogue : Catalogue
        What it may name.
    prices : PriceList or None
        A price list.

    Returns
    -------
    tuple of (ComparedWay, Node)

    Raises
    ------
    Problems
        All that is wrong with it.
    """
    file, text, asked = asked_file
    way = way_of(job_of(text, file, catalogue, sized=True, asked=asked), prices)
    source = Source(file)
    tree = compose(text, source)
    asked.change(tree, source)
    return way, tree


def side_by_side(ways: Sequence[tuple[ComparedWay, Node]]) -> JobsCompared:
    """Return ways of doing a job side by side.

    Parameters
    ----------
    ways : sequence of (ComparedWay, Node)
        The ways, each with the tree of its file.

    Returns
    -------
    JobsCompared
    """
    return JobsCompared(tuple(way for way, _ in ways), differences_of([tree for _, tree in ways]))
