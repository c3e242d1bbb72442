"""How the pressure-drop formulas behave."""

import math

import pytest
from fluids.friction import Colebrook
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import drawbar.physics.flow
from drawbar.physics.darcy import acceleration_heads, darcy
from drawbar.physics.flow import NO_LOSS, Loss, PipeFlow, inlet_abs_pa, outlet_abs_pa, squares_terms, velocity_m_s
from drawbar.physics.formulas import FORMULAS, Formula
from drawbar.physics.friction import friction_factor, regime, reynolds
from drawbar.physics.handbook_formulas import spitzglass_terms
from drawbar.physics.ifgc import ifgc, ifgc_terms
from gases import gas

AIR_PA = 101_325.0
PROPANE = gas({"propane": 1.0}).vapour(288.15)
MIXTURE = gas({"propane": 0.6, "n-butane": 0.4}).vapour(278.15)

trials = settings(max_examples=100, deadline=None)
formulas = st.sampled_from(list(FORMULAS.values()))
flows = st.floats(1e-6, 0.02)
bores = st.floats(0.004, 0.06)
lengths = st.floats(0.05, 100.0)
gauges = st.sampled_from([2750.0, 3700.0, 12e3, 70e3, 140e3])
pipe_flows = st.builds(PipeFlow, flows, bores, st.just(1.5e-6), lengths, st.just(PROPANE), gauges)
more = st.floats(1.001, 5.0)


def inlet_wanted(formula: Formula, flow: PipeFlow) -> float:
    """Inlet needed for an outlet at the stage's pressure: a measure of drop that no choke cuts short."""
    return inlet_abs_pa(AIR_PA + flow.stage_gauge_pa, formula.function(flow))


@given(formulas, pipe_flows, more)
@trials
def test_longer_pipe_takes_more(formula, flow, times):
    """The same flow through a longer pipe takes more pressure, by every formula."""
    base = inlet_wanted(formula, flow)
    assume(base - AIR_PA - flow.stage_gauge_pa > 1e-6)
    assert inlet_wanted(formula, flow._replace(length_m=times * flow.length_m)) > base


@given(formulas, pipe_flows, more)
@trials
def test_more_flow_takes_more(formula, flow, times):
    """More flow takes more pressure, across the step from laminar to turbulent as well."""
    base = inlet_wanted(formula, flow)
    assume(base - AIR_PA - flow.stage_gauge_pa > 1e-6)
    assert inlet_wanted(formula, flow._replace(mass_flow_kg_s=times * flow.mass_flow_kg_s)) > base


@given(formulas, pipe_flows, more)
@trials
def test_bigger_bore_takes_less(formula, flow, times):
    """A bigger bore takes less pressure, by every formula."""
    base = inlet_wanted(formula, flow)
    assume(base - AIR_PA - flow.stage_gauge_pa > 1e-6)
    assert inlet_wanted(formula, flow._replace(bore_m=times * flow.bore_m)) < base


@given(formulas, pipe_flows)
@trials
def test_inlet_is_the_inverse_of_outlet(formula, flow):
    """From an outlet back to its inlet, to 1e-10."""
    loss = formula.function(flow._replace(vapour=MIXTURE))
    outlet = outlet_abs_pa(AIR_PA + flow.stage_gauge_pa, loss)
    assume(outlet > 0.0)
    assert inlet_abs_pa(outlet, loss) == pytest.approx(AIR_PA + flow.stage_gauge_pa, rel=1e-10)


@given(flows, bores, lengths, st.floats(100.0, 4e5))
@trials
def test_inlet_is_the_smallest_that_will_do(flow, bore, length, wanted):
    """The inlet gives at least the outlet wanted, and a hair less gives less, or nothing at all."""
    loss = darcy(PipeFlow(flow, bore, 1.5e-6, length, PROPANE, 0.0))
    inlet = inlet_abs_pa(wanted, loss)
    assert outlet_abs_pa(inlet, loss) >= wanted * (1.0 - 1e-9)
    assert outlet_abs_pa(inlet * (1.0 - 1e-7), loss) < wanted


@given(flows, bores, lengths, st.floats(1e3, 5e5), st.floats(1.0, 2.0))
@trials
def test_outlet_rises_with_inlet(flow, bore, length, inlet, times):
    """More pressure at the start never gives less at the end; and the end is never above the start."""
    loss = darcy(PipeFlow(flow, bore, 1.5e-6, length, PROPANE, 0.0))
    low, high = outlet_abs_pa(inlet, loss), outlet_abs_pa(inlet * times, loss)
    assert 0.0 <= low <= inlet
    assert low <= high * (1.0 + 1e-12)


