"""What is merely odd: each warning appears, in full, where it should, and not where it should not."""

from drawbar.checking.check import check_job
from drawbar.physics.cylinder import liquid_in, steady_offtake
from jobs import job_from

PLAIN = """\
job: t
gas: propane
site: {temperature: 15 degC, altitude: 0 m}
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 100 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 1.5 m}
  leg:  {from: main, pipe: as1432-b/12.70, length: 1 m}
outlets:
  bay: {at: main}
hoses:
  hose: {pipe: hose/10, length: 1 m}
appliances:
  fryer: {at: leg, input: 40 MJ/h}
  urn:   {plugs-into: bay, hose: hose, input: 20 MJ/h}
"""
STAGED = """\
job: t
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 140 kPa, capacity: 100 MJ/h}
runs:
  feed:  {from: regulator, pipe: as1432-b/7.94, length: 1 m}
  van:   {from: feed, pipe: as1432-b/12.70, length: 1 m,
          regulator: {inlet-min: 50 kPa, outlet: 2.75 kPa, capacity: 90 MJ/h}}
  store: {from: feed, pipe: as1432-b/12.70, length: 1 m, regulator: {inlet-min: 50 kPa, outlet: 2.75 kPa}}
appliances:
  fryer:  {at: van, input: 40 MJ/h}
  heater: {at: store, input: 20 MJ/h}
"""


