"""Where the figures of a sheet stand: what each is, and its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from drawbar.checking.vents import SOURCE as SPACE_SOURCE
from drawbar.gas_supply import SupplyResult
from drawbar.job import Fitting, Pipe
from drawbar.onsite.purge import PURGE_SOURCE
from drawbar.onsite.tightness import NO_FALL_SOURCE, Tightness
from drawbar.physics.formulas import FORMULAS
from drawbar.report.explain_sources import AIR, VIRIAL, VISCOSITY, WILKE, component_source, roughness_source

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
}


def sources_of(
    result: CheckResult, supplied: SupplyResult | None, tight: Tightness, known: Catalogue
) -> list[tuple[str, str]]:
    """Return (figures, where they stand) for all that a sheet shows; figures of one source stand together."""
    job = result.job
    given = "lengths, rises, loads, regulators, devices and hoses"
    found = [(given, "given in the job file"), *_limit(job), *_formula(result), *_gas(job), *_pipes(job, known)]
    found += [(f"equivalent length of {fitting.name}", fitting.source) for fitting in _fittings(job)]
    for like in {appliance.like: None for appliance in job.appliances if appliance.like is not None}:
        listed = known.appliance(like)
        if listed is not None:
            found.append((f"input of {like}", listed.source))
    if result.space is not None:
        found.append(("vents of the living space", SPACE_SOURCE))
    if supplied is not None:
        bottles = supplied.cylinders
        found.append(("size of the bottles", bottles.source))
        found.append(("least pressure in a bottle", bottles.least_source))
        found.append(("heat into a bottle", known.vaporisation.source["coefficient_w_m2_k"]))
    found.append(("tightness test", tight.test.source if tight.test else NO_FALL_SOURCE))
    found.append(("purge", PURGE_SOURCE))
    together: dict[str, list[str]] = {}
    for what, source in found:
        said = together.setdefault(source, [])
        if what not in said:
            said.append(what)
    return [(_sentence(what), source) for source, what in together.items()]


def _sentence(what: list[str]) -> str:
    """Return what figures are, those that begin alike put together, with a capital."""
    first, alike = what[0], ""
    head, of, _ = first.partition(" of ")
    if of and all(one.startswith(head + of) for one in what):
        alike = head + of
    text = alike + ", ".join(one.removeprefix(alike) for one in what)
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
            yield what if len(set(sources)) == 1 else f"{what} of {component.name}", source


def _pipes(job: Job, known: Catalogue) -> Iterator[tuple[str, str]]:
    pipes: dict[str, Pipe] = {run.pipes[0].label: run.pipes[0] for run in job.runs}
    pipes |= {hose.pipe.label: hose.pipe for hose in job.hoses}
    for label, pipe in pipes.items():
        yield f"bore of {label}", pipe.source
    families = {label.partition("/")[0]: pipe for label, pipe in pipes.items()}
    for family, pipe in families.items():
        yield f"roughness of {family}", roughness_source(pipe, known)


def _fittings(job: Job) -> Iterable[Fitting]:
    lists = [run.fittings for run in job.runs]
    lists += [outlet.fittings for outlet in job.outlets]
    lists += [hose.fittings for hose in job.hoses]
    return {fitting.name: fitting for fittings in lists for fitting, _ in fittings}.values()
