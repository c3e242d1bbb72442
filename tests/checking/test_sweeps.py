"""Altitude, temperature and mixture swept, against an independent solution with CoolProp's gas.

The line is solved by tests/support/true_line.py: Darcy's equation with `fluids` friction, down the tree by recursion.
Its gas is CoolProp's: density of the pure gas or of its mixture model, viscosity of the pure gases by its reference
equations, mixed by Wilke's rule as `chemicals` has it. Heats of combustion are the project's (ISO 6976).
"""

import CoolProp
from chemicals.viscosity import Wilke
from CoolProp.CoolProp import PropsSI

from drawbar.checking.check import check_job
from drawbar.physics.air import air_density_kg_m3, standard_atmosphere_pa
from jobs import job_from
from true_line import least_by_appliance

FLUIDS = {"propane": "Propane", "n-butane": "n-Butane"}
JOB = """job: Swept line
gas: {gas}
site: {{temperature: {celsius} degC, altitude: {altitude} m}}
limits: {{drop: 1 kPa}}
tolerances: none
regulator: {{outlet: 2.75 kPa, capacity: 300 MJ/h}}
runs:
  main:  {{from: regulator, pipe: as1432-b/15.88, length: 4 m, rise: -0.4 m, fittings: {{elbow-90: 3}}}}
  side:  {{from: main, pipe: as1432-b/12.70, length: 2 m, rise: 0.9 m, fittings: {{tee-branch: 1}},
          devices: [{{name: valve, flow: 100 MJ/h, drop: 50 Pa}}]}}
  small: {{from: main, pipe: as1432-b/9.52, length: 2.5 m, fittings: {{tee-through: 1}}}}
appliances:
  oven:   {{at: side, input: 60 MJ/h}}
  hob:    {{at: small, input: 25 MJ/h}}
"""


class CoolPropVapour:
    """What the independent solution asks of a gas: its density and its viscosity, by CoolProp."""

    def __init__(self, fractions, temperature_k):
        self.state = CoolProp.AbstractState("HEOS", "&".join(FLUIDS[name] for name, _ in fractions))
        if len(fractions) > 1:
            self.state.set_mole_fractions([share for _, share in fractions])
        self.state.specify_phase(CoolProp.iphase_gas)
        self.temperature_k = temperature_k
        # Where each pure gas is a gas for sure: far below its vapour pressure, where viscosity is 0.2 % higher.
        pure_pa_s = [PropsSI("V", "T", temperature_k, "P", 1e3, FLUIDS[name]) for name, _ in fractions]
        masses = [1e3 * PropsSI("M", FLUIDS[name]) for name, _ in fractions]
        shares = [share for _, share in fractions]
        self.viscosity_pa_s = Wilke(shares, pure_pa_s, masses) if len(shares) > 1 else pure_pa_s[0]

    def density_kg_m3(self, abs_pa):
        """Return the density at a pressure [kg/m3]."""
        self.state.update(CoolProp.PT_INPUTS, abs_pa, self.temperature_k)
        return self.state.rhomass()


class CoolPropGas:
    """A gas of which there is a vapour at each temperature, as the solution asks for it."""

    def __init__(self, fractions):
        self.fractions = fractions

    def vapour(self, temperature_k):
        """Return the vapour at a temperature [K]."""
        return CoolPropVapour(self.fractions, temperature_k)


def worst_difference(gas_text, fractions, celsius, altitude_m):
    """Return the largest difference of a drop, as a share of it."""
    job = job_from(JOB.format(gas=gas_text, celsius=celsius, altitude=altitude_m))
    (state,) = check_job(job).states
    drops = {appliance.name: appliance.drop_pa for appliance in state.appliances}
    atmospheric_pa, temperature_k = standard_atmosphere_pa(altitude_m), celsius + 273.15
    gas = CoolPropGas(fractions)
    theirs = job._replace(
        gas=gas,
        vapour=gas.vapour(temperature_k),
        atmospheric_pa=atmospheric_pa,
        air_density_kg_m3=air_density_kg_m3(atmospheric_pa, temperature_k),
    )
    hand = {name: 1000.0 - margin for name, margin in least_by_appliance(theirs).items()}
    assert hand.keys() == drops.keys() == {"oven", "hob"}
    return max(abs(drops[name] / hand[name] - 1.0) for name in drops)


def test_altitude_swept(capsys):
    """0 to 4000 m at 15 degC, propane: 0.5 % of each drop."""
    worst = {m: worst_difference("propane", [("propane", 1.0)], 15, m) for m in range(0, 4001, 500)}
    with capsys.disabled():
        print(f"\naltitude: worst difference {max(worst.values()):.3%} at {max(worst, key=worst.get)} m")
    assert max(worst.values()) < 0.005


def test_temperature_swept(capsys):
    """-30 to 50 degC at the sea, propane: 0.5 % of each drop."""
    worst = {c: worst_difference("propane", [("propane", 1.0)], c, 0) for c in range(-30, 51, 10)}
    with capsys.disabled():
        print(f"\ntemperature: worst difference {max(worst.values()):.3%} at {max(worst, key=worst.get)} degC")
    assert max(worst.values()) < 0.005


def test_mixture_swept(capsys):
    """0 to 100 % n-butane at 15 degC and the sea: 0.5 % of each drop."""
    worst = {}
    for butane in range(0, 101, 10):
        fractions = [("propane", 1.0 - butane / 100.0), ("n-butane", butane / 100.0)]
        fractions = [(name, share) for name, share in fractions if share > 0.0]
        pure = fractions[0][0] if len(fractions) == 1 else ""
        text = pure or f"{{propane: {100 - butane} %, n-butane: {butane} %, of: vapour}}"
        worst[butane] = worst_difference(text, fractions, 15, 0)
    with capsys.disabled():
        print(f"\nmixture: worst difference {max(worst.values()):.3%} at {max(worst, key=worst.get)} % n-butane")
    assert max(worst.values()) < 0.005
