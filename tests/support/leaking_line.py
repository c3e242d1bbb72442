"""A closed line that leaks while its temperature and the weather change: what a manometer on it shows, step by step."""

from dataclasses import dataclass

GAS_CONSTANT_J_MOL_K = 8.314462618  # CODATA 2018


@dataclass(frozen=True)
class LeakingLine:
    """A line of one volume with a leak that is a hairline: its flow goes with the gauge pressure (Hagen-Poiseuille).

    Temperature and the air's pressure change evenly in time.
    """

    volume_m3: float
    fall_pa_s: float
    """How fast it falls at the first pressure, at one temperature, from the leak alone."""
    start_k: float
    k_s: float = 0.0
    air_pa: float = 101_325.0
    air_pa_s: float = 0.0

    def gauge_pa(self, start_gauge_pa: float, time_s: float, steps: int = 400) -> float:
        """Return the gauge pressure after a time, by the ideal gas law on what is left in the line."""
        moles = (start_gauge_pa + self.air_pa) * self.volume_m3 / (GAS_CONSTANT_J_MOL_K * self.start_k)
        lost_mol_s_pa = (
            self.fall_pa_s * self.volume_m3 / (GAS_CONSTANT_J_MOL_K * self.start_k) / start_gauge_pa
        )  # for each pascal of gauge pressure
        step_s = time_s / steps
        gauge_pa = start_gauge_pa
        for step in range(1, steps + 1):
            moles -= lost_mol_s_pa * max(0.0, gauge_pa) * step_s
            now_s = step * step_s
            abs_pa = moles * GAS_CONSTANT_J_MOL_K * (self.start_k + self.k_s * now_s) / self.volume_m3
            gauge_pa = abs_pa - self.air_pa - self.air_pa_s * now_s
        return gauge_pa


def on_steps(pa: float, step_pa: float) -> float:
    """Return what a manometer of that step shows of a pressure."""
    return round(pa / step_pa) * step_pa
