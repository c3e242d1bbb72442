"""What of a site may be different from day to day: temperature, altitude and gas as ranges."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas, Vapour


class Uphill(NamedTuple):
    """The gas and the air by which the height of a rising run or hose counts, where those of the site are ranges.

    Attributes
    ----------
    vapour : Vapour
        The heaviest gas there may be.
    atmospheric_pa : float
        The highest pressure of the air [Pa absolute], more by what a regulator may give over its set pressure.
    air_density_kg_m3 : float
        Density of the air outside in the same state [kg/m3].
    """

    vapour: Vapour
    atmospheric_pa: float
    air_density_kg_m3: float


class SiteRange(NamedTuple):
    """What may be different from day to day, from the least to the most.

    Attributes
    ----------
    temperature_k : tuple of float
        Of the gas in the pipe [K].
    altitude_m : tuple of float
        Of the place [m].
    gases : tuple of Gas
        What may be in the pipe: from the job's gas to the other end of its range, in even steps, and what a bottle
        gives from its first to its last; the job's alone where there is no other.
    fills : tuple of Gas
        What the bottles may be filled with.
    """

    temperature_k: tuple[float, float]
    altitude_m: tuple[float, float]
    gases: tuple[Gas, ...]
    fills: tuple[Gas, ...]

    @property
    def is_point(self) -> bool:
        """Tell whether nothing of it is a range."""
        return (
            self.temperature_k[0] == self.temperature_k[1]
            and self.altitude_m[0] == self.altitude_m[1]
            and len(self.gases) == 1
        )
