"""The working of the site and the gas: what a line's pressures are worked out from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, permutations

from drawbar.catalogue.pure_gases import gas_data
from drawbar.job import Job
from drawbar.physics.air import AIR_MOLAR_MASS_KG_MOL, GRAVITY, REFERENCE_K, STANDARD_PA, R, air_density_kg_m3
from drawbar.physics.gas import (
    Component,
    cross_virial_m3_mol,
    dilute_viscosity_pa_s,
    mixture_virial_m3_mol,
    second_virial_m3_mol,
)
from drawbar.report.display import Shown
from drawbar.report.steps import Step, WorkingPart, num

_GIVEN = "given in the job file"
AIR = "ISO 2533:1975, clause 2 (clause from memory)"
VIRIAL = "Tsonopoulos, AIChE J. 20 (1974) 263"
CROSS = "Tsonopoulos, AIChE J. 20 (1974) 263; Tarakad and Danner, AIChE J. 23 (1977) 685"
_MIXED = "The Properties of Gases and Liquids, 5th edition (2001), chapter 5"
_ROOT = "the virial equation in density, cut after B"
VISCOSITY = (
    "Chapman and Enskog's first approximation; collision integral: Neufeld et al., J. Chem. Phys. 57 (1972) 1100"
)
WILKE = "Wilke, J. Chem. Phys. 18 (1950) 517"


def site(job: Job) -> WorkingPart:
    """Return the working of the air's pressure and density."""
    celsius, height = job.temperature_k - 273.15, job.altitude_m
    return WorkingPart(
        f"The site: {celsius:g} degC, {Shown(job.display).length_unit(height)} above the sea",
        [
            Step("temperature", "T", job.temperature_k, "K", "degC + 273.15", f"{num(celsius)} + 273.15", _GIVEN),
            Step("altitude", "H", height, "m", source=_GIVEN),
            Step(
                "pressure of the air, absolute",
                "pa",
                job.atmospheric_pa,
                "Pa",
                "p0 (1 - beta H / T0)^(g / (beta Ra))",
                f"{num(STANDARD_PA)} x (1 - 0.0065 x {num(height)} / {num(REFERENCE_K)})"
                f"^({GRAVITY} / (0.0065 x 287.05287))",
                AIR,
            ),
            Step("molar mass of air", "Ma", AIR_MOLAR_MASS_KG_MOL, "kg/mol", source="between ISO 2533 and ISO 6976"),
            Step("molar gas constant", "R", R, "J/(mol K)", source="CODATA 2018"),
            Step(
                "density of the air outside the pipe",
                "rho_a",
                job.air_density_kg_m3,
                "kg/m3",
                "pa Ma / (R T)",
                f"{num(job.atmospheric_pa)} x {num(AIR_MOLAR_MASS_KG_MOL)} / ({num(R)} x {num(job.temperature_k)})",
                AIR,
            ),
        ],
    )


def gas(job: Job, *, at_reference: bool) -> WorkingPart:
    """Return the working of the gas.

    at_reference : whether to work out the density at 15 degC and 101.325 kPa, which other formulas than darcy take
    """
    fractions = job.gas.fractions
    shares = ", ".join(f"{share * 100:g} % {one.name}" if share < 1.0 else one.name for one, share in fractions)
    section = WorkingPart(f"The gas: {shares}")
    section.items.extend(_heat(job))
    section.items.extend(_virial(job))
    vapour, abs_pa = job.vapour, job.regulator.outlet_gauge_pa + job.atmospheric_pa
    where = "at the first regulator's outlet"
    section.items.append(
        Step(
            f"pressure {where}, absolute",
            "pr",
            abs_pa,
            "Pa",
            "set pressure + pa",
            f"{num(job.regulator.outlet_gauge_pa)} + {num(job.atmospheric_pa)}",
            _GIVEN,
        )
    )
    section.items.append(compressibility(job, abs_pa, f"compression factor {where}", "Zr", "pr"))
    section.items.append(
        Step(
            f"density {where}",
            "rho_r",
            vapour.density_kg_m3(abs_pa),
            "kg/m3",
            "pr M / (Zr R T)",
            f"{num(abs_pa)} x {num(vapour.molar_mass_kg_mol)} / ({num(vapour.compressibility(abs_pa))} x {num(R)} x "
            f"{num(vapour.temperature_k)})",
            "equation of state",
        )
    )
    section.items.extend(_viscosity(job))
    if at_reference:
        section.items.extend(_reference(job))
    return section


