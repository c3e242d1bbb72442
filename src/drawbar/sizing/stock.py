"""What sizing may choose from, and what a choice costs: a workshop's stock list and price list held against a job."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, Pipe, Run
from drawbar.jobfile.pipework import PipeworkReader
from drawbar.materials.prices import PriceList
from drawbar.sizing.size import Cost, Wishes
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Field, ListOf, Name, Record
from drawbar.yamlfile.nodes import Source

_STOCK = Record({"stock": Field(ListOf(Name()), "the sizes in stock, as `[as1432-b/9.52, b88-l/auto]`", required=True)})


@dataclass(frozen=True, slots=True)
class WrongChoice:
    """A run whose choices can't be used: what is wrong, and what would fit."""

    run: str
    what: str
    fit: str


def read_stock(file: str, catalogue: Catalogue) -> frozenset[str]:
    """Return the sizes in a stock list by `family/size`. Raises Problems."""
    source = Source(file)
    top = _STOCK.read(nodes.compose(nodes.read_text(file), source), source, ())
    assert top is not None  # compose returns a mapping
    parts = PipeworkReader(source, catalogue)
    labels = {pipe.label for text, node in top.get("stock", ()) for pipe in parts.family_sizes(text, node, ("stock",))}
    source.raise_if_any()
    return frozenset(labels)


def in_stock(job: Job, stock: Collection[str], file: str) -> tuple[Job, list[WrongChoice]]:
    """Return the job with the open choices cut down to what is in stock, and the runs for which nothing is left.

    A run whose size is decided keeps it.
    """
    runs, wrong = [], []
    for run in job.runs:
        left = tuple(pipe for pipe in run.pipes if pipe.label in stock) if len(run.pipes) > 1 else run.pipes
        if not left:
            what = f"none of its {len(run.pipes)} choices is in {file}"
            wrong.append(WrongChoice(run.name, what, f"add one of {', '.join(_labels(run.pipes))} there"))
        runs.append(replace(run, pipes=left or run.pipes))
    return replace(job, runs=tuple(runs)), wrong


def price_cost(prices: PriceList) -> Cost:
    """Return the cost of a run's pipe and fittings by a price list; a fitting that is priced in no size is left out."""

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


def unpriced(job: Job, prices: PriceList, file: str) -> Iterator[WrongChoice]:
    """Yield the runs that have a choice without a price, or a fitting that is priced for some of their choices only."""
    for run in job.runs:
        missing = [pipe.label for pipe in run.pipes if prices.per_metre(pipe.label) is None]
        if missing:
            what = f"{file} has no price for {', '.join(missing[:4])}" + (" and more" if len(missing) > 4 else "")
            yield WrongChoice(run.name, what, "add `per-metre` prices, or choose among what has one")
            continue
        for part, _ in _bought(run):
            priced = [prices.fitting(part, pipe.label) is not None for pipe in run.pipes]
            if any(priced) and not all(priced):
                label = run.pipes[priced.index(False)].label
                yield WrongChoice(run.name, f"{file} has no price for {part} in {label}", "add it there")


def contradictions(job: Job, wishes: Wishes) -> Iterator[WrongChoice]:
    """Yield the runs whose choices a wish can't be kept with, whatever the pressures."""
    if wishes.no_increase:
        largest: dict[str, float] = {}
        for run in job.runs:
            most_m = largest.get(run.start, float("inf")) if run.regulator is None else float("inf")
            smallest_m = min(pipe.bore_m for pipe in run.pipes)
            if smallest_m > most_m * 1.000001:
                what = f"is larger than {run.start} in every choice, which --no-increase forbids"
                yield WrongChoice(run.name, what, f"allow a smaller size here, or a larger one in {run.start}")
            largest[run.name] = min(most_m, max(pipe.bore_m for pipe in run.pipes))
    if wishes.most_sizes is not None:
        choices = [{pipe.label for pipe in run.pipes} for run in job.runs]
        labels = sorted(set().union(*choices))
        few = itertools.combinations(labels, min(wishes.most_sizes, len(labels)))
        if not any(all(not one.isdisjoint(some) for one in choices) for some in few):
            count = "no one size is" if wishes.most_sizes == 1 else f"no {wishes.most_sizes} sizes are"
            odd = min(zip(choices, job.runs, strict=True), key=lambda pair: len(pair[0]))[1]
            what = f"{count} enough for the choices of every run, and this run has the fewest"
            yield WrongChoice(odd.name, what, "allow more sizes here, or more sizes in all")


def _bought(run: Run) -> Iterator[tuple[str, int]]:
    """Yield (part, number) of what a run's fittings are bought as; a tee counts where the run leaves by its side."""
    for fitting, count in run.fittings:
        if fitting.way != "straight":
            yield fitting.part or fitting.name, count


def _labels(pipes: Sequence[Pipe]) -> list[str]:
    return [pipe.label for pipe in pipes[:4]]