@given(flows, bores, lengths, st.floats(1e3, 5e5))
@trials
def test_outlet_solves_the_isothermal_equation(flow, bore, length, inlet):
    """The outlet puts the isothermal equation to zero, with Z of the mean pressure."""
    loss = darcy(PipeFlow(flow, bore, 1.5e-6, length, PROPANE, 0.0))
    outlet = outlet_abs_pa(inlet, loss)
    assume(outlet > 0.0)
    z = PROPANE.compressibility(0.5 * (inlet + outlet))
    left = inlet**2 - outlet**2
    right = z * (loss.square_pa2 + 2.0 * loss.flux_pa2 * math.log(inlet / outlet))
    assert left == pytest.approx(right, rel=1e-9, abs=1e-11 * inlet**2)


@given(
    st.floats(0.0, 1e300), st.floats(0.0, 1e300), st.floats(0.0, 1e300), st.floats(-1e-5, 0.0), st.floats(-1e5, 1e300)
)
@trials
def test_outlet_never_raises(linear, square, flux, virial, inlet):
    """Figures out of all reason give a pressure or 0, no error; and the way back ends."""
    loss = Loss(linear, square, flux, virial)
    assert outlet_abs_pa(inlet, loss) >= 0.0
    assert inlet_abs_pa(inlet, loss) >= 0.0


@given(formulas, pipe_flows)
@trials
def test_the_inlet_is_had_without_halving_where_nothing_chokes(formula, flow):
    """Newton's steps come to it from either side of the choke; halving, forty times as slow, is for the choke alone."""
    loss = formula.function(flow._replace(vapour=MIXTURE))
    outlet = outlet_abs_pa(AIR_PA + flow.stage_gauge_pa, loss)
    assume(outlet > 0.0)
    choke_pa = math.sqrt(loss.flux_pa2)
    assume(outlet > 1.05 * choke_pa)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawbar.physics.flow, "_choke_inlet_abs_pa", lambda *_: pytest.fail("halved"))
        assert inlet_abs_pa(outlet, loss) == pytest.approx(AIR_PA + flow.stage_gauge_pa, rel=1e-10)


@given(formulas, pipe_flows)
@trials
def test_an_answer_takes_few_steps(formula, flow):
    """Away from the choke Newton's steps double the digits: six are enough, from one end as from the other."""
    loss = formula.function(flow._replace(vapour=MIXTURE))
    inlet = AIR_PA + flow.stage_gauge_pa
    outlet = outlet_abs_pa(inlet, loss)
    assume(outlet > 2.0 * math.sqrt(loss.flux_pa2) and outlet > 0.2 * inlet)
    steps = 0
    compressibility = drawbar.physics.flow._compressibility

    def counted(*figures):
        nonlocal steps
        steps += 1
        return compressibility(*figures)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawbar.physics.flow, "_compressibility", counted)
        outlet_abs_pa(inlet, loss)
        assert steps <= 6
        steps = 0
        inlet_abs_pa(outlet, loss)
        assert steps <= 6


@pytest.mark.parametrize("name", FORMULAS)
def test_from_no_pressure_comes_none(name):
    """Behind a run that chokes there is nothing: none comes out of the next, and nothing raises."""
    loss = FORMULAS[name].function(PipeFlow(0.001, 0.0109, 1.5e-6, 3.0, MIXTURE, 2750.0))
    assert outlet_abs_pa(0.0, loss) == 0.0
    assert outlet_abs_pa(-1.0, loss) == 0.0


def test_where_the_gas_may_be_thinner_flow_is_counted_as_turbulent_sooner():
    """At Re 1800, 2000 where it may be a tenth less viscous: then by Colebrook (fluids). At 1700 it is 64/Re still."""
    flow_kg_s = 1800.0 * 0.25 * math.pi * 0.0109 * PROPANE.viscosity_pa_s
    flow = PipeFlow(flow_kg_s, 0.0109, 1.5e-6, 5.0, PROPANE, 2750.0)
    maybe = flow._replace(vapour=PROPANE._replace(least_viscosity_pa_s=0.9 * PROPANE.viscosity_pa_s))
    heads = [loss.square_pa2 / loss.flux_pa2 for loss in (darcy(flow), darcy(maybe))]
    assert heads[0] == pytest.approx(64.0 / 1800.0 * 5.0 / 0.0109)
    assert heads[1] == pytest.approx(Colebrook(1800.0, 1.5e-6 / 0.0109) * 5.0 / 0.0109, rel=1e-6)
    loss = darcy(maybe._replace(mass_flow_kg_s=17.0 / 18.0 * flow_kg_s))
    assert loss.square_pa2 / loss.flux_pa2 == pytest.approx(64.0 / 1700.0 * 5.0 / 0.0109)


