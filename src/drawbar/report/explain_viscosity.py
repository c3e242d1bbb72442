"""The working of a gas's viscosity, pure and mixed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations

from drawbar.job import Job
from drawbar.physics import viscosity
from drawbar.physics.air import STANDARD_PA, R
from drawbar.physics.component import Component
from drawbar.report.explain_sources import INITIAL_DENSITY, VISCOSITY, WILKE, component_source
from drawbar.report.explain_virial import gas_tag
from drawbar.report.steps import Step, num


def viscosity_steps(job: Job) -> Iterator[Step]:
    """Yield the steps to the viscosity of a job's gas at the site's temperature.

    Parameters
    ----------
    job : Job
        The job.

    Yields
    ------
    Step
        The constants of each gas, its viscosity, the weights of each in the others, and the mixture's viscosity.
    """
    kelvin = job.temperature_k
    viscosities_pa_s: list[float] = []
    for component, _ in job.gas.fractions:
        terms = viscosity.gas_viscosity(
            kelvin,
            component.molar_mass_kg_mol,
            component.collision_diameter_m,
            component.well_depth_k,
            component.collision_coefficients,
        )
        viscosities_pa_s.append(terms.viscosity_pa_s)
        yield from _dilute(kelvin, component, gas_tag(job, component), terms)
    if len(job.gas.fractions) > 1:
        yield from _mixture(job, viscosities_pa_s)


def _dilute(kelvin: float, component: Component, tag: str, terms: viscosity.ViscosityTerms) -> Iterator[Step]:
    """Yield the steps to the viscosity of a pure gas at a temperature [K]."""
    name, depth = component.name, num(component.well_depth_k)
    diameter = terms.collision_diameter_angstrom
    source = component_source(component, "collision_diameter_m")
    yield Step(f"collision diameter of {name}", f"sigma{tag}", diameter, "angstrom", source=source)
    source = component_source(component, "well_depth_k")
    yield Step(f"well depth of {name}", f"eps{tag}", component.well_depth_k, "K", source=source)
    yield Step(
        "temperature over well depth",
        f"v{tag}",
        terms.reduced_temperature,
        "",
        f"T / eps{tag}",
        f"{num(kelvin)} / {depth}",
    )
    yield _collision_integral(component, tag, terms)
    yield Step(
        f"viscosity of dilute {name}",
        f"mu0{tag}",
        terms.dilute_pa_s,
        "Pa s",
        f"2.6693e-6 sqrt(1000 M{tag} T) / (sigma{tag}^2 Om{tag})",
        f"2.6693e-6 x sqrt(1000 x {num(component.molar_mass_kg_mol)} x {num(kelvin)}) / "
        f"({num(diameter)}^2 x {num(terms.collision_integral)})",
        VISCOSITY,
    )
    closely = f"{terms.reduced_temperature:.10g}"  # large terms of both signs leave a small sum
    terms_b = [f"{factor!r} x {closely}^{num(power)}" for factor, power in viscosity.DENSITY_SERIES]
    yield Step(
        f"how the viscosity of {name} starts to move with density",
        f"Be{tag}",
        terms.viscosity_virial_m3_mol,
        "m3/mol",
        f"NA (1e-10 sigma{tag})^3 (sum of b v{tag}^c)",
        f"{num(viscosity.AVOGADRO)} x (1e-10 x {num(diameter)})^3 x ({' + '.join(terms_b)})",
        INITIAL_DENSITY,
    )
    yield Step(
        f"viscosity of {name} at 101.325 kPa",
        f"mu{tag}",
        terms.viscosity_pa_s,
        "Pa s",
        f"mu0{tag} (1 + Be{tag} pn / (R T))",
        f"{num(terms.dilute_pa_s)} x (1 + {num(terms.viscosity_virial_m3_mol)} x {num(STANDARD_PA)} / "
        f"({num(R)} x {num(kelvin)}))",
        INITIAL_DENSITY,
    )


def _collision_integral(component: Component, tag: str, terms: viscosity.ViscosityTerms) -> Step:
    """Return the step to the collision integral, by the gas's own coefficients or as of a Lennard-Jones gas."""
    name, t = component.name, num(terms.reduced_temperature)
    coefficients = component.collision_coefficients
    if not coefficients:
        formula = f"1.16145 / v{tag}^0.14874 + 0.52487 exp(-0.7732 v{tag}) + 2.16178 exp(-2.43787 v{tag})"
        numbers = f"1.16145 / {t}^0.14874 + 0.52487 x exp(-0.7732 x {t}) + 2.16178 x exp(-2.43787 x {t})"
        source = VISCOSITY
    else:
        formula = f"1.25 exp(sum of ai ln(v{tag})^i)"
        sums = [num(coefficients[0]), *(f"{num(a)} x ln({t})^{i}" for i, a in enumerate(coefficients) if i and a)]
        numbers = f"1.25 x exp({' + '.join(sums)})"
        source = component_source(component, "collision_coefficients")
    return Step(f"collision integral of {name}", f"Om{tag}", terms.collision_integral, "", formula, numbers, source)


def _mixture(job: Job, viscosities_pa_s: Sequence[float]) -> Iterator[Step]:
    """Yield the steps from the viscosities of the gases [Pa s] to that of the mixture."""
    fractions = job.gas.fractions
    sums = [num(share) for _, share in fractions]  # yi + sum over the others of yj phiij
    for i, j in permutations(range(len(fractions)), 2):
        (component, _), (other, other_share) = fractions[i], fractions[j]
        masses_kg_mol = component.molar_mass_kg_mol, other.molar_mass_kg_mol
        weight = viscosity.mixing_weight(viscosities_pa_s[i], viscosities_pa_s[j], *masses_kg_mol)
        mu_i, mu_j = num(viscosities_pa_s[i]), num(viscosities_pa_s[j])
        mass_i, mass_j = map(num, masses_kg_mol)
        a, b = i + 1, j + 1
        yield Step(
            f"weight of {other.name} in {component.name}",
            f"phi{a}{b}",
            weight,
            "",
            f"(1 + sqrt(mu{a} / mu{b}) (M{b} / M{a})^0.25)^2 / sqrt(8 (1 + M{a} / M{b}))",
            f"(1 + sqrt({mu_i} / {mu_j}) x ({mass_j} / {mass_i})^0.25)^2 / sqrt(8 x (1 + {mass_i} / {mass_j}))",
            WILKE,
        )
        sums[i] += f" + {num(other_share)} x {num(weight)}"
    shares = [share for _, share in fractions]
    parts = zip(shares, viscosities_pa_s, sums, strict=True)
    yield Step(
        "viscosity of the mixture",
        "mu",
        job.vapour.viscosity_pa_s,
        "Pa s",
        "sum over i of yi mui / (yi + sum over the other j of yj phiij)",
        " + ".join(f"{num(share)} x {num(viscosity_pa_s)} / ({below})" for share, viscosity_pa_s, below in parts),
        WILKE,
    )
