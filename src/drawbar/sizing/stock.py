"""What sizing may choose from, and what a choice costs: a workshop's stock list and price list held against a job."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.job import Job, Pipe, Run
from drawbar.jobfile.pipework import PipeworkReader
from drawbar.materials.prices import PriceList
from drawbar.problems import Problem, Problems
from drawbar.sizing.size import Cost, Wishes
from drawbar.sizing.stage import SAME_BORE
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Field, ListOf, Record
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import Name

STOCK_FILE = Record(
    {"stock": Field(ListOf(Name()), "the sizes in stock, as `[as1432-b/9.52, b88-l/auto]`", required=True)}
)
_MOST_HITS = 20_000  # steps of the search for sizes that all runs have one of
_MOST_LABELS = 4  # how many sizes a message names


class WrongChoice(NamedTuple):
    """A run whose choices can't be used: what is wrong, and what would fit."""

    run: str
    what: str
    fit: str


class WrongChoices(Problems):
    """The runs of a job whose choices can't be used.

    Attributes
    ----------
    choices : tuple of WrongChoice
        The runs, with what is wrong.
    """

    def __init__(self, file: str, choices: Sequence[WrongChoice]) -> None:
        self.choices = tuple(choices)
        super().__init__(Problem(file, 0, 0, f"runs.{run}.pipe", what, fit) for run, what, fit in choices)


class StockList(NamedTuple):
    """A workshop's stock list as read: the file, and the sizes by `family/size`."""

    file: str
    labels: frozenset[str]


def read_stock(file: str | os.PathLike[str], catalogue: Catalogue | None = None) -> StockList:
    """Read a stock list, which sizing may be kept to.

    Parameters
    ----------
    file : str or path
        The list, `-` for standard input, as `stock: [as1432-b/12.70, b88-l/auto]`.
    catalogue : Catalogue, optional
        What the list may name; without it, the project's own data.

    Returns
    -------
    StockList
        The sizes in stock.

    Raises
    ------
    Problems
        All that is wrong with the list, each with its place.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "stock.yaml")
    ...     _ = file.write_text("stock: [as1432-b/9.52, as1432-b/12.70]")
    ...     stock = drawbar.read_stock(file)
    >>> sorted(stock.labels)
    ['as1432-b/12.70', 'as1432-b/9.52']
    """
    path = os.fspath(file)
    source = Source(path)
    top = STOCK_FILE.read(nodes.compose(nodes.read_text(path), source), source, ())
    assert top is not None  # compose returns a mapping
    parts = PipeworkReader(source, catalogue or shipped_catalogue())
    labels = {pipe.label for text, node in top.get("stock", ()) for pipe in parts.family_sizes(text, node, ("stock",))}
    source.raise_if_any()
    return StockList(path, frozenset(labels))


def in_stock(job: Job, stock: StockList) -> Job:
    """Cut the open choices of a job down to what is in stock; a run whose size is decided keeps it.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    stock : StockList
        The sizes in stock.

    Returns
    -------
    Job
        The job with the choices that are left.

    Raises
    ------
    WrongChoices
        The runs for which nothing is left.
    """
    runs, wrong = [], []
    for run in job.runs:
        left = tuple(pipe for pipe in run.pipes if pipe.label in stock.labels) if len(run.pipes) > 1 else run.pipes
        if not left:
            what = f"none of its {len(run.pipes)} choices is in {stock.file}"
            wrong.append(WrongChoice(run.name, what, f"add one of {', '.join(_labels(run.pipes))} there"))
        runs.append(run._replace(pipes=left))
    if wrong:
        raise WrongChoices(job.file, wrong)
    return job._replace(runs=tuple(runs))


def price_cost(prices: PriceList) -> Cost:
    """Return the cost of a run's pipe and fittings by a price list; a fitting that is priced in no size is left out.

    Parameters
    ----------
    prices : PriceList
        The workshop's prices.

    Returns
    -------
    Cost
        What a run costs in a pipe, in the list's currency. It raises ValueError for a pipe without a price.
    """

    def cost(run: Run, pipe: Pipe) -> float:
        per_metre = prices.per_metre(pipe.label)
        if per_metre is None:
            raise ValueError(f"no price for {pipe.label}")
        total = float(per_metre) * run.length_m
        for part, count in _bought(run):
            each = prices.fitting(part, pipe.label)
            total += count * float(each) if each is not None else 0.0
        return total

    return cost


