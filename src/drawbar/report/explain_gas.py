"""The working of the site and the gas: what a line's pressures are worked out from."""

from __future__ import annotations

from collections.abc import Iterator

from drawbar.job import Job
from drawbar.physics.air import AIR_MOLAR_MASS_KG_MOL, GRAVITY, REFERENCE_K, STANDARD_PA, R, air_density_kg_m3
from drawbar.report.display import Shown
from drawbar.report.explain_sources import AIR, COMPRESSIBILITY, IN_JOB_FILE, STATE, VIRIAL, component_source
from drawbar.report.explain_virial import gas_tag, virial_steps
from drawbar.report.explain_viscosity import viscosity_steps
from drawbar.report.steps import Step, WorkingPart, num


def site(job: Job) -> WorkingPart:
    """Return the working of the air's pressure and density.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    WorkingPart
        Its steps.
    """
    celsius, height = job.temperature_k - 273.15, job.altitude_m
    return WorkingPart(
        f"The site: {celsius:g} degC, {Shown(job.display).length_unit(height)} above the sea",
        [
            Step("temperature", "T", job.temperature_k, "K", "degC + 273.15", f"{num(celsius)} + 273.15", IN_JOB_FILE),
            Step("altitude", "H", height, "m", source=IN_JOB_FILE),
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

    Parameters
    ----------
    job : Job
        The job.
    at_reference : bool
        Whether to work out the density at 15 degC and 101.325 kPa, which other formulas than darcy take.

    Returns
    -------
    WorkingPart
        Its steps.
    """
    fractions = job.gas.fractions
    shares = ", ".join(
        f"{share * 100:g} % {component.name}" if share < 1.0 else component.name for component, share in fractions
    )
    section = WorkingPart(f"The gas: {shares}")
    section.items.extend(_heat(job))
    section.items.extend(virial_steps(job))
    section.items.extend(_at_regulator(job))
    section.items.extend(viscosity_steps(job))
    if at_reference:
        section.items.extend(_reference(job))
    return section


def _at_regulator(job: Job) -> Iterator[Step]:
    """Yield the steps to the density at the first regulator's outlet."""
    where, abs_pa = "at the first regulator's outlet", job.regulator.outlet_gauge_pa + job.atmospheric_pa
    yield Step(
        f"pressure {where}, absolute",
        "pr",
        abs_pa,
        "Pa",
        "set pressure + pa",
        f"{num(job.regulator.outlet_gauge_pa)} + {num(job.atmospheric_pa)}",
        IN_JOB_FILE,
    )
    z = job.vapour.compressibility(abs_pa)
    yield compressibility_step(job, abs_pa, z, f"compression factor {where}", ("Zr", "pr"))
    yield density_step(job, abs_pa, f"density {where}", ("rho_r", "pr", "Zr"))


def compressibility_step(job: Job, abs_pa: float, z: float, name: str, symbols: tuple[str, str]) -> Step:
    """Return the step to the compression factor at a pressure.

    Parameters
    ----------
    job : Job
        The job, for its gas.
    abs_pa : float
        The pressure [Pa absolute].
    z : float
        The compression factor there [-].
    name : str
        What it is, in words.
    symbols : tuple of str
        The symbols of the factor and of the pressure.

    Returns
    -------
    Step
        The step.
    """
    vapour, (symbol, pressure) = job.vapour, symbols
    return Step(
        name,
        symbol,
        z,
        "",
        f"(1 + sqrt(1 + 4 B {pressure} / (R T))) / 2",
        f"(1 + sqrt(1 + 4 x ({num(vapour.virial_m3_mol)}) x {num(abs_pa)} / ({num(R)} x {num(vapour.temperature_k)}))) "
        f"/ 2",
        COMPRESSIBILITY,
    )


def density_step(job: Job, abs_pa: float, name: str, symbols: tuple[str, str, str]) -> Step:
    """Return the step to the density at a pressure.

    Parameters
    ----------
    job : Job
        The job, for its gas.
    abs_pa : float
        The pressure [Pa absolute].
    name : str
        What it is, in words.
    symbols : tuple of str
        The symbols of the density, of the pressure and of the compression factor.

    Returns
    -------
    Step
        The step.
    """
    vapour, (symbol, pressure, factor) = job.vapour, symbols
    return Step(
        name,
        symbol,
        vapour.density_kg_m3(abs_pa),
        "kg/m3",
        f"{pressure} M / ({factor} R T)",
        f"{num(abs_pa)} x {num(vapour.molar_mass_kg_mol)} / ({num(vapour.compressibility(abs_pa))} x {num(R)} x "
        f"{num(vapour.temperature_k)})",
        STATE,
    )


def _heat(job: Job) -> Iterator[Step]:
    """Yield the steps to molar mass and calorific value."""
    fractions, gross_j_kg = job.gas.fractions, job.gas.gross_j_kg
    for component, share in fractions:
        tag, name = gas_tag(job, component), component.name
        if tag:
            yield Step(f"share of {name}, by mole", f"y{tag}", share, "", source=IN_JOB_FILE)
        source = component_source(component, "molar_mass_kg_mol")
        yield Step(f"molar mass of {name}", f"M{tag}", component.molar_mass_kg_mol, "kg/mol", source=source)
        source = component_source(component, "gross_j_mol")
        yield Step(f"gross heat of {name}", f"hm{tag}", component.gross_j_mol, "J/mol", source=source)
    if len(fractions) == 1:
        words, numbers = "hm / M", f"{num(fractions[0][0].gross_j_mol)} / {num(job.gas.molar_mass_kg_mol)}"
    else:
        masses = " + ".join(f"{num(share)} x {num(component.molar_mass_kg_mol)}" for component, share in fractions)
        yield Step("molar mass of the mixture", "M", job.gas.molar_mass_kg_mol, "kg/mol", "sum of yi Mi", masses)
        heats = " + ".join(f"{num(share)} x {num(component.gross_j_mol)}" for component, share in fractions)
        words, numbers = "sum of yi hmi / M", f"({heats}) / {num(job.gas.molar_mass_kg_mol)}"
    yield Step("gross calorific value", "Hs", gross_j_kg, "J/kg", words, numbers, source)


def _reference(job: Job) -> Iterator[Step]:
    """Yield the density at 15 degC and 101.325 kPa and over that of air."""
    fuel, where = job.gas, "at 15 degC and 101.325 kPa"
    virial_m3_mol, z = fuel.reference_virial_m3_mol, fuel.reference_compressibility
    air = air_density_kg_m3(STANDARD_PA, REFERENCE_K)
    yield Step("second virial coefficient at 15 degC, worked out as B", "Bn", virial_m3_mol, "m3/mol", source=VIRIAL)
    yield Step(
        f"compression factor {where}",
        "Zn",
        z,
        "",
        "(1 + sqrt(1 + 4 Bn pn / (R Tn))) / 2",
        f"(1 + sqrt(1 + 4 x ({num(virial_m3_mol)}) x {num(STANDARD_PA)} / ({num(R)} x {num(REFERENCE_K)}))) / 2",
        COMPRESSIBILITY,
    )
    yield Step(
        f"density {where}",
        "rho_n",
        fuel.reference_density_kg_m3,
        "kg/m3",
        "pn M / (Zn R Tn)",
        f"{num(STANDARD_PA)} x {num(fuel.molar_mass_kg_mol)} / ({num(z)} x {num(R)} x {num(REFERENCE_K)})",
        STATE,
    )
    yield Step(
        f"relative density, over air {where}",
        "S",
        fuel.relative_density,
        "",
        "rho_n / rho_air",
        f"{num(fuel.reference_density_kg_m3)} / {num(air)}",
        "ISO 2533:1975 for the air",
    )