def warnings(text: str = PLAIN, *changes: tuple[str, str], formula: str | None = None) -> list[str]:
    """Return the warnings of a text with some changes made in it."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return list(check_job(job_from(text), formula).warnings)


def test_nothing_is_odd_about_a_plain_job() -> None:
    """Neither in one stage nor in two."""
    assert warnings(PLAIN) == []
    assert warnings(STAGED) == []


def test_a_limit_wider_than_the_rule_s() -> None:
    """A job may allow less than its rule, or as much; more is told. Without a rule there is nothing to be told."""
    rule = "rule: as-nzs-5601.2"
    said = ["the allowed drop of 0.3 kPa is more than the 0.25 kPa of as-nzs-5601.2"]
    assert warnings(PLAIN, (rule, rule + "\nlimits: {drop: 0.3 kPa}")) == said
    assert warnings(PLAIN, (rule, rule + "\nlimits: {drop: 0.25 kPa}")) == []
    assert warnings(PLAIN, (rule, rule + "\nlimits: {drop: 2.5 mbar}")) == []
    assert warnings(PLAIN, (rule, rule + "\nlimits: {drop: 0.2 kPa}")) == []
    assert warnings(PLAIN, (rule, "limits: {drop: 0.3 kPa}")) == []


def test_a_regulator_set_unlike_the_rule_s_nominal() -> None:
    """A tenth from the nominal pressure is let pass, more is told, above or below."""
    outlet = "{outlet: 2.75 kPa, capacity: 100 MJ/h}"
    for set_to in ("3.02 kPa", "2.48 kPa"):
        assert warnings(PLAIN, (outlet, f"{{outlet: {set_to}}}")) == []
    for set_to in ("3.03 kPa", "2.47 kPa"):
        assert warnings(PLAIN, (outlet, f"{{outlet: {set_to}}}")) == [
            f"the regulator is set to {set_to}, unlike the nominal 2.75 kPa of as-nzs-5601.2"
        ]
    assert warnings(PLAIN, (outlet, "{outlet: 3.7 kPa}"), ("rule: as-nzs-5601.2", "limits: {drop: 0.25 kPa}")) == []


def test_the_nominal_pressure_goes_by_the_gas() -> None:
    """Where the rule has one for each gas, that of the gas most of it is counts."""
    rule, gas, outlet = "rule: as-nzs-5601.2", "gas: propane", "{outlet: 2.75 kPa, capacity: 100 MJ/h}"
    uk = (rule, "rule: bs-6891-lpg")
    assert warnings(PLAIN, uk, (outlet, "{outlet: 37 mbar}")) == []
    assert warnings(PLAIN, uk, (outlet, "{outlet: 28 mbar}")) == [
        "the regulator is set to 2.8 kPa, unlike the nominal 3.7 kPa of bs-6891-lpg"
    ]
    assert warnings(PLAIN, uk, (gas, "gas: n-butane"), (outlet, "{outlet: 28 mbar}")) == []
    mostly_butane = (gas, "gas: {propane: 30 %, n-butane: 70 %}")
    assert warnings(PLAIN, uk, mostly_butane, (outlet, "{outlet: 28 mbar}")) == []
    assert warnings(PLAIN, uk, mostly_butane, (outlet, "{outlet: 37 mbar}")) == [
        "the regulator is set to 3.7 kPa, unlike the nominal 2.8 kPa of bs-6891-lpg"
    ]


def test_only_the_stages_that_appliances_hang_on_have_a_nominal_pressure() -> None:
    """A second stage set high is told; a first stage, or one between, is not, unless something burns on it."""
    store = "{inlet-min: 50 kPa, outlet: 2.75 kPa}"
    assert warnings(STAGED, (store, "{inlet-min: 50 kPa, outlet: 3.7 kPa}")) == [
        "the regulator of run store is set to 3.7 kPa, unlike the nominal 2.75 kPa of as-nzs-5601.2"
    ]
    between = ("length: 1 m}\n  van:", "length: 1 m, regulator: {inlet-min: 90 kPa, outlet: 70 kPa}}\n  van:")
    assert warnings(STAGED, between) == []
    assert warnings(STAGED, ("heater: {at: store", "heater: {at: feed"), ("  store:", "  spare:"), (
        "appliances:", "outlets: {bay: {at: spare}}\nappliances:"
    )) == ["the regulator is set to 140 kPa, unlike the nominal 2.75 kPa of as-nzs-5601.2"]  # fmt: skip


def test_a_gas_that_would_be_a_liquid() -> None:
    """The dew point at the site's temperature, as the gas stands in the first regulator's outlet."""
    cold, butane = "temperature: 15 degC", ("gas: propane", "gas: n-butane")
    # CoolProp 8.0.0: n-butane's vapour pressure is 103.2 kPa at 0 degC, 107.2 at 1, 92.0 at -3 and 176.1 at 15.
    assert warnings(PLAIN, (cold, "temperature: 1 degC"), butane) == []
    assert warnings(PLAIN, (cold, "temperature: 0 degC"), butane) == [
        "at 0 degC the gas condenses above 2 kPa: it would not stay a gas at the regulator's 2.75 kPa"
    ]
    assert warnings(PLAIN, (cold, "temperature: -3 degC"), butane) == [
        "at -3 degC the gas condenses above -9 kPa: it would not stay a gas at the regulator's 2.75 kPa"
    ]
    assert warnings(PLAIN, (cold, "temperature: -40 degC")) == []
    assert warnings(STAGED, butane, ("outlet: 140 kPa", "outlet: 85 kPa")) == [
        "at 15 degC the gas condenses above 75 kPa: it would not stay a gas at the regulator's 85 kPa"
    ]
    assert warnings(STAGED, butane, ("outlet: 140 kPa", "outlet: 70 kPa")) == []


def test_a_site_outside_the_gas_data() -> None:
    """No job file has such a site; a job made otherwise may, and is told so in place of the dew point."""
    job = job_from(PLAIN)
    for temperature_k in (184.0, 371.0):
        assert check_job(job._replace(temperature_k=temperature_k)).warnings == (
            "the gas data reach from -88 to 97 degC; the site is outside that",
        )


def test_a_run_larger_than_the_one_that_feeds_it() -> None:
    """A run that is larger is told, the same size is not; behind a regulator of its own a run may be larger."""
    small = ("main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/9.52")
    assert warnings(PLAIN, small) == ["run leg (bore 10.88 mm) is larger than main (bore 7.70 mm) that feeds it"]
    same = ("main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/12.70")
    assert warnings(PLAIN, same) == []
    assert "12.70" in STAGED  # after a feed of 7.94: nothing was told of it above


def test_a_pipe_that_cannot_pass_its_load() -> None:
    """Choked flow is told once for the part, and no speed is given for it."""
    leg = ("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 1.5 mm}, length: 1 m")
    assert warnings(PLAIN, leg) == [
        "leg can't pass its load at any pressure: the figures behind it are a floor, not a forecast"
    ]


def test_a_speed_that_may_be_heard() -> None:
    """Over 15 m/s in a run or a hose, the fastest of all states; at 15 m/s and below nothing is told."""

    # 40 MJ/h of propane at 101.325 + 2.7 kPa and 15 degC is 2.208e-4 kg/s of 1.951 kg/m3; in a bore d it runs at
    # 1.441e-4 / d2 m/s (d in m).
    def leg(bore_mm: float) -> list[str]:
        return warnings(PLAIN, ("pipe: as1432-b/12.70, length: 1 m", f"pipe: {{bore: {bore_mm} mm}}, length: 0.05 m"))

    assert leg(3.15) == []  # 14.5 m/s
    assert leg(3.0) == ["leg runs at 16 m/s; over 15 m/s a small line may be heard"]
    half = "states: {low: {fryer: 50 %}, high: {fryer: 100 %, urn: 100 %}}\n"
    assert warnings(PLAIN + half, ("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 3 mm}, length: 0.05 m")) == [
        "leg runs at 16 m/s; over 15 m/s a small line may be heard"
    ]
    hose = ("pipe: hose/10, length: 1 m", "pipe: {bore: 2 mm}, length: 0.02 m")
    assert warnings(PLAIN, hose) == ["hose runs at 18 m/s; over 15 m/s a small line may be heard"]


def test_an_appliance_that_no_state_has_on() -> None:
    """It is checked nowhere, so a page that passes says nothing of it; at a share of 0 % it is not on either."""
    warned = ["no state has it on, so it is not checked: urn"]
    assert warnings(PLAIN + "states: {one: [fryer]}\n") == warned
    assert warnings(PLAIN + "states: {one: {fryer: 100 %, urn: 0 %}}\n") == warned
    assert warnings(PLAIN + "states: {one: [fryer], two: [urn]}\n") == []


def test_a_formula_outside_its_range() -> None:
    """The first three parts that are outside are named, the rest counted; darcy holds for all of these."""
    (warned,) = warnings(PLAIN, formula="pole")
    # Re = 4 m / (pi d mu): 0.2206 g/s for 40 MJ/h, mu 7.95 uPa s, bores 13.84, 10.88 and 10 mm.
    said = "the formula is for turbulent flow; the Reynolds number is"
    assert warned == (
        f"the pole formula is outside its range: main: {said} 3833, below 4000; leg: {said} 3250, below 4000; "
        f"hose: {said} 1768, below 4000"
    )
    legs = "".join(f"  leg-{n}: {{from: main, pipe: as1432-b/12.70, length: 1 m}}\n" for n in range(3))
    pilots = "".join(f"  pilot-{n}: {{at: leg-{n}, input: 1 MJ/h}}\n" for n in range(3))
    (warned,) = warnings(PLAIN + pilots, ("outlets:\n", legs + "outlets:\n"), formula="renouard")
    assert warned == (
        f"the renouard formula is outside its range: leg: {said} 3250, below 4000; "
        f"leg-0: {said} 81, below 4000; leg-1: {said} 81, below 4000; and 2 more"
    )
    assert warnings(PLAIN, formula="darcy") == []


def test_a_regulator_over_its_capacity() -> None:
    """The load is held against the rated capacity, of the first regulator and of a second stage, once for each."""
    rated = "capacity: 100 MJ/h"
    assert warnings(PLAIN, (rated, "capacity: 60 MJ/h")) == []
    assert warnings(PLAIN, (rated, "capacity: 59 MJ/h")) == [
        "in state all on the regulator is to pass 60 MJ/h of a rated 59 MJ/h"
    ]
    states = "states:\n  some: {fryer: 100 %, urn: 50 %}\n  all: [fryer, urn]\n  few: [urn]\n"
    assert warnings(PLAIN + states, (rated, "capacity: 45 MJ/h")) == [
        "in state all the regulator is to pass 60 MJ/h of a rated 45 MJ/h"
    ]
    assert warnings(PLAIN + states, (rated, "capacity: 55 MJ/h")) == [
        "in state all the regulator is to pass 60 MJ/h of a rated 55 MJ/h"
    ]
    second = ("capacity: 90 MJ/h", "capacity: 35 MJ/h")
    assert warnings(STAGED, second) == [
        "in state all on the regulator of run van is to pass 40 MJ/h of a rated 35 MJ/h"
    ]
    assert warnings(STAGED, second, (rated, "capacity: 50 MJ/h")) == [
        "in state all on the regulator is to pass 60 MJ/h of a rated 50 MJ/h",
        "in state all on the regulator of run van is to pass 40 MJ/h of a rated 35 MJ/h",
    ]
    assert warnings(PLAIN, (", capacity: 100 MJ/h", "")) == []


def test_bottles_that_give_less_than_the_load() -> None:
    """Small cold bottles are told with what they give for long; large warm ones, or enough of them, are not."""
    weak = "cylinders: {size: 5 kg, count: 2, fill: 25 %, ambient: 0 degC}\n"
    job = job_from(PLAIN + weak)
    bottles = job.cylinders
    assert bottles is not None
    liquid = liquid_in(job.gas, bottles.size_kg, bottles.fill, bottles.ambient_k)
    least_abs_pa = bottles.least_gauge_pa + job.atmospheric_pa
    one_w = steady_offtake(bottles.bottle, liquid, bottles.ambient_k, least_abs_pa).gross_w
    full = "for long, 25 % full at 0 degC (see `drawbar supply`)"
    assert warnings(PLAIN + weak) == [
        f"in state all on the load is 60 MJ/h; the bottle that is drawn from gives {one_w * 0.0036:.3g} MJ/h {full}"
    ]
    both = weak.replace("count: 2", "count: 2, drawing: 2")
    assert warnings(PLAIN + both) == [
        "in state all on the load is 60 MJ/h; the 2 bottles that are drawn from give "
        f"{2 * one_w * 0.0036:.3g} MJ/h {full}"
    ]
    assert warnings(PLAIN + "cylinders: {size: 45 kg, count: 4, drawing: 4, fill: 100 %, ambient: 20 degC}\n") == []