def compressibility(job: Job, abs_pa: float, name: str, symbol: str, pressure: str) -> Step:
    """Return the step that works out the compression factor at an absolute pressure [Pa] with that symbol."""
    vapour = job.vapour
    return Step(
        name,
        symbol,
        vapour.compressibility(abs_pa),
        "",
        f"(1 + sqrt(1 + 4 B {pressure} / (R T))) / 2",
        f"(1 + sqrt(1 + 4 x ({num(vapour.virial_m3_mol)}) x {num(abs_pa)} / ({num(R)} x {num(vapour.temperature_k)}))) "
        f"/ 2",
        _ROOT,
    )


def _tag(job: Job, *gases: Component) -> str:
    """Return what tells a gas's symbols from another's: a number in brackets, nothing in a pure gas."""
    if len(job.gas.fractions) == 1:
        return ""
    names = [one.name for one, _ in job.gas.fractions]
    return "".join(str(names.index(one.name) + 1) for one in gases)


def component_source(component: Component, key: str) -> str:
    """Return where a figure of a pure gas stands."""
    known = gas_data()
    return " ".join(known["sources"][known["gases"][component.name]["source"][key]].split())


def _heat(job: Job) -> Iterator[Step]:
    fractions, gross_j_kg = job.gas.fractions, job.gas.gross_j_kg
    for one, share in fractions:
        tag = _tag(job, one)
        if tag:
            yield Step(f"share of {one.name}, by mole", f"y{tag}", share, "", source=_GIVEN)
        mass = one.molar_mass_kg_mol
        yield Step(
            f"molar mass of {one.name}", f"M{tag}", mass, "kg/mol", source=component_source(one, "molar_mass_kg_mol")
        )
        name, heat = f"gross heat of {one.name}", component_source(one, "gross_j_mol")
        yield Step(name, f"hm{tag}", one.gross_j_mol, "J/mol", source=heat)
    if len(fractions) == 1:
        words, numbers = "hm / M", f"{num(fractions[0][0].gross_j_mol)} / {num(job.gas.molar_mass_kg_mol)}"
    else:
        masses = " + ".join(f"{num(share)} x {num(one.molar_mass_kg_mol)}" for one, share in fractions)
        yield Step("molar mass of the mixture", "M", job.gas.molar_mass_kg_mol, "kg/mol", "sum of yi Mi", masses)
        heats = " + ".join(f"{num(share)} x {num(one.gross_j_mol)}" for one, share in fractions)
        words, numbers = "sum of yi hmi / M", f"({heats}) / {num(job.gas.molar_mass_kg_mol)}"
    yield Step("gross calorific value", "Hs", gross_j_kg, "J/kg", words, numbers, heat)


