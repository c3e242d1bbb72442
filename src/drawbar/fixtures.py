"""What a job is fitted with, as plain values: pipe, fittings, devices, bottles, spaces. `drawbar.job` has them all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from drawbar.physics.cylinder import Bottle
    from drawbar.rules import TypicalDrop


class Pipe(NamedTuple):
    """One size of one family, or a pipe of the user's own.

    Attributes
    ----------
    label : str
        `family/size`, or the bore for a pipe of the user's own.
    bore_m : float
        Inside diameter [m].
    roughness_m : float
        Roughness of the wall [m].
    mass_kg_m : float or None
        Mass per metre [kg/m], None where it is not known.
    source : str
        Where its figures stand.
    bore_tolerance_m : float
        How much smaller its bore may be than `bore_m` [m].
    tolerance_source : str
        Where that stands, or what standing it has.
    """

    label: str
    bore_m: float
    roughness_m: float
    mass_kg_m: float | None
    source: str
    bore_tolerance_m: float = 0.0
    tolerance_source: str = ""


class Fitting(NamedTuple):
    """A kind of fitting: its equivalent length is ratio x bore.

    Attributes
    ----------
    name : str
        Its name in the catalogue.
    ratio : float
        Equivalent length by bore, L/D [-].
    source : str
        Where the ratio stands.
    ends : int
        How many pipe ends it takes; 0 where it is formed in the pipe.
    part : str
        What it is bought as, its own name if empty.
    way : str or None
        `side` or `straight` for a tee, by the way the gas takes through it.
    """

    name: str
    ratio: float
    source: str
    ends: int = 2
    part: str = ""
    way: str | None = None


class Device(NamedTuple):
    """A part with a maker's figure: its drop goes with the square of the mass flow.

    Attributes
    ----------
    name : str
        What it is.
    flow_kg_s : float
        The flow of the figure [kg/s].
    drop_pa : float
        The drop at that flow [Pa]; 0 where it is not known.
    is_known : bool
        Whether the job says what it takes.
    like : str or None
        The catalogue's device whose typical drop it has, the worse end of the range; None for a figure of its own.
    typical : TypicalDrop or None
        What such a device typically takes, where its own drop is not known and the catalogue has one of its name.
    at_gauge_pa : float or None
        The pressure that the figure is for, at 15 degC and the sea [Pa gauge]; None for that of the stage it stands in.
    """

    name: str
    flow_kg_s: float
    drop_pa: float
    is_known: bool = True
    like: str | None = None
    typical: TypicalDrop | None = None
    at_gauge_pa: float | None = None

    @property
    def pa_per_flow2(self) -> float:
        """Drop over mass flow squared [Pa s2/kg2]."""
        return self.drop_pa / self.flow_kg_s**2


class OfftakeFit(NamedTuple):
    """What a bottle's continuous offtake was fitted to, and what a second published table says.

    Attributes
    ----------
    left_kg : tuple of float
        Least and most of the gas left in the bottle of the fitted table [kg].
    air_k : tuple of float
        Least and most of the temperature of the air in it [K].
    share : float
        How far the cells of the table are from the fit, a share [-].
    beyond : str
        What is known of bottles with less in them.
    trade_bottle_kg, trade_kg_s : float or None
        The nearest bottle of the second table that is no larger [kg], and what it gives without a break, in the cold
        and with little left in it [kg/s]; None where all of the table are larger.
    trade_source : str
        Where the second table stands.
    """

    left_kg: tuple[float, float]
    air_k: tuple[float, float]
    share: float
    beyond: str
    trade_bottle_kg: float | None
    trade_kg_s: float | None
    trade_source: str


@dataclass(frozen=True, slots=True)
class Cylinders:
    """The bottles that the line is fed from.

    Attributes
    ----------
    size_kg : float
        Gas in a full one [kg].
    count, drawing : int
        How many there are, and how many are drawn from at once.
    fill : float
        How full they are, by mass [-].
    ambient_k : float
        Temperature of the air around them [K].
    bottle : Bottle
        A single one, and how heat gets in.
    name : str or None
        The usual size it is, None for one of the user's own.
    source : str
        Where its dimensions stand.
    least_gauge_pa : float
        Lowest pressure in it that the first regulator works at [Pa gauge].
    least_source : str
        Where that pressure stands.
    heat_source : str
        Where the heat through its wall stands.
    fit : OfftakeFit or None
        What its continuous offtake goes by.
    has_changeover : bool
        Whether they stand on two sides of which one is drawn from at a time.
    pigtail : Device or None
        What is between a bottle and the first regulator, None where nothing is told of it.
    """

    size_kg: float
    count: int
    drawing: int
    fill: float
    ambient_k: float
    bottle: Bottle
    name: str | None
    source: str
    least_gauge_pa: float
    least_source: str
    heat_source: str
    fit: OfftakeFit | None = None
    has_changeover: bool = False
    pigtail: Device | None = None

    @property
    def most_at_once(self) -> int:
        """From how many gas can be drawn at once: those of one side where there is a changeover."""
        return self.count // 2 if self.has_changeover else self.count


class Space(NamedTuple):
    """A living space, or the locker of the bottles.

    Attributes
    ----------
    berths : int
        How many sleep there.
    vents_m2 : float
        The free area of its vents, high and low together [m2].
    name : str
        Its own; empty for the only one.
    high_m2, low_m2 : float or None
        What of the vents is at high and at low level [m2]; None where the job does not say.
    floor_m2 : float or None
        Of its floor [m2], None where the job does not say.
    holds_bottles : bool
        Whether it is a locker that bottles stand in.
    drain_m2 : float or None
        Free area of the openings at the lowest point of a locker [m2], None where the job does not say.
    """

    berths: int
    vents_m2: float
    name: str = ""
    high_m2: float | None = None
    low_m2: float | None = None
    floor_m2: float | None = None
    holds_bottles: bool = False
    drain_m2: float | None = None
