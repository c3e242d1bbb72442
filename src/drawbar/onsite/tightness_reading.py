"""Two readings of a manometer on a closed line: the fall at one temperature, how sure it is, and the leak it means."""

from __future__ import annotations

from dataclasses import dataclass

from drawbar.job import Job
from drawbar.onsite.leak import gauge_at_pa, leak_of_fall_m3_s, unseen_change_k, unseen_fall_pa, weather_fall_pa
from drawbar.onsite.line_volume import TestSection

RESOLUTION_PA = 10.0
"""What a manometer shows if nothing else is given [Pa]: about a millimetre of water. Common practice, no source."""
THERMOMETER_K = 0.5
"""How far a thermometer may be out [K]: IEC 60751 class B, 0.30 + 0.005 |t|, is no more from -40 to 40 degC."""
GAS_CHANGE_K = 0.5
"""How far the gas, along the whole line, may change from what the thermometer's place does [K]. Our own choice."""


@dataclass(frozen=True, slots=True)
class Visit:
    """How the readings were taken, as far as it was said.

    Attributes
    ----------
    temperatures_k : tuple of float or None
        Temperatures of the gas at the first and the second reading [K]; None if they were not taken.
    time_s : float or None
        Between the readings [s], None if it was not said.
    settled_s : float or None
        From filling to the first reading [s], None if it was not said.
    resolution_pa : float or None
        The step of the manometer [Pa], None if it was not said.
    thermometer_k : float
        How far each temperature may be from that of the place where it was taken [K].
    gas_change_k : float or None
        How far the gas's change of temperature may be from that of this place [K]; None for GAS_CHANGE_K with
        temperatures, for `leak.unseen_change_k` without.
    """

    temperatures_k: tuple[float, float] | None = None
    time_s: float | None = None
    settled_s: float | None = None
    resolution_pa: float | None = None
    thermometer_k: float = THERMOMETER_K
    gas_change_k: float | None = None


@dataclass(frozen=True, slots=True)
class TightnessReading:
    """Two readings of a manometer on a section, and what they mean.

    The fall is not known better than to a band either way, `band_pa`: the step of the manometer (each reading is off
    by half of it at most), the temperature, and the weather. They are added up, and so are the two errors of the
    thermometer: with two readings, one thermometer and one line nothing says that they are independent, so that the
    root of the sum of their squares would claim too much.

    Attributes
    ----------
    start_gauge_pa, end_gauge_pa : float
        As read [Pa gauge].
    start_k, end_k : float
        Temperature of the gas in the pipe at each [K].
    is_corrected : bool
        Whether the temperatures were given.
    time_s : float
        Between the readings [s].
    is_timed, is_step_known : bool
        Whether the time and the step of the manometer were said; else they are those of the test and RESOLUTION_PA.
    settled_s : float or None
        From filling to the first reading [s], None if it was not said.
    fall_pa : float
        Fall with the end put right to the start's temperature [Pa]; below 0 if the pressure rose.
    leak_m3_s : float
        What this fall means, as gas of 15 degC and 101325 Pa [m3/s].
    allowed_fall_pa : float
        The fall that the test allows [Pa].
    resolution_pa : float
        The step of the manometer [Pa].
    change_k : float
        How far the change of the gas's temperature may be from what was given, or from none [K].
    temperature_band_pa, weather_band_pa : float
        What that makes of the fall, and what the weather may, either way [Pa].
    """

    start_gauge_pa: float
    end_gauge_pa: float
    start_k: float
    end_k: float
    is_corrected: bool
    time_s: float
    is_timed: bool
    is_step_known: bool
    settled_s: float | None
    fall_pa: float
    leak_m3_s: float
    allowed_fall_pa: float
    resolution_pa: float
    change_k: float
    temperature_band_pa: float
    weather_band_pa: float

    @property
    def raw_fall_pa(self) -> float:
        """The fall as the manometer showed it [Pa]."""
        return self.start_gauge_pa - self.end_gauge_pa

    @property
    def by_temperature_pa(self) -> float:
        """What the temperatures account for of the fall [Pa], below 0 for a fall that they make."""
        return self.fall_pa - self.raw_fall_pa

    @property
    def band_pa(self) -> float:
        """How far the fall may be from `fall_pa`, either way [Pa]."""
        return self.resolution_pa + self.temperature_band_pa + self.weather_band_pa


def reading_of(  # noqa: PLR0913 - what was read, where, how, and what is allowed
    job: Job,
    section: TestSection,
    readings_gauge_pa: tuple[float, float],
    time_s: float,
    visit: Visit,
    *,
    allowed_fall_pa: float = 0.0,
) -> TightnessReading:
    """Return what two readings on a section mean.

    Parameters
    ----------
    job : Job
        The job, which says the site's temperature and the atmosphere's pressure.
    section : TestSection
        What was tested.
    readings_gauge_pa : tuple of float
        First and second reading [Pa gauge].
    time_s : float
        Between them, or that of the test where it was not said [s].
    visit : Visit
        How they were taken.
    allowed_fall_pa : float
        The fall that the test allows [Pa].

    Returns
    -------
    TightnessReading
        The fall at one temperature, its band, and the leak that it means.
    """
    start_gauge_pa, end_gauge_pa = readings_gauge_pa
    is_corrected = visit.temperatures_k is not None
    start_k, end_k = visit.temperatures_k or (job.temperature_k, job.temperature_k)
    change_k = visit.gas_change_k
    if change_k is None:
        change_k = GAS_CHANGE_K if is_corrected else unseen_change_k(time_s)
    if is_corrected:
        change_k += 2.0 * visit.thermometer_k
    fall_pa = start_gauge_pa - gauge_at_pa(end_gauge_pa, job.atmospheric_pa, end_k, start_k)
    return TightnessReading(
        start_gauge_pa=start_gauge_pa,
        end_gauge_pa=end_gauge_pa,
        start_k=start_k,
        end_k=end_k,
        is_corrected=is_corrected,
        time_s=time_s,
        is_timed=visit.time_s is not None,
        is_step_known=visit.resolution_pa is not None,
        settled_s=visit.settled_s,
        fall_pa=fall_pa,
        leak_m3_s=leak_of_fall_m3_s(section.volume_m3, fall_pa, start_k, time_s),
        allowed_fall_pa=allowed_fall_pa,
        resolution_pa=RESOLUTION_PA if visit.resolution_pa is None else visit.resolution_pa,
        change_k=change_k,
        temperature_band_pa=unseen_fall_pa(end_gauge_pa + job.atmospheric_pa, start_k, end_k, change_k),
        weather_band_pa=weather_fall_pa(time_s),
    )