def _virial(job: Job) -> Iterator[Step | str]:
    fractions, kelvin = job.gas.fractions, job.temperature_k
    values: dict[str, float] = {}
    for one, _ in fractions:
        tag = _tag(job, one)
        critical_k, critical_pa = one.critical_temperature_k, one.critical_pressure_pa
        yield Step(
            f"critical temperature of {one.name}",
            f"Tc{tag}",
            critical_k,
            "K",
            source=component_source(one, "critical_temperature_k"),
        )
        yield Step(
            f"critical pressure of {one.name}",
            f"Pc{tag}",
            critical_pa,
            "Pa",
            source=component_source(one, "critical_pressure_pa"),
        )
        yield Step(
            f"acentric factor of {one.name}", f"w{tag}", one.acentric, "", source=component_source(one, "acentric")
        )
        values[tag * 2] = second_virial_m3_mol(kelvin, critical_k, critical_pa, one.acentric)
        yield from _tsonopoulos(
            kelvin, tag * 2, tag, (critical_k, critical_pa, one.acentric), values[tag * 2], one.name
        )
    if len(fractions) == 1:
        return
    for one, _ in fractions:
        source = component_source(one, "critical_volume_m3_mol")
        name, symbol = f"critical volume of {one.name}", f"Vc{_tag(job, one)}"
        yield Step(name, symbol, one.critical_volume_m3_mol, "m3/mol", source=source)
    for (one, _), (other, _) in combinations(fractions, 2):
        tag = _tag(job, one, other)
        values[tag] = cross_virial_m3_mol(kelvin, one, other)
        yield from _cross(kelvin, one, other, tag, values[tag])
    terms = [f"{num(share)}^2 x ({num(values[_tag(job, one, one)])})" for one, share in fractions]
    for (one, share), (other, more) in combinations(fractions, 2):
        terms.append(f"2 x {num(share)} x {num(more)} x ({num(values[_tag(job, one, other)])})")
    yield Step(
        "second virial coefficient of the mixture",
        "B",
        job.vapour.virial_m3_mol,
        "m3/mol",
        "sum over i and j of yi yj Bij",
        " + ".join(terms),
        _MIXED,
    )


def _tsonopoulos(
    kelvin: float, tag: str, own: str, constants: tuple[float, float, float], virial_m3_mol: float, name: str
) -> Iterator[Step]:
    """Yield the steps to one second virial coefficient; constants are Tc [K], Pc [Pa] and w [-]."""
    critical_k, critical_pa, acentric = constants
    t = critical_k / kelvin
    simple = 0.1445 - 0.330 * t - 0.1385 * t**2 - 0.0121 * t**3 - 0.000607 * t**8
    correction = 0.0637 + 0.331 * t**2 - 0.423 * t**3 - 0.008 * t**8
    n = num(t)
    yield Step(
        f"critical over actual temperature, {name}",
        f"t{tag}",
        t,
        "",
        f"Tc{own} / T",
        f"{num(critical_k)} / {num(kelvin)}",
    )
    yield Step(
        f"first function of t{tag}",
        f"a{tag}",
        simple,
        "",
        f"0.1445 - 0.330 t{tag} - 0.1385 t{tag}^2 - 0.0121 t{tag}^3 - 0.000607 t{tag}^8",
        f"0.1445 - 0.330 x {n} - 0.1385 x {n}^2 - 0.0121 x {n}^3 - 0.000607 x {n}^8",
        VIRIAL,
    )
    yield Step(
        f"second function of t{tag}",
        f"b{tag}",
        correction,
        "",
        f"0.0637 + 0.331 t{tag}^2 - 0.423 t{tag}^3 - 0.008 t{tag}^8",
        f"0.0637 + 0.331 x {n}^2 - 0.423 x {n}^3 - 0.008 x {n}^8",
        VIRIAL,
    )
    yield Step(
        f"second virial coefficient, {name}",
        f"B{tag}",
        virial_m3_mol,
        "m3/mol",
        f"R Tc{own} / Pc{own} (a{tag} + w{own} b{tag})",
        f"{num(R)} x {num(critical_k)} / {num(critical_pa)} x ({num(simple)} + {num(acentric)} x ({num(correction)}))",
        VIRIAL,
    )


