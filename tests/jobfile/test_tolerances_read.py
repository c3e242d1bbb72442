"""Ranges, tolerances, and what a job says there is none of or leaves out, as the reader has them."""

import itertools

import pytest

from drawbar.job import Device, Job
from drawbar.problems import Problems
from good_job import GOOD
from jobs import CATALOGUE, job_from

FOOT_M = 0.3048  # by definition: the international yard of 1959


def changed(*pairs: tuple[str, str], more: str = "") -> Job:
    text = GOOD
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return job_from(text + more)


# ranges


@pytest.mark.parametrize(
    ("temperature", "ends_k"),
    [
        ("-5 to 45 degC", (268.15, 318.15)),
        ("-5degC to 45 degC", (268.15, 318.15)),
        ("268.15 K to 45 degC", (268.15, 318.15)),
        ("23 to 113 °F", (268.15, 318.15)),
        ("'-5  to  45 degC'", (268.15, 318.15)),
        ("+1e1 to 1.5e1 degC", (283.15, 288.15)),
    ],
)
def test_a_range_of_temperature(temperature: str, ends_k: tuple[float, float]) -> None:
    """Both ends, the unit of the first left out or its own; between them as drawn."""
    job = changed(more=f"site: {{temperature: {temperature}}}\n")
    assert job.site_range is not None
    assert job.site_range.temperature_k == pytest.approx(ends_k)
    assert job.site_range.altitude_m == (0.0, 0.0)
    assert job.temperature_k == pytest.approx(sum(ends_k) / 2)


@pytest.mark.parametrize(
    ("altitude", "ends_m"),
    [
        ("0 to 1200 m", (0.0, 1200.0)),
        ("0 to 4e3 ft", (0.0, 4000.0 * FOOT_M)),
        ("-10 m to 4000ft", (-10.0, 4000.0 * FOOT_M)),
    ],
)
def test_a_range_of_altitude(altitude: str, ends_m: tuple[float, float]) -> None:
    """The same of a height."""
    job = changed(more=f"site: {{altitude: {altitude}}}\n")
    assert job.site_range is not None
    assert job.site_range.altitude_m == pytest.approx(ends_m)


@pytest.mark.parametrize("temperature", ["15 degC", "15 to 15 degC", "288.15 K to 15 degC"])
def test_a_single_value_is_no_range(temperature: str) -> None:
    """One figure, or twice the same."""
    job = changed(more=f"site: {{temperature: {temperature}}}\n")
    assert job.site_range is None
    assert job.temperature_k == pytest.approx(288.15)


def test_a_gas_that_may_be_another() -> None:
    """From the job's gas to that at the other end in even steps, both ends among them."""
    job = changed(more="tolerances: {gas: {propane: 60 %, n-butane: 40 %}}\n")
    assert job.site_range is not None
    butane = [{part.name: share for part, share in gas.fractions}.get("n-butane", 0.0) for gas in job.site_range.fills]
    assert butane[0] == 0.0
    assert butane[-1] == pytest.approx(0.4)
    steps = [more - less for less, more in itertools.pairwise(butane)]
    assert steps == pytest.approx([0.4 / len(steps)] * len(steps))
    assert len(steps) > 1
    # It is not said whether it is liquid or vapour: what may be in the pipe goes from the vapour over it, lighter, on.
    molar = [gas.molar_mass_kg_mol for gas in job.site_range.gases]
    assert min(molar) == job.gas.molar_mass_kg_mol
    assert max(molar) > job.site_range.fills[-1].molar_mass_kg_mol


# none, and not known


def test_devices_none() -> None:
    """An outlet without `devices` is not known; with `none`, or with a list, it is."""
    (outlet,) = changed().outlets
    assert (outlet.devices_known, outlet.devices) == (False, ())
    (outlet,) = changed(("bay: {at: main}", "bay: {at: main, devices: none}")).outlets
    assert (outlet.devices_known, outlet.devices, outlet.typical) == (True, (), None)
    listed = changed(("bay: {at: main}", "bay: {at: main, devices: [{name: b, flow: 1 kg/h, drop: 40 Pa}]}"))
    assert listed.outlets[0].devices_known
    assert listed.outlets[0].devices == (Device("b", pytest.approx(1.0 / 3600.0), 40.0),)


def test_an_outlet_that_is_not_known_is_told_as_a_bayonet() -> None:
    """What the catalogue has for a bayonet is what an outlet typically takes."""
    typical, listed = changed().outlets[0].typical, CATALOGUE.device("bayonet")
    assert typical is not None
    assert listed is not None
    assert (typical.low_pa, typical.high_pa) == (listed.low_pa, listed.high_pa)


def test_hose_none() -> None:
    """Of what is plugged in `hose: none` is known, no `hose` is not; what is fixed has none to know."""
    job = changed(("hose: hose, ", ""))
    assert [(each.name, each.hose_known, each.hoses) for each in job.appliances] == [
        ("fryer", True, ()),
        ("urn", False, ()),
    ]
    (_, urn) = changed(("hose: hose,", "hose: none,")).appliances
    assert (urn.hose_known, urn.hoses) == (True, ())
    (_, urn) = changed(("hose: hose,", "hose: [none],")).appliances
    assert (urn.hose_known, urn.hoses) == (True, ())
    (_, urn) = changed().appliances
    assert (urn.hose_known, urn.hoses) == (True, ("hose",))


def test_nothing_may_be_called_none() -> None:
    """A hose of that name could not be told from none."""
    with pytest.raises(Problems, match=r"hoses\.none: `none` has a meaning of its own; choose another name"):
        changed(("hose: {pipe", "none: {pipe"))