def unpriced(job: Job, prices: PriceList) -> Iterator[WrongChoice]:
    """Yield the runs that have a choice without a price, or a fitting that is priced for some of their choices only."""
    for run in job.runs:
        missing = [pipe.label for pipe in run.pipes if prices.per_metre(pipe.label) is None]
        if missing:
            what = f"{prices.file} has no price for {', '.join(missing[:_MOST_LABELS])}"
            what += " and more" if len(missing) > _MOST_LABELS else ""
            yield WrongChoice(run.name, what, "add `per-metre` prices, or choose among what has one")
            continue
        for part, _ in _bought(run):
            priced = [prices.fitting(part, pipe.label) is not None for pipe in run.pipes]
            if any(priced) and not all(priced):
                label = run.pipes[priced.index(False)].label
                yield WrongChoice(run.name, f"{prices.file} has no price for {part} in {label}", "add it there")


def contradictions(job: Job, wishes: Wishes) -> Iterator[WrongChoice]:
    """Yield the runs whose choices a wish can't be kept with, whatever the pressures."""
    if wishes.no_increase:
        largest: dict[str, float] = {}
        for run in job.runs:
            most_m = largest.get(run.start, float("inf")) if run.regulator is None else float("inf")
            smallest_m = min(pipe.bore_m for pipe in run.pipes)
            if smallest_m > most_m * SAME_BORE:
                what = f"is larger than {run.start} in every choice, which --no-increase forbids"
                yield WrongChoice(run.name, what, f"allow a smaller size here, or a larger one in {run.start}")
            largest[run.name] = min(most_m, max(pipe.bore_m for pipe in run.pipes))
    if wishes.most_sizes is not None:
        choices = [frozenset(pipe.label for pipe in run.pipes) for run in job.runs]
        if not _are_enough(wishes.most_sizes, choices):
            count = "no one size is" if wishes.most_sizes == 1 else f"no {wishes.most_sizes} sizes are"
            fewest = min(zip(choices, job.runs, strict=True), key=lambda pair: len(pair[0]))[1]
            what = f"{count} enough for the choices of every run, and this run has the fewest"
            yield WrongChoice(fewest.name, what, "allow more sizes here, or more sizes in all")


def _are_enough(most: int, choices: Sequence[frozenset[str]]) -> bool:
    """Tell whether so many labels can be chosen that every run has one of them among its choices.

    It tries the labels of the run that has the fewest, and with each what is left. Where that takes too long it says
    that they are enough: the search for the sizes then finds out.
    """
    distinct = set(choices)
    needed = [each for each in distinct if not any(other < each for other in distinct)]
    # A label is as good as another if it stands wherever that does.
    places = {label: frozenset(n for n, each in enumerate(needed) if label in each) for label in set().union(*needed)}
    kinds = set(places.values())
    best = [kind for kind in kinds if not any(kind < other for other in kinds)]
    left = _MOST_HITS

    def can_hit(open_sets: frozenset[int], count: int) -> bool:
        nonlocal left
        left -= 1
        if not open_sets or left < 0:
            return True
        if count * max(len(kind & open_sets) for kind in best) < len(open_sets):
            return False
        hardest = min(open_sets, key=lambda n: sum(n in kind for kind in best))
        return any(can_hit(open_sets - kind, count - 1) for kind in best if hardest in kind)

    return can_hit(frozenset(range(len(needed))), most)


def _bought(run: Run) -> Iterator[tuple[str, int]]:
    """Yield (part, number) of what a run's fittings are bought as; a tee counts where the run leaves by its side."""
    for fitting, count in run.fittings:
        if fitting.way != "straight":
            yield fitting.part or fitting.name, count


def _labels(pipes: Sequence[Pipe]) -> list[str]:
    return [pipe.label for pipe in pipes[:_MOST_LABELS]]