def _cross(kelvin: float, one: Component, other: Component, tag: str, virial_m3_mol: float) -> Iterator[Step]:
    """Yield the steps to the second virial coefficient of a pair of unlike gases."""
    i, j = tag[0], tag[1]
    name = f"{one.name} with {other.name}"
    volume_i, volume_j = one.critical_volume_m3_mol, other.critical_volume_m3_mol
    cube = (math.cbrt(volume_i) + math.cbrt(volume_j)) ** 3
    critical_i, critical_j = one.critical_temperature_k, other.critical_temperature_k
    critical_k = math.sqrt(critical_i * critical_j) * 8.0 * math.sqrt(volume_i * volume_j) / cube
    pull = one.critical_pressure_pa * volume_i / critical_i + other.critical_pressure_pa * volume_j / critical_j
    critical_pa = 4.0 * critical_k * pull / cube
    acentric = 0.5 * (one.acentric + other.acentric)
    yield Step(
        f"cube of the sum of the cube roots of Vc{i} and Vc{j}",
        f"s{tag}",
        cube,
        "m3/mol",
        f"(Vc{i}^(1/3) + Vc{j}^(1/3))^3",
        f"({num(volume_i)}^(1/3) + {num(volume_j)}^(1/3))^3",
        CROSS,
    )
    yield Step(
        f"critical temperature, {name}",
        f"Tc{tag}",
        critical_k,
        "K",
        f"sqrt(Tc{i} Tc{j}) 8 sqrt(Vc{i} Vc{j}) / s{tag}",
        f"sqrt({num(critical_i)} x {num(critical_j)}) x 8 x sqrt({num(volume_i)} x {num(volume_j)}) / {num(cube)}",
        CROSS,
    )
    yield Step(
        f"critical pressure, {name}",
        f"Pc{tag}",
        critical_pa,
        "Pa",
        f"4 Tc{tag} (Pc{i} Vc{i} / Tc{i} + Pc{j} Vc{j} / Tc{j}) / s{tag}",
        f"4 x {num(critical_k)} x ({num(one.critical_pressure_pa)} x {num(volume_i)} / {num(critical_i)} + "
        f"{num(other.critical_pressure_pa)} x {num(volume_j)} / {num(critical_j)}) / {num(cube)}",
        CROSS,
    )
    yield Step(
        f"acentric factor, {name}",
        f"w{tag}",
        acentric,
        "",
        f"(w{i} + w{j}) / 2",
        f"({num(one.acentric)} + {num(other.acentric)}) / 2",
        CROSS,
    )
    yield from _tsonopoulos(kelvin, tag, tag, (critical_k, critical_pa, acentric), virial_m3_mol, name)