def test_acceleration_is_twice_the_logarithm_of_the_pressures():
    """What isothermal flow adds to f L / d: 2 ln(p1/p2), Perry's Handbook, 8th ed., section 6 (from memory).

    With it and friction the equation p1^2 - p2^2 = Z G^2 R T / M (f L/d + 2 ln(p1/p2)) holds at the outlet.
    """
    assert acceleration_heads(math.e * AIR_PA, AIR_PA) == pytest.approx(2.0)
    flow = PipeFlow(0.004, 0.0109, 1.5e-6, 5.0, PROPANE, 140e3)
    loss, inlet = darcy(flow), AIR_PA + 140e3
    outlet = outlet_abs_pa(inlet, loss)
    terms = squares_terms(inlet, outlet, loss)
    heads = loss.square_pa2 / loss.flux_pa2 + acceleration_heads(inlet, outlet)
    assert terms.squares_pa2 == pytest.approx(inlet**2 - outlet**2)
    assert inlet**2 - outlet**2 == pytest.approx(
        PROPANE.compressibility(0.5 * (inlet + outlet)) * loss.flux_pa2 * heads
    )


def test_choked_run_gives_nothing():
    """A flow that the pipe can't pass leaves 0.0, and the inlet that would pass it is given on the way back."""
    loss = darcy(PipeFlow(0.05, 0.006, 1.5e-6, 5.0, PROPANE, 2750.0))
    assert outlet_abs_pa(AIR_PA + 2750.0, loss) == 0.0
    inlet = inlet_abs_pa(1.0, loss)
    outlet = outlet_abs_pa(inlet, loss)
    assert outlet > 1.0
    assert outlet_abs_pa(inlet * (1.0 - 1e-9), loss) == 0.0
    assert inlet_abs_pa(0.9 * outlet, loss) == pytest.approx(inlet, rel=1e-9)


@pytest.mark.parametrize("name", FORMULAS)
@pytest.mark.parametrize("gauge", [2750.0, 70e3])
def test_no_flow_takes_nothing(name, gauge):
    """With no flow there is no drop, no speed, no regime, and nothing outside the range."""
    formula = FORMULAS[name]
    assert formula.function(PipeFlow(0.0, 0.01, 1.5e-6, 3.0, PROPANE, gauge)) == NO_LOSS
    assert outlet_abs_pa(AIR_PA + gauge, NO_LOSS) == AIR_PA + gauge
    assert formula.outside(PipeFlow(0.0, 0.01, 1.5e-6, 3.0, PROPANE, gauge)) is None
    assert velocity_m_s(0.0, 0.01, 1.9) == 0.0
    assert regime(reynolds(0.0, 0.01, PROPANE.viscosity_pa_s)) == "no flow"


@pytest.mark.parametrize("name", ["ifgc", "pole", "renouard", "spitzglass"])
def test_code_formulas_take_no_acceleration(name):
    """The code formulas have a linear or a quadratic part, never both, and neither flux nor compressibility."""
    for gauge in (2750.0, 70e3):
        loss = FORMULAS[name].function(PipeFlow(0.001, 0.02, 0.0, 5.0, PROPANE, gauge))
        assert (loss.linear_pa > 0.0) != (loss.square_pa2 > 0.0)
        assert loss.flux_pa2 == loss.virial_per_pa == 0.0


def test_the_low_pressure_form_of_ifgc_has_no_expansion():
    """Below 1.5 psi the terms are of inches of water and the factor is 1; from there on of squares of psi."""
    low, high = (ifgc_terms(PipeFlow(0.001, 0.02, 0.0, 3.0, PROPANE, gauge)) for gauge in (2750.0, 70e3))
    assert (low.superexpansibility, low.squares_psi2) == (1.0, 0.0)
    assert low.drop_inh2o > 0.0
    assert (high.drop_inh2o, high.thin_air) == (0.0, 1.0)
    assert high.squares_psi2 > 0.0
    assert 0.9 < high.superexpansibility < 0.999


def test_spitzglass_s_high_form_needs_no_thin_air():
    """Above 1 psi it has the pressures themselves; up to there the drop is taken at the sea, and put right."""
    thin = PipeFlow(0.001, 0.02, 0.0, 3.0, PROPANE, 2750.0, 70_000.0)
    low, high = spitzglass_terms(thin), spitzglass_terms(thin._replace(stage_gauge_pa=70e3))
    assert low.thin_air > 1.3
    assert low.drop_pa > 0.0
    assert (high.thin_air, high.drop_pa) == (1.0, 0.0)
    assert high.squares_pa2 == low.squares_pa2