@pytest.mark.parametrize("place", ["length: 3.6 m", "at: main}", "length: 1.5 m"])
def test_a_device_that_is_not_known(place: str) -> None:
    """A name alone, on a run, an outlet or a hose: it takes nothing where it is solved, and is not known."""
    device = ", devices: [{name: strange part}]"
    job = changed((place, place.removesuffix("}") + device + "}" * place.endswith("}")))
    ((held,),) = [piece.devices for piece in (*job.runs, *job.outlets, *job.hoses) if piece.devices]
    assert (held.name, held.is_known, held.drop_pa, held.like, held.typical) == ("strange part", False, 0.0, None, None)


@pytest.mark.parametrize("name", ["gas cock", "gas-cock"])
def test_a_device_that_is_not_known_but_listed(name: str) -> None:
    """What the catalogue has of its name is told, and not counted."""
    (run,) = changed(("length: 3.6 m", f"length: 3.6 m, devices: [{{name: {name}}}]")).runs
    (device,) = run.devices
    listed = CATALOGUE.device("gas-cock")
    assert listed is not None
    assert device.typical is not None
    assert (device.is_known, device.drop_pa) == (False, 0.0)
    assert (device.typical.low_pa, device.typical.high_pa) == (listed.low_pa, listed.high_pa)


def test_a_device_like_one_of_the_catalogue() -> None:
    """The worse end of its typical range counts, at its flow; its name may be its own."""
    listed = CATALOGUE.device("gas-cock")
    assert listed is not None
    for text, name in (("{like: gas-cock}", "gas-cock"), ("{name: red cock, like: gas-cock}", "red cock")):
        (run,) = changed(("length: 3.6 m", f"length: 3.6 m, devices: [{text}]")).runs
        (device,) = run.devices
        assert (device.name, device.like, device.is_known) == (name, "gas-cock", True)
        assert device.drop_pa == listed.high_pa


# tolerances


def test_the_usual_tolerances() -> None:
    """Without a word those of the catalogue hold, with `none` none does."""
    usual = CATALOGUE.tolerances()
    assert changed().tolerances == usual
    assert changed(more="tolerances: {}\n").tolerances == usual
    none = changed(more="tolerances: none\n")
    assert none.tolerances is None


def test_own_tolerances() -> None:
    """What the job says goes before the catalogue's, and where it stands is told; the rest stays."""
    usual = CATALOGUE.tolerances()
    job = changed(more="tolerances: {length: 5 %, fittings: 50 %, input: 0 %, devices: 12.5 %}\n")
    allowed = job.tolerances
    assert allowed is not None
    assert (allowed.length, allowed.fittings, allowed.input, allowed.devices) == pytest.approx((0.05, 0.5, 0.0, 0.125))
    assert (allowed.length_m, allowed.caliper_m, allowed.own_bore) == (usual.length_m, usual.caliper_m, usual.own_bore)
    sources = dict(allowed.sources)
    assert {key for key, source in sources.items() if source == "given in the job file"} == {
        *("length", "fittings", "input", "devices")
    }
    exact = changed(more="tolerances: {length: 0 %}\n").tolerances
    assert exact is not None
    assert (exact.length, exact.length_m) == (0.0, 0.0)
    assert exact.input == usual.input


def test_a_tolerance_of_all_bores() -> None:
    """It goes before that of a pipe's family, of hoses as well, and is never more than half of the bore."""
    usual, own = changed(), changed(more="tolerances: {bore: 0.2 mm}\n")
    for job in (usual, own):
        pipes = [job.runs[0].pipe, job.hoses[0].pipe]
        assert all((pipe.bore_tolerance_m == pytest.approx(0.0002)) == (job is own) for pipe in pipes)
        assert all((pipe.tolerance_source == "given in the job file") == (job is own) for pipe in pipes)
    wide = changed(more="tolerances: {bore: 5 mm}\n")
    assert wide.hoses[0].pipe.bore_tolerance_m == pytest.approx(0.5 * wide.hoses[0].pipe.bore_m)


def test_the_accuracy_of_regulators() -> None:
    """Of its own it goes before what the job says of all, which goes before nothing."""
    own = ("outlet: 2.75 kPa", "outlet: 2.75 kPa, accuracy: 10 %")
    assert changed().regulator.accuracy == 0.0
    assert changed(own).regulator.accuracy == pytest.approx(0.1)
    assert changed(more="tolerances: {set-pressure: 5 %}\n").regulator.accuracy == pytest.approx(0.05)
    assert changed(own, more="tolerances: {set-pressure: 5 %}\n").regulator.accuracy == pytest.approx(0.1)
    stage = ("length: 3.6 m", "length: 3.6 m, regulator: {inlet-min: 9 kPa, outlet: 2.75 kPa}")
    staged = changed(("outlet: 2.75 kPa", "outlet: 70 kPa"), stage, more="tolerances: {set-pressure: 5 %}\n")
    assert staged.runs[0].regulator is not None
    assert staged.runs[0].regulator.accuracy == pytest.approx(0.05)


def test_a_greatest_pressure() -> None:
    """It stands beside the least; where it is not given there is none."""
    fryer = changed(("input: 50 MJ/h", "input: 50 MJ/h, min-pressure: 2 kPa, max-pressure: 3.5 kPa")).appliances[0]
    assert (fryer.min_gauge_pa, fryer.max_gauge_pa) == (2000.0, 3500.0)
    assert changed().appliances[0].max_gauge_pa is None