def _viscosity(job: Job) -> Iterator[Step]:
    fractions, kelvin = job.gas.fractions, job.temperature_k
    values: list[float] = []
    for one, _ in fractions:
        tag, depth = _tag(job, one), one.well_depth_k
        diameter = 1e10 * one.collision_diameter_m
        yield Step(
            f"collision diameter of {one.name}",
            f"sigma{tag}",
            diameter,
            "angstrom",
            source=component_source(one, "collision_diameter_m"),
        )
        yield Step(f"well depth of {one.name}", f"eps{tag}", depth, "K", source=component_source(one, "well_depth_k"))
        t = kelvin / depth
        omega = 1.16145 * math.pow(t, -0.14874) + 0.52487 * math.exp(-0.77320 * t) + 2.16178 * math.exp(-2.43787 * t)
        yield Step("temperature over well depth", f"v{tag}", t, "", f"T / eps{tag}", f"{num(kelvin)} / {num(depth)}")
        yield Step(
            f"collision integral of {one.name}",
            f"Om{tag}",
            omega,
            "",
            f"1.16145 / v{tag}^0.14874 + 0.52487 exp(-0.7732 v{tag}) + 2.16178 exp(-2.43787 v{tag})",
            f"1.16145 / {num(t)}^0.14874 + 0.52487 x exp(-0.7732 x {num(t)}) + 2.16178 x exp(-2.43787 x {num(t)})",
            VISCOSITY,
        )
        mass = one.molar_mass_kg_mol
        values.append(dilute_viscosity_pa_s(kelvin, mass, one.collision_diameter_m, depth))
        yield Step(
            f"viscosity of {one.name}",
            f"mu{tag}",
            values[-1],
            "Pa s",
            f"2.6693e-6 sqrt(1000 M{tag} T) / (sigma{tag}^2 Om{tag})",
            f"2.6693e-6 x sqrt(1000 x {num(mass)} x {num(kelvin)}) / ({num(diameter)}^2 x {num(omega)})",
            VISCOSITY,
        )
    if len(fractions) == 1:
        return
    weights = [num(share) for _, share in fractions]  # yi + sum over the others of yj phiij
    for i, j in permutations(range(len(fractions)), 2):
        mass_i, mass_j = fractions[i][0].molar_mass_kg_mol, fractions[j][0].molar_mass_kg_mol
        pull = 1.0 + math.sqrt(values[i] / values[j]) * math.pow(mass_j / mass_i, 0.25)
        phi = pull * pull / math.sqrt(8.0 * (1.0 + mass_i / mass_j))
        a, b = i + 1, j + 1
        yield Step(
            f"weight of {fractions[j][0].name} in {fractions[i][0].name}",
            f"phi{a}{b}",
            phi,
            "",
            f"(1 + sqrt(mu{a} / mu{b}) (M{b} / M{a})^0.25)^2 / sqrt(8 (1 + M{a} / M{b}))",
            f"(1 + sqrt({num(values[i])} / {num(values[j])}) x ({num(mass_j)} / {num(mass_i)})^0.25)^2 / "
            f"sqrt(8 x (1 + {num(mass_i)} / {num(mass_j)}))",
            WILKE,
        )
        weights[i] += f" + {num(fractions[j][1])} x {num(phi)}"
    numbers = [f"{num(share)} x {num(values[n])} / ({weights[n]})" for n, (_, share) in enumerate(fractions)]
    yield Step(
        "viscosity of the mixture",
        "mu",
        job.vapour.viscosity_pa_s,
        "Pa s",
        "sum over i of yi mui / (yi + sum over the other j of yj phiij)",
        " + ".join(numbers),
        WILKE,
    )


def _reference(job: Job) -> Iterator[Step]:
    """Yield the density at 15 degC and 101.325 kPa and over that of air."""
    made, where = job.gas, "at 15 degC and 101.325 kPa"
    virial_m3_mol = mixture_virial_m3_mol(REFERENCE_K, made.fractions)
    z = STANDARD_PA * made.molar_mass_kg_mol / (made.reference_density_kg_m3 * R * REFERENCE_K)
    air = air_density_kg_m3(STANDARD_PA, REFERENCE_K)
    yield Step("second virial coefficient at 15 degC, worked out as B", "Bn", virial_m3_mol, "m3/mol", source=VIRIAL)
    yield Step(
        f"compression factor {where}",
        "Zn",
        z,
        "",
        "(1 + sqrt(1 + 4 Bn pn / (R Tn))) / 2",
        f"(1 + sqrt(1 + 4 x ({num(virial_m3_mol)}) x {num(STANDARD_PA)} / ({num(R)} x {num(REFERENCE_K)}))) / 2",
        _ROOT,
    )
    yield Step(
        f"density {where}",
        "rho_n",
        made.reference_density_kg_m3,
        "kg/m3",
        "pn M / (Zn R Tn)",
        f"{num(STANDARD_PA)} x {num(made.molar_mass_kg_mol)} / ({num(z)} x {num(R)} x {num(REFERENCE_K)})",
        "equation of state",
    )
    yield Step(
        f"relative density, over air {where}",
        "S",
        made.relative_density,
        "",
        "rho_n / rho_air",
        f"{num(made.reference_density_kg_m3)} / {num(air)}",
        "ISO 2533:1975 for the air",
    )
