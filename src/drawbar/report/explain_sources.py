"""Where the equations and figures of the working stand."""

from __future__ import annotations

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.pure_gases import gas_data
from drawbar.job import Pipe
from drawbar.physics.component import Component

IN_JOB_FILE = "given in the job file"
AIR = "ISO 2533:1975, clause 2 (clause from memory)"
VIRIAL = "Tsonopoulos, AIChE J. 20 (1974) 263"
CROSS = "Tsonopoulos, AIChE J. 20 (1974) 263; Tarakad and Danner, AIChE J. 23 (1977) 685"
MIXED_VIRIAL = "The Properties of Gases and Liquids, 5th edition (2001), chapter 5"
COMPRESSIBILITY = "the virial equation in density, cut after B"
STATE = "equation of state"
VISCOSITY = (
    "Chapman and Enskog's first approximation; collision integral: Neufeld et al., J. Chem. Phys. 57 (1972) 1100"
)
INITIAL_DENSITY = "initial density dependence of viscosity: Vogel et al., J. Phys. Chem. Ref. Data 27 (1998) 947"
WILKE = "Wilke, J. Chem. Phys. 18 (1950) 517"
ISOTHERMAL = "isothermal flow with friction: Perry's Chemical Engineers' Handbook, 8th edition, section 6 (from memory)"
MAKER = "maker's figure in the job file; the drop goes with the square of the flow over the density"


def component_source(component: Component, key: str) -> str:
    """Return where a figure of a pure gas stands.

    Parameters
    ----------
    component : Component
        The gas.
    key : str
        The figure, by its name in `Component`.

    Returns
    -------
    str
        The source; empty for a figure that the gas has none of.
    """
    known = gas_data()
    source = known["gases"][component.name]["source"].get(key)
    return " ".join(known["sources"][source].split()) if source else ""


def roughness_source(pipe: Pipe, known: Catalogue) -> str:
    """Return where a pipe's roughness stands.

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    known : Catalogue
        What is known of its family.

    Returns
    -------
    str
        The source.
    """
    family = known.pipe_family(pipe.label.partition("/")[0])
    if family is None:
        return "given in the job file, or that of drawn tubing, Moody 1944"
    return family.roughness_source
