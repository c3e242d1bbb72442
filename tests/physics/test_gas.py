"""How gases behave here: mixing, ranges, messages, and that more of one thing gives more of the other."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawbar.physics.component import Component
from drawbar.physics.gas import Gas
from gases import component, gas, gas_data

NAMES = ["propane", "n-butane", "isobutane", "propylene"]
temperatures_k = st.floats(min_value=253.15, max_value=323.15)
names = st.sampled_from(NAMES)


@given(name=names, temperature_k=temperatures_k, share=st.floats(0.05, 0.9))
def test_density_rises_with_pressure(name, temperature_k, share):
    """And faster than the pressure does: the gas is easier to compress than an ideal one."""
    vapour, dew_pa = gas({name: 1.0}).vapour(temperature_k), gas({name: 1.0}).dew_pressure_pa(temperature_k)
    low_pa, high_pa = share * dew_pa, 1.1 * share * dew_pa
    assert vapour.density_kg_m3(high_pa) > 1.1 * vapour.density_kg_m3(low_pa)


@given(name=names, temperature_k=temperatures_k)
def test_warmer_gas_is_lighter_and_thicker(name, temperature_k):
    """Density falls and viscosity rises with temperature."""
    pure, abs_pa = gas({name: 1.0}), 50e3
    cold, warm = pure.vapour(temperature_k), pure.vapour(temperature_k + 5.0)
    assert warm.density_kg_m3(abs_pa) < cold.density_kg_m3(abs_pa)
    assert warm.viscosity_pa_s > cold.viscosity_pa_s
    assert warm.compressibility(abs_pa) > cold.compressibility(abs_pa)


@given(name=names, temperature_k=temperatures_k)
def test_warmer_liquid_has_more_pressure_and_needs_less_heat(name, temperature_k):
    """Vapour pressure rises; heat of vaporisation and liquid density fall with temperature."""
    pure, warm_k = gas({name: 1.0}), temperature_k + 5.0
    assert pure.bubble_pressure_pa(warm_k) > pure.bubble_pressure_pa(temperature_k)
    assert pure.latent_heat_j_kg(warm_k) < pure.latent_heat_j_kg(temperature_k)
    assert pure.liquid_density_kg_m3(warm_k) < pure.liquid_density_kg_m3(temperature_k)


@given(part=st.floats(0.01, 0.99), temperature_k=temperatures_k)
def test_mixture_lies_between_its_parts(part, temperature_k):
    """Propane and n-butane: every figure of the mixture is between those of the two."""
    ends = [gas({"propane": 1.0}), gas({"n-butane": 1.0})]
    mixed = gas({"propane": part, "n-butane": 1.0 - part})

    def figures(mixture):
        vapour = mixture.vapour(temperature_k)
        return [
            mixture.molar_mass_kg_mol,
            mixture.gross_j_kg,
            mixture.net_j_kg,
            mixture.gross_j_m3,
            mixture.relative_density,
            mixture.reference_density_kg_m3,
            mixture.dew_pressure_pa(temperature_k),
            mixture.bubble_pressure_pa(temperature_k),
            mixture.latent_heat_j_kg(temperature_k),
            mixture.liquid_density_kg_m3(temperature_k),
            vapour.virial_m3_mol,
            vapour.viscosity_pa_s,
            vapour.density_kg_m3(80e3),
        ]

    for figure, end, other in zip(figures(mixed), *map(figures, ends), strict=True):
        assert min(end, other) < figure < max(end, other)


@given(part=st.floats(0.05, 0.95), temperature_k=temperatures_k)
def test_mixture_condenses_below_the_pressure_it_boils_at(part, temperature_k):
    """For the same make-up the dew pressure is under the bubble pressure."""
    mixed = gas({"propane": part, "n-butane": 1.0 - part})
    assert mixed.dew_pressure_pa(temperature_k) < mixed.bubble_pressure_pa(temperature_k)


@given(part=st.floats(0.05, 0.95), temperature_k=temperatures_k)
def test_a_gas_mixed_with_itself_is_unchanged(part, temperature_k):
    """Naming propane twice gives propane: the mixing rules add nothing of their own."""
    twice = Gas(((component("propane"), part), (component("propane"), 1.0 - part)))
    once = gas({"propane": 1.0})
    assert twice.vapour(temperature_k).virial_m3_mol == pytest.approx(
        once.vapour(temperature_k).virial_m3_mol, rel=1e-9
    )
    assert twice.vapour(temperature_k).viscosity_pa_s == pytest.approx(
        once.vapour(temperature_k).viscosity_pa_s, rel=1e-9
    )
    assert twice.dew_pressure_pa(temperature_k) == pytest.approx(once.bubble_pressure_pa(temperature_k), rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_vapour_repeats_the_figures_of_its_gas(name):
    """The flow formulas get one object with all they need, and the reference state is the state it says."""
    pure = gas({name: 1.0})
    vapour = pure.vapour(288.15)
    assert (vapour.molar_mass_kg_mol, vapour.gross_j_kg) == (pure.molar_mass_kg_mol, pure.gross_j_kg)
    assert vapour.relative_density == pure.relative_density
    assert vapour.reference_density_kg_m3 == pure.reference_density_kg_m3
    assert vapour.density_kg_m3(101325.0) == pytest.approx(pure.reference_density_kg_m3, rel=1e-12)
    assert pure.gross_j_m3 == pytest.approx(pure.gross_j_kg * pure.reference_density_kg_m3, rel=1e-12)


def test_net_is_less_than_gross_by_the_water_formed():
    """44.013 kJ/mol for each mole of water: 4 from propane, 5 from the butanes, 3 from propylene."""
    water = {"propane": 4, "n-butane": 5, "isobutane": 5, "propylene": 3}
    losses = {name: component(name).gross_j_mol - component(name).net_j_mol for name in NAMES}
    assert losses == pytest.approx({name: 44013.0 * count for name, count in water.items()})


@pytest.mark.parametrize(
    ("fractions", "message"),
    [
        ({"propane": 0.7, "n-butane": 0.2}, r"^the mole fractions of the gas add up to 0\.9, not 1$"),
        ({"propane": 0.7, "n-butane": 0.4}, r"^the mole fractions of the gas add up to 1\.1, not 1$"),
        ({}, r"^the mole fractions of the gas add up to 0, not 1$"),
        ({"propane": 1.2, "n-butane": -0.2}, r"^the mole fraction of n-butane is -0\.2; it must be above 0$"),
        ({"propane": 1.0, "isobutane": 0.0}, r"^the mole fraction of isobutane is 0; it must be above 0$"),
        ({"propane": float("nan")}, r"^the mole fraction of propane is nan; it must be above 0$"),
        ({"propane": float("inf")}, r"^the mole fractions of the gas add up to inf, not 1$"),
    ],
)
def test_fractions_that_are_no_mixture_are_refused(fractions, message):
    """The parts are above 0 and add up to 1."""
    with pytest.raises(ValueError, match=message):
        gas(fractions)


@pytest.mark.parametrize(
    "call",
    [Gas.vapour, Gas.dew_pressure_pa, Gas.bubble_pressure_pa, Gas.latent_heat_j_kg, Gas.liquid_density_kg_m3],
)
@pytest.mark.parametrize("temperature_k", [0.0, 200.0, 373.15, float("nan")])
def test_a_temperature_outside_the_figures_is_refused(call, temperature_k):
    """No correlation is stretched past its range: half of n-butane's critical temperature up to propane's."""
    message = r"^\S+ degC is outside the range of the figures for propane and n-butane, -60\.6 to 96\.7 degC$"
    with pytest.raises(ValueError, match=message):
        call(gas({"propane": 0.5, "n-butane": 0.5}), temperature_k)


@pytest.mark.parametrize("name", NAMES)
def test_the_range_covers_the_weather(name):
    """-50 to 50 degC is inside, and both ends of the range itself are allowed."""
    pure = gas({name: 1.0})
    low_k, high_k = pure.temperature_range_k
    assert low_k < 223.15
    assert high_k > 323.15
    assert pure.vapour(low_k).viscosity_pa_s < pure.vapour(high_k).viscosity_pa_s


def test_a_pressure_no_vapour_can_have_is_refused():
    """Propane at 15 degC is liquid long before 2 MPa; the equation then has no root."""
    vapour = gas({"propane": 1.0}).vapour(288.15)
    with pytest.raises(ValueError, match=r"^the gas cannot be a vapour at 15\.0 degC and 2000 kPa absolute$"):
        vapour.density_kg_m3(2e6)


def test_every_figure_in_the_data_has_a_source():
    """Each row has the component's fields and nothing else, and names a known source for every one."""
    data = gas_data()
    fields = set(Component._fields) - {"name"}
    assert sorted(data["gases"]) == sorted(NAMES)
    used = set()
    for row in data["gases"].values():
        assert fields - {"collision_coefficients"} <= set(row["source"]) == set(row) - {"source"} <= fields
        used |= set(row["source"].values())
    assert used == set(data["sources"])
    assert all(text.strip() for text in data["sources"].values())


def test_every_number_in_the_data_is_a_number():
    """YAML reads 5e-10 as a text; the figures are written so that none is."""
    for row in gas_data()["gases"].values():
        values = [value for key, value in row.items() if key != "source"]
        flat = [number for value in values for number in (value if isinstance(value, list) else [value])]
        assert {type(number) for number in flat} == {float}