def test_ifgc_divides_at_one_and_a_half_psi():
    """Below 1.5 psi the low-pressure form, from 1.5 psi on the high-pressure form."""
    assert ifgc(PipeFlow(0.001, 0.02, 0.0, 5.0, PROPANE, 10_342.0)).linear_pa > 0.0
    assert ifgc(PipeFlow(0.001, 0.02, 0.0, 5.0, PROPANE, 10_343.0)).square_pa2 > 0.0


def test_small_tubes_show_how_far_the_formulas_part():
    """In 10.9 mm tube at 100 MJ/h Pole takes least, then Darcy, Renouard and the code close by, Spitzglass far off."""
    flow = 100e6 / 3600.0 / PROPANE.gross_j_kg
    inlet = AIR_PA + 2750.0
    drops = {
        name: inlet - outlet_abs_pa(inlet, formula.function(PipeFlow(flow, 0.0109, 1.5e-6, 5.0, PROPANE, 2750.0)))
        for name, formula in FORMULAS.items()
    }
    assert drops["pole"] < min(drops["darcy"], drops["renouard"], drops["ifgc"])
    assert drops["ifgc"] == pytest.approx(drops["darcy"], rel=0.15)
    assert drops["renouard"] == pytest.approx(drops["darcy"], rel=0.15)
    assert drops["spitzglass"] > 2.5 * drops["darcy"]


@pytest.mark.parametrize(
    ("number", "name"),
    [
        (0.0, "no flow"),
        (1.0, "laminar"),
        (1899.9, "laminar"),
        (1900.0, "transition"),
        (4000.0, "transition"),
        (4000.1, "turbulent"),
    ],
)
def test_regime_names(number, name):
    """Laminar ends at 1900, transition at 4000."""
    assert regime(number) == name


def test_transition_is_counted_as_turbulent():
    """At Re 1900 the friction factor steps up to Colebrook-White's."""
    assert friction_factor(1899.999, 0.0) == pytest.approx(64.0 / 1900.0, rel=1e-3)
    assert friction_factor(1900.0, 0.0) > 1.4 * friction_factor(1899.999, 0.0)


def test_velocity_is_flow_by_area():
    """1 m3/s of a gas of 2 kg/m3 through a square metre's bore is 1 m/s."""
    assert velocity_m_s(2.0, math.sqrt(4.0 / math.pi), 2.0) == pytest.approx(1.0)


def test_darcy_comes_first():
    """The default formula is the first, and each goes by its own name."""
    assert list(FORMULAS) == ["darcy", "ifgc", "pole", "renouard", "spitzglass"]
    assert all(name == formula.name and formula.source and formula.title for name, formula in FORMULAS.items())
    assert [name for name, formula in FORMULAS.items() if formula.uses_roughness] == ["darcy"]


@pytest.mark.parametrize(
    ("name", "flow", "bore", "gauge", "text"),
    [
        ("spitzglass", 0.001, 0.0109, 2750.0, "a bore of 10.9 mm is outside 15.8 to 254.5 mm"),
        ("ifgc", 0.001, 0.006, 2750.0, "a bore of 6 mm is outside 7.747 to 102.3 mm"),
        ("pole", 0.001, 0.02, 70e3, "70 kPa is above the formula's 7.5 kPa"),
        ("renouard", 0.2, 0.05, 70e3, None),
        ("renouard", 1.0, 0.05, 70e3, "the Reynolds number is 3.23e+06, above 2e+06"),
        ("renouard", 5.0, 0.05, 70e3, "Q/D is 189 m3/h by mm, not below 150"),
        ("renouard", 1e-5, 0.0109, 2750.0, "the formula is for turbulent flow; the Reynolds number is 148, below 4000"),
        ("darcy", 1e-5, 0.0109, 2750.0, None),
    ],
)
def test_outside_says_what_is_outside(name, flow, bore, gauge, text):
    """One short sentence, or nothing."""
    assert FORMULAS[name].outside(PipeFlow(flow, bore, 1.5e-6, 3.0, PROPANE, gauge)) == text


def test_range_in_words_comes_from_the_figures():
    """The range shown is made of the figures that the check goes by."""
    assert FORMULAS["renouard"].reynolds_range == (4000.0, 2e6)  # from memory
    assert FORMULAS["renouard"].valid.startswith(
        "Reynolds number from 4000 to 2e+06, walls up to 0.2 mm rough, Q/D below 150 m3/h by mm ("
    )
    assert (
        FORMULAS["pole"].valid == "Reynolds number from 4000, walls up to 0.2 mm rough, up to 7.5 kPa (common practice)"
    )
    assert FORMULAS["ifgc"].valid.startswith(
        "bore 7.747 to 102.3 mm, Reynolds number from 4000, walls up to 0.2 mm rough ("
    )
    assert FORMULAS["darcy"].valid.startswith("Reynolds number up to 1e+08 (")
