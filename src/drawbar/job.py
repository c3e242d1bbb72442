"""A job as plain values in SI floats: what the reader makes of a job file, and what every calculation reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drawbar.display_units import METRIC, Display
from drawbar.fixtures import Cylinders, Device, Fitting, OfftakeFit, Pipe, Space
from drawbar.particulars import NONE_GIVEN, Particulars
from drawbar.rules import Rule, Tolerances, TypicalDrop
from drawbar.site import SiteRange, Uphill

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas, Vapour
    from drawbar.water_line.water_parts import WaterSide

__all__ = [  # what a job is made of, from this one place
    "ALL_ON",
    "ROOT",
    "Appliance",
    "Cylinders",
    "Device",
    "Fitting",
    "Hose",
    "Job",
    "OfftakeFit",
    "Outlet",
    "Pipe",
    "Regulator",
    "Run",
    "Space",
    "State",
    "WaterDuty",
    "decided",
]

ROOT = "regulator"  # the name of the point that the first runs start from
ALL_ON = "all on"  # the name of the state that is assumed where a job gives none


class Regulator(NamedTuple):
    """A regulator: the first, or a second stage at the start of a run.

    Attributes
    ----------
    outlet_gauge_pa : float
        Set outlet pressure [Pa gauge].
    capacity_w : float or None
        What it surely passes by its rating, as gross heat [W], None where not given; of several side by side that of
        all together, no more than one of them where it is not known how they share.
    inlet_min_gauge_pa : float
        Lowest inlet pressure [Pa gauge]; 0 where it is not given, as it may be for the first.
    accuracy : float
        How far its outlet may be from the set pressure, as a share of it: its accuracy class [-]; 0 where not given.
    lock_up_gauge_pa : float or None
        The most that its outlet rises to where nothing flows [Pa gauge], None where not given.
    curve : tuple of tuple of float
        Points of its curve by rising flow: mass flow [kg/s] and outlet pressure [Pa gauge]; empty where not given.
    number : int
        How many of the same stand side by side.
    most_w : float or None
        What they pass together if they share evenly [W]; None for that of a single one, `capacity_w`.
    """

    outlet_gauge_pa: float
    capacity_w: float | None = None
    inlet_min_gauge_pa: float = 0.0
    accuracy: float = 0.0
    lock_up_gauge_pa: float | None = None
    curve: tuple[tuple[float, float], ...] = ()
    number: int = 1
    most_w: float | None = None


class Run(NamedTuple):
    """A run of pipe from the end of another (or from the regulator) to a point that carries its own name.

    Attributes
    ----------
    name : str
        The run's, and that of the point at its end.
    start : str
        The run at whose end it starts, or ROOT.
    pipes : tuple of Pipe
        The sizes that may be used, a single one where it is decided.
    length_m, rise_m : float
        Pipe length, and the height gained from start to end [m].
    fittings : tuple of tuple of Fitting and int
        Its fittings, with how many of each.
    devices : tuple of Device
        Its devices.
    regulator : Regulator or None
        A second-stage regulator at its start.
    """

    name: str
    start: str
    pipes: tuple[Pipe, ...]
    length_m: float
    rise_m: float = 0.0
    fittings: tuple[tuple[Fitting, int], ...] = ()
    devices: tuple[Device, ...] = ()
    regulator: Regulator | None = None

    @property
    def pipe(self) -> Pipe:
        """The pipe of a run whose size is decided. Raises ValueError if it is left open."""
        if len(self.pipes) != 1:
            raise ValueError(f"run {self.name} leaves its size open")
        return self.pipes[0]


class Outlet(NamedTuple):
    """A bayonet or other plug-in point at the end of a run.

    Attributes
    ----------
    name : str
        The outlet's.
    at : str
        The run at whose end it is.
    fittings : tuple of tuple of Fitting and int
        Its fittings, with how many of each.
    devices : tuple of Device
        Its devices.
    devices_known : bool
        Whether the job says what devices it has, or that it has none.
    typical : TypicalDrop or None
        What a bayonet typically takes, where the job does not say what this outlet is.
    """

    name: str
    at: str
    fittings: tuple[tuple[Fitting, int], ...] = ()
    devices: tuple[Device, ...] = ()
    devices_known: bool = True
    typical: TypicalDrop | None = None


@dataclass(frozen=True, slots=True)
class Hose:
    """A kind of hose; count is how many there are of it, None for enough."""

    name: str
    pipe: Pipe
    length_m: float
    rise_m: float = 0.0
    count: int | None = None
    fittings: tuple[tuple[Fitting, int], ...] = ()
    devices: tuple[Device, ...] = ()


class WaterDuty(NamedTuple):
    """What a water heater heats: flow [m3/s], inlet [K], efficiency on gross heat [-], and the pipe to the tap [m]."""

    flow_m3_s: float
    inlet_k: float
    efficiency: float
    bore_m: float | None = None
    length_m: float | None = None


class Appliance(NamedTuple):
    """An appliance: fixed at the end of a run (`at`), or plugged into one of `plugs_into` with one of `hoses`.

    Attributes
    ----------
    name : str
        The appliance's.
    input_w : float
        Gross heat input [W].
    flow_kg_s : float
        The gas it takes at that input [kg/s].
    at : str or None
        The run at whose end it is fixed, None where it is portable.
    plugs_into : tuple of str
        The names of the outlets that it fits.
    hoses : tuple of str
        The names of the kinds of hose that may carry it, empty for none needed.
    hose_known : bool
        Whether the job says which hose carries it, or that none is needed; True where it is fixed.
    min_gauge_pa : float
        The least pressure it works at [Pa gauge], 0 where not given.
    max_gauge_pa : float or None
        The greatest inlet pressure it may have [Pa gauge], None where not given.
    used : str or None
        Where it is used: the name of a space, `inside` the only one, `outside`; None where the job does not say.
    smallest_burner_kg_s : float or None
        The gas that its smallest burner takes [kg/s], None where not given.
    never_full : bool
        Whether it is meant that no state has it on in full.
    room_sealed : bool
        Whether it takes its air from outside the space.
    heats : WaterDuty or None
        What a water heater heats.
    like : str or None
        The catalogue entry whose rate it has, if it was given so.
    basis_known : bool
        Whether it is clear that the input is gross; counted as gross where it is not.
    """

    name: str
    input_w: float
    flow_kg_s: float
    at: str | None = None
    plugs_into: tuple[str, ...] = ()
    hoses: tuple[str, ...] = ()
    hose_known: bool = True
    min_gauge_pa: float = 0.0
    max_gauge_pa: float | None = None
    never_full: bool = False
    room_sealed: bool = False
    heats: WaterDuty | None = None
    like: str | None = None
    smallest_burner_kg_s: float | None = None
    used: str | None = None
    basis_known: bool = True

    @property
    def place_count(self) -> int:
        """How many places it may be plugged in in, every outlet with every hose; none where it is fixed."""
        return len(self.plugs_into) * max(1, len(self.hoses))


class State(NamedTuple):
    """What is on together.

    Attributes
    ----------
    name : str
        The state's.
    shares : tuple of tuple of str and float
        The share of its input at which each appliance burns [-].
    on_s : float or None
        How long it is on in one go [s], None where the job does not say.
    every_s : float or None
        From one start to the next [s], None where the job does not say.
    """

    name: str
    shares: tuple[tuple[str, float], ...]
    on_s: float | None = None
    every_s: float | None = None


class Job(NamedTuple):
    """A whole job. Runs stand so that each comes after the one it starts from."""

    file: str
    title: str
    ref: str | None
    gas: Gas
    vapour: Vapour
    temperature_k: float
    altitude_m: float
    atmospheric_pa: float
    air_density_kg_m3: float
    rule: Rule | None
    allowed_drop_pa: float
    formula: str
    regulator: Regulator
    runs: tuple[Run, ...]
    outlets: tuple[Outlet, ...]
    hoses: tuple[Hose, ...]
    appliances: tuple[Appliance, ...]
    states: tuple[State, ...]
    cylinders: Cylinders | None = None
    spaces: tuple[Space, ...] = ()
    display: Display = METRIC
    has_own_limit: bool = False  # whether the allowed drop is the job's own, not that of its rule
    tolerances: Tolerances | None = None  # None where the job is to be computed as drawn only
    site_range: SiteRange | None = None  # None where nothing is given as a range
    uphill: Uphill | None = None
    bottle_gas: Gas | None = None  # what the bottles are filled with, where it is not of the same make-up as the vapour
    gas_is_said: bool = True  # whether a mixture is said to be the liquid or the vapour
    particulars: Particulars = NONE_GIVEN  # who, for whom and on what: no figure depends on it
    water: WaterSide | None = None  # None where it says nothing of the water side
    asked: tuple[str, ...] = ()  # what was asked beside the file, a line each; empty for the file as it stands

    @property
    def filled_with(self) -> Gas:
        """What the bottles are filled with."""
        return self.bottle_gas or self.gas


def decided(job: Job) -> Job:
    """Return a job in which every run has one size.

    Parameters
    ----------
    job : Job
        Any job.

    Returns
    -------
    Job
        The same.

    Raises
    ------
    ValueError
        If a run leaves its size open.
    """
    for run in job.runs:
        if len(run.pipes) != 1:
            raise ValueError(f"run {run.name} leaves its size open")
    return job
