"""Where the figures of a sheet stand: what each is, and its source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from drawbar.catalogue.rows_used import fittings_used, pipes_used
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.onsite.purge import PURGE_SOURCE
from drawbar.onsite.tightness import NO_FALL_SOURCE, Tightness
from drawbar.physics.formulas import FORMULAS
from drawbar.report.explain_sources import AIR, VIRIAL, VISCOSITY, WILKE, component_source, roughness_source
from drawbar.report.vent_words import vent_source

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.checking.results import CheckResult
    from drawbar.job import Job

# The figures of a pure gas that the pressures are worked out from, in words.
_OF_GAS = {
    "molar_mass_kg_mol": "molar mass",
    "gross_j_mol": "gross heat",
    "critical_temperature_k": "critical temperature",
    "critical_pressure_pa": "critical pressure",
    "acentric": "acentric factor",
    "collision_diameter_m": "collision diameter",
    "well_depth_k": "well depth",
    "collision_coefficients": "collision integral",
}


def sheet_sources(
    result: CheckResult, supplied: SupplyResult | None, tight: Tightness, catalogue: Catalogue
) -> list[tuple[str, str]]:
    """Return where the figures of a sheet stand.

    Parameters
    ----------
    result : CheckResult
        The job checked.
    supplied : SupplyResult or None
        Its supply, None where the sheet shows none.
    tight : Tightness
        Its volume, test and purge.
    catalogue : Catalogue
        What the job was read with.

    Returns
    -------
    list of (str, str)
        Figures, and their source; figures of the same source stand together.
    """
    together: dict[str, list[str]] = {}
    for figure, source in _figures(result, supplied, tight, catalogue):
        figures = together.setdefault(source, [])
        if figure not in figures:
            figures.append(figure)
    return [(_sentence(figures), source) for source, figures in together.items()]


def _figures(
    result: CheckResult, supplied: SupplyResult | None, tight: Tightness, catalogue: Catalogue
) -> Iterator[tuple[str, str]]:
    """Yield (a figure, its source) in the order of the sheet."""
    job = result.job
    yield "lengths, rises, loads, regulators, devices and hoses", "given in the job file"
    yield from _limit(job)
    yield from _formula(result)
    yield from _gas(job)
    yield from _pipes(job, catalogue)
    yield from ((f"equivalent length of {fitting.name}", fitting.source) for fitting in fittings_used(job).values())
    for like in {appliance.like: None for appliance in job.appliances if appliance.like is not None}:
        listed = catalogue.appliance(like)
        if listed is not None:
            yield f"input of {like}", listed.source
    for vents in result.spaces:
        if source := vent_source(vents):
            yield "bottle locker" if vents.space.holds_bottles else "vents of the living space", source
    if supplied is not None:
        bottles = supplied.cylinders
        yield "size of the bottles", bottles.source
        yield "least pressure in a bottle", bottles.least_source
        yield "heat into a bottle", bottles.heat_source
    yield "tightness test", tight.test.source if tight.test else NO_FALL_SOURCE
    yield "purge", PURGE_SOURCE


def _sentence(figures: list[str]) -> str:
    """Return what figures are, those that begin alike put together, with a capital."""
    first, alike = figures[0], ""
    head, of, _ = first.partition(" of ")
    if of and all(figure.startswith(head + of) for figure in figures):
        alike = head + of
    text = alike + ", ".join(figure.removeprefix(alike) for figure in figures)
    return text[:1].upper() + text[1:]


def _limit(job: Job) -> Iterator[tuple[str, str]]:
    if job.rule is None or job.allowed_drop_pa != job.rule.drop_pa:
        yield "allowed drop", "given in the job file"
    if job.rule is not None:
        yield f"rule {job.rule.name}", f"{job.rule.title}: {job.rule.source}"


def _formula(result: CheckResult) -> Iterator[tuple[str, str]]:
    formula = FORMULAS[result.formula]
    yield f"drop in a pipe, formula {formula.name}", f"{formula.title}: {formula.source}; good for {formula.valid}"


def _gas(job: Job) -> Iterator[tuple[str, str]]:
    yield "pressure and density of the air", AIR
    yield "density of the gas", VIRIAL
    yield "viscosity of the gas", VISCOSITY
    components = [component for component, _ in job.gas.fractions]
    if len(components) > 1:
        yield "viscosity of a mixture", WILKE
    for key, what in _OF_GAS.items():
        sources = [component_source(component, key) for component in components]
        for component, source in zip(components, sources, strict=True):
            if source:
                yield what if len(set(sources)) == 1 else f"{what} of {component.name}", source


def _pipes(job: Job, catalogue: Catalogue) -> Iterator[tuple[str, str]]:
    pipes = pipes_used(job)
    for label, pipe in pipes.items():
        yield f"bore of {label}", pipe.source
    families = {label.partition("/")[0]: pipe for label, pipe in pipes.items()}
    for family, pipe in families.items():
        yield f"roughness of {family}", roughness_source(pipe, catalogue)
