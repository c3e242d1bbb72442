"""What rules and standards say, as plain values: the allowed drop, vents, the tightness test, tolerances."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.ifgc import IFGC_DENSITY_RATIO

if TYPE_CHECKING:
    from drawbar.physics.gas import Vapour


class VentFormula(NamedTuple):
    """The least free area of the vents of a living space by a rule set: max(least, heat part + berths part).

    Attributes
    ----------
    least_m2 : float
        However little burns [m2].
    m2_per_w : float
        For each watt of the appliances that are not room-sealed [m2/W].
    berth_m2 : float
        For each berth [m2].
    source : str
        Where it stands.
    levels_source : str or None
        Where it stands that there must be vents at high and at low level; None where the rule does not ask for both.
    """

    least_m2: float
    m2_per_w: float
    berth_m2: float
    source: str
    levels_source: str | None = None


class FloorVents(NamedTuple):
    """The vents of a living space by its floor, at high and at low level.

    Attributes
    ----------
    rows : tuple of tuple of float
        Largest floor that the row is for, free area at high and at low level [m2]; the smallest floor first.
    sealed_rows : tuple of tuple of float
        The same where every appliance is room-sealed.
    source : str
        Where they stand.
    """

    rows: tuple[tuple[float, float, float], ...]
    sealed_rows: tuple[tuple[float, float, float], ...]
    source: str


class LockerFormula(NamedTuple):
    """The openings of a bottle locker: at its lowest point max(least, floor part, bottles part), and at high level.

    Attributes
    ----------
    least_m2 : float
        At the lowest point, whatever the locker [m2].
    per_floor : float
        At the lowest point, of its floor, a share [-].
    low_m2_per_kg, high_m2_per_kg : float
        At the lowest point and at high level, for each kg of gas that its bottles hold [m2/kg].
    source : str
        Where it stands.
    """

    least_m2: float
    per_floor: float
    low_m2_per_kg: float
    high_m2_per_kg: float
    source: str


class CodeMethod(NamedTuple):
    """The formula that a code's tables were made with, and the gas that they count with.

    Attributes
    ----------
    formula : str
        Name of the pressure-drop formula.
    gas : str
        The pure gas that it is for.
    relative_density : float
        Of the gas to air [-].
    viscosity_pa_s : float
        Of the gas [Pa s].
    temperature_k : float
        Of the gas [K].
    gross_j_m3 : float
        Gross heat in a cubic metre at 60 degF and 30 inHg [J/m3].
    capacity : float
        Share of what the formula lets pass that the printed capacities let pass [-].
    source : str
        Where it stands.
    """

    formula: str
    gas: str
    relative_density: float
    viscosity_pa_s: float
    temperature_k: float
    gross_j_m3: float
    capacity: float
    source: str

    def vapour(self, real: Vapour) -> Vapour:
        """Return the gas as the code's tables count it, no denser than the gas of a warm site.

        A mass flow of the real gas is the volume that the code has for the same heat, the more the less its tables let
        pass.
        """
        density_kg_m3 = self.gross_j_m3 * self.capacity / real.gross_j_kg / IFGC_DENSITY_RATIO
        return real._replace(
            relative_density=self.relative_density,
            viscosity_pa_s=self.viscosity_pa_s,
            temperature_k=max(self.temperature_k, real.temperature_k),
            reference_density_kg_m3=density_kg_m3,
        )


class Rule(NamedTuple):
    """A rule set: the allowed drop [Pa], the nominal pressure by gas [Pa gauge], and where it stands.

    `drop_pa` is None where no source gives the drop: then `no_drop` says why, and a job must have limits of its own.
    `vents` is None where the rule set has no formula for the vents of a living space by heat, `floor_vents` none by
    floor, `locker` none for a bottle locker, `method` where its code leaves formula and gas open, `hot_water` where no
    limit on hot water goes with it.
    """

    name: str
    title: str
    source: str
    drop_pa: float | None
    nominal_gauge_pa: tuple[tuple[str, float], ...]
    caution: str
    vents: VentFormula | None = None
    method: CodeMethod | None = None
    asks_basis: bool = False  # whether data plates under it give kW net as often as gross
    hot_water: HotLimit | None = None
    no_drop: str | None = None
    floor_vents: FloorVents | None = None
    locker: LockerFormula | None = None


class TightnessTest(NamedTuple):
    """The figures of a tightness test and where they stand.

    Attributes
    ----------
    name, title, source : str
        Its name in the catalogue, what it is, and where its figures stand.
    medium : str
        What the line is filled with.
    pressure_gauge_pa : float
        Test pressure [Pa gauge].
    allowed_fall_pa : float
        The fall that is allowed [Pa].
    settle_s, hold_s : float or None
        Time to settle and time of the test [s], None where the source gives none.
    volume_min_m3 : float or None
        Least volume under test [m3], None for any.
    note, caution : str or None
        What goes with it.
    """

    name: str
    title: str
    source: str
    medium: str
    pressure_gauge_pa: float
    allowed_fall_pa: float
    settle_s: float | None = None
    hold_s: float | None = None
    volume_min_m3: float | None = None
    note: str | None = None
    caution: str | None = None


class Tolerances(NamedTuple):
    """How far the line as built may be from the line as drawn.

    That of a bore stands with its pipe, that of a set pressure with its regulator.

    Attributes
    ----------
    length, length_m : float
        Of a run or hose: the larger of a share of its length [-] and a length [m].
    fittings : float
        Of the equivalent length of fittings, a share [-].
    input : float
        Of an appliance's input, a share [-].
    devices : float
        Of a device's drop, a share [-].
    caliper_m : float
        Of a bore that was measured [m].
    own_bore : float
        Of a bore that the job gives and that was not measured, a share [-].
    sources : tuple of tuple of str and str
        By name of the tolerance, where it stands or what standing it has.
    pump : float
        Of the flow and the pressure of a water pump, a share [-].
    """

    length: float
    length_m: float
    fittings: float
    input: float
    devices: float
    caliper_m: float
    own_bore: float
    sources: tuple[tuple[str, str], ...]
    pump: float = 0.0


class HotLimit(NamedTuple):
    """The hottest water that may reach a basin, bath or shower [K], and where that stands."""

    most_k: float
    source: str


class TypicalDrop(NamedTuple):
    """What a device of the catalogue typically takes at a flow: from low_pa to high_pa [Pa] at flow_kg_s [kg/s]."""

    name: str
    flow_kg_s: float
    low_pa: float
    high_pa: float
