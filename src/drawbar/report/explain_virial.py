"""The working of a gas's second virial coefficient, pure and mixed."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from drawbar.job import Job
from drawbar.physics import virial
from drawbar.physics.air import R
from drawbar.physics.component import Component
from drawbar.report.explain_sources import CROSS, MIXED_VIRIAL, VIRIAL, component_source
from drawbar.report.steps import Step, num


class _Molecules(NamedTuple):
    """What a second virial coefficient is of: a gas or a pair of gases, with the constants that stand for it.

    Attributes
    ----------
    name : str
        The gas or the pair.
    tag : str
        What the symbols of the coefficient end in.
    of_constants : str
        What the symbols of the constants end in.
    critical_temperature_k : float
        Tc [K].
    critical_pressure_pa : float
        Pc [Pa].
    acentric : float
        w [-].
    """

    name: str
    tag: str
    of_constants: str
    critical_temperature_k: float
    critical_pressure_pa: float
    acentric: float


def gas_tag(job: Job, *components: Component) -> str:
    """Return what tells a gas's symbols from another's, or a pair's: its number in the mixture, nothing in a pure gas.

    Parameters
    ----------
    job : Job
        The job, for its gas.
    *components : Component
        One gas, or two.

    Returns
    -------
    str
        The numbers one after another.
    """
    if len(job.gas.fractions) == 1:
        return ""
    names = [component.name for component, _ in job.gas.fractions]
    return "".join(str(names.index(component.name) + 1) for component in components)


def virial_steps(job: Job) -> Iterator[Step]:
    """Yield the steps to the second virial coefficient of a job's gas at the site's temperature.

    Parameters
    ----------
    job : Job
        The job.

    Yields
    ------
    Step
        The constants of each gas, its coefficient, those of each pair, and the mixture's.
    """
    fractions, kelvin = job.gas.fractions, job.temperature_k
    virials_m3_mol: dict[str, float] = {}
    for component, _ in fractions:
        tag = gas_tag(job, component)
        yield from _critical(component, tag)
        terms = virial.component_virial_terms(kelvin, component)
        virials_m3_mol[tag * 2] = terms.virial_m3_mol
        constants = (component.critical_temperature_k, component.critical_pressure_pa, component.acentric)
        yield from _tsonopoulos(kelvin, _Molecules(component.name, tag * 2, tag, *constants), terms)
    if len(fractions) == 1:
        return
    for component, _ in fractions:
        source = component_source(component, "critical_volume_m3_mol")
        name, symbol = f"critical volume of {component.name}", f"Vc{gas_tag(job, component)}"
        yield Step(name, symbol, component.critical_volume_m3_mol, "m3/mol", source=source)
    for (component, _), (other, _) in combinations(fractions, 2):
        tag = gas_tag(job, component, other)
        terms = virial.cross_virial_terms(kelvin, component, other)
        virials_m3_mol[tag] = terms.virial_m3_mol
        yield from _cross(kelvin, component, other, tag, terms)
    yield _mixture(job, virials_m3_mol)


def _critical(component: Component, tag: str) -> Iterator[Step]:
    """Yield the constants of a gas."""
    for what, symbol, key, unit in (
        ("critical temperature", "Tc", "critical_temperature_k", "K"),
        ("critical pressure", "Pc", "critical_pressure_pa", "Pa"),
        ("acentric factor", "w", "acentric", ""),
    ):
        source = component_source(component, key)
        yield Step(f"{what} of {component.name}", f"{symbol}{tag}", getattr(component, key), unit, source=source)


def _tsonopoulos(kelvin: float, of: _Molecules, terms: virial.VirialTerms) -> Iterator[Step]:
    """Yield the steps to a second virial coefficient at a temperature [K]."""
    tag, t = of.tag, num(terms.inverse_reduced)
    yield Step(
        f"critical over actual temperature, {of.name}",
        f"t{tag}",
        terms.inverse_reduced,
        "",
        f"Tc{of.of_constants} / T",
        f"{num(of.critical_temperature_k)} / {num(kelvin)}",
    )
    yield Step(
        f"first function of t{tag}",
        f"a{tag}",
        terms.simple,
        "",
        f"0.1445 - 0.330 t{tag} - 0.1385 t{tag}^2 - 0.0121 t{tag}^3 - 0.000607 t{tag}^8",
        f"0.1445 - 0.330 x {t} - 0.1385 x {t}^2 - 0.0121 x {t}^3 - 0.000607 x {t}^8",
        VIRIAL,
    )
    yield Step(
        f"second function of t{tag}",
        f"b{tag}",
        terms.correction,
        "",
        f"0.0637 + 0.331 t{tag}^2 - 0.423 t{tag}^3 - 0.008 t{tag}^8",
        f"0.0637 + 0.331 x {t}^2 - 0.423 x {t}^3 - 0.008 x {t}^8",
        VIRIAL,
    )
    yield Step(
        f"second virial coefficient, {of.name}",
        f"B{tag}",
        terms.virial_m3_mol,
        "m3/mol",
        f"R Tc{of.of_constants} / Pc{of.of_constants} (a{tag} + w{of.of_constants} b{tag})",
        f"{num(R)} x {num(of.critical_temperature_k)} / {num(of.critical_pressure_pa)} x ({num(terms.simple)} + "
        f"{num(of.acentric)} x ({num(terms.correction)}))",
        VIRIAL,
    )


def _cross(
    kelvin: float, component: Component, other: Component, tag: str, terms: virial.VirialTerms
) -> Iterator[Step]:
    """Yield the steps to the second virial coefficient of a pair of unlike gases at a temperature [K]."""
    pair = virial.cross_constants(component, other)
    name = f"{component.name} with {other.name}"
    yield from _cross_constants(component, other, tag, name, pair)
    constants = (pair.critical_temperature_k, pair.critical_pressure_pa, pair.acentric)
    yield from _tsonopoulos(kelvin, _Molecules(name, tag, tag, *constants), terms)


def _cross_constants(
    component: Component, other: Component, tag: str, name: str, pair: virial.CrossConstants
) -> Iterator[Step]:
    """Yield the constants that stand for a pair of unlike gases."""
    i, j = tag[0], tag[1]
    volume_i, volume_j = num(component.critical_volume_m3_mol), num(other.critical_volume_m3_mol)
    critical_i, critical_j = num(component.critical_temperature_k), num(other.critical_temperature_k)
    cube = num(pair.cube_m3_mol)
    yield Step(
        f"cube of the sum of the cube roots of Vc{i} and Vc{j}",
        f"s{tag}",
        pair.cube_m3_mol,
        "m3/mol",
        f"(Vc{i}^(1/3) + Vc{j}^(1/3))^3",
        f"({volume_i}^(1/3) + {volume_j}^(1/3))^3",
        CROSS,
    )
    yield Step(
        f"critical temperature, {name}",
        f"Tc{tag}",
        pair.critical_temperature_k,
        "K",
        f"sqrt(Tc{i} Tc{j}) 8 sqrt(Vc{i} Vc{j}) / s{tag}",
        f"sqrt({critical_i} x {critical_j}) x 8 x sqrt({volume_i} x {volume_j}) / {cube}",
        CROSS,
    )
    yield Step(
        f"critical pressure, {name}",
        f"Pc{tag}",
        pair.critical_pressure_pa,
        "Pa",
        f"4 Tc{tag} (Pc{i} Vc{i} / Tc{i} + Pc{j} Vc{j} / Tc{j}) / s{tag}",
        f"4 x {num(pair.critical_temperature_k)} x ({num(component.critical_pressure_pa)} x {volume_i} / {critical_i} "
        f"+ {num(other.critical_pressure_pa)} x {volume_j} / {critical_j}) / {cube}",
        CROSS,
    )
    yield Step(
        f"acentric factor, {name}",
        f"w{tag}",
        pair.acentric,
        "",
        f"(w{i} + w{j}) / 2",
        f"({num(component.acentric)} + {num(other.acentric)}) / 2",
        CROSS,
    )


def _mixture(job: Job, virials_m3_mol: dict[str, float]) -> Step:
    """Return the step to the mixture's second virial coefficient, from those of each pair of gases by their tags."""
    fractions = job.gas.fractions
    terms = [
        f"{num(share)}^2 x ({num(virials_m3_mol[gas_tag(job, component, component)])})"
        for component, share in fractions
    ]
    for (component, share), (other, other_share) in combinations(fractions, 2):
        virial_m3_mol = virials_m3_mol[gas_tag(job, component, other)]
        terms.append(f"2 x {num(share)} x {num(other_share)} x ({num(virial_m3_mol)})")
    return Step(
        "second virial coefficient of the mixture",
        "B",
        job.vapour.virial_m3_mol,
        "m3/mol",
        "sum over i and j of yi yj Bij",
        " + ".join(terms),
        MIXED_VIRIAL,
    )
