"""One equation, one code: what is explained is what was computed.

A piece of the physics is put out by a tenth. The drop that a check gives must move, and the working must print the
piece as it now is and the drop as it now is: were an equation typed a second time for the working, the two would part.
"""

import ast
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import pytest

import drawbar
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.checking.explain import explain
from drawbar.job import Job
from drawbar.physics import air, darcy, flow, friction, handbook_formulas, ifgc, virial, viscosity
from drawbar.report.explain_report import ExplainReport
from drawbar.report.steps import Step
from jobs import CATALOGUE, job_from

OFF = 1.1
PROPANE, MIXTURE = "propane", "{propane: 60 %, n-butane: 40 %}"
LOW, HIGH = "2.75 kPa", "20 kPa"
JOB = """\
job: One run
gas: {gas}
limits: {{drop: 1 kPa}}
regulator: {{outlet: {outlet}}}
runs:
  main: {{from: regulator, pipe: as1432-b/12.70, length: 4 m, rise: 0.5 m, fittings: {{elbow-90: 2}},
         devices: [{{name: valve, flow: 60 MJ/h, drop: 40 Pa}}]}}
appliances:
  stove: {{at: main, input: 60 MJ/h}}
"""


def out_by_a_tenth(value: Any, *names: str) -> Any:
    """Return a float put out by a tenth; of a tuple of terms, those of the names."""
    if not names:
        return value * OFF
    if type(value) is tuple:  # Darcy's terms are handed over bare
        value = darcy.DarcyTerms._make(value)
    return value._replace(**{name: getattr(value, name) * OFF for name in names})


def job_of(gas: str, outlet: str) -> Job:
    """Return the job, with a gas that no other test has worked out before."""
    return job_from(JOB.format(gas=gas, outlet=outlet), catalogue=Catalogue())


def steps_of(job: Job, formula: str) -> dict[str, Step]:
    """Return the steps of the working of the one run by their symbols."""
    working = ExplainReport(CATALOGUE).working(explain(job, "main", formula=formula))
    return {step.symbol: step for part in working for step in part.steps}


class Piece(NamedTuple):
    """A function of the physics whose result, or some terms of it, is put out, and the step that prints it."""

    room: ModuleType
    function: str
    terms: tuple[str, ...]
    formula: str
    gas: str
    outlet: str
    symbol: str


PIECES = [
    Piece(viscosity, "collision_integral", (), "darcy", PROPANE, LOW, "Om"),
    Piece(viscosity, "collision_integral", (), "renouard", MIXTURE, LOW, "Om2"),
    Piece(viscosity, "mixing_weight", (), "darcy", MIXTURE, LOW, "phi12"),
    Piece(virial, "virial_terms", ("virial_m3_mol",), "darcy", PROPANE, LOW, "B"),
    Piece(virial, "virial_terms", ("virial_m3_mol",), "darcy", MIXTURE, LOW, "B12"),
    Piece(virial, "virial_terms", ("virial_m3_mol",), "pole", PROPANE, LOW, "Bn"),
    Piece(virial, "cross_constants", ("acentric",), "darcy", MIXTURE, LOW, "w12"),
    Piece(virial, "cross_constants", ("critical_temperature_k",), "darcy", MIXTURE, LOW, "Tc12"),
    Piece(darcy, "friction_factor", (), "darcy", PROPANE, LOW, "f"),
    Piece(darcy, "_terms", ("flow_term_pa2",), "darcy", PROPANE, LOW, "E"),
    Piece(darcy, "_terms", ("friction_term_pa2",), "darcy", PROPANE, LOW, "F"),
    Piece(ifgc, "capacity_factor", (), "ifgc", PROPANE, LOW, "Cr"),
    Piece(ifgc, "superexpansibility", (), "ifgc", PROPANE, HIGH, "Y"),
    Piece(ifgc, "ifgc_terms", ("drop_inh2o",), "ifgc", PROPANE, LOW, "dH"),
    Piece(ifgc, "ifgc_terms", ("squares_psi2",), "ifgc", PROPANE, HIGH, "D2'"),
    Piece(handbook_formulas, "reference_flow_m3_h", (), "pole", PROPANE, LOW, "Q"),
    Piece(handbook_formulas, "pole_terms", ("drop_mbar",), "pole", PROPANE, LOW, "dm"),
    Piece(handbook_formulas, "corrected_density", (), "renouard", PROPANE, LOW, "s"),
    Piece(handbook_formulas, "renouard_terms", ("drop_mbar",), "renouard", PROPANE, LOW, "dm"),
    Piece(handbook_formulas, "renouard_terms", ("squares_bar2",), "renouard", PROPANE, HIGH, "D2'"),
    Piece(handbook_formulas, "spitzglass_terms", ("drop_pa",), "spitzglass", PROPANE, LOW, "dp"),
    Piece(handbook_formulas, "spitzglass_terms", ("squares_pa2",), "spitzglass", PROPANE, HIGH, "D2"),
]


@pytest.mark.parametrize("piece", PIECES, ids=lambda piece: f"{piece.function}-{piece.symbol}-{piece.formula}")
def test_the_drop_and_the_working_move_together(monkeypatch, piece):
    """The piece is printed as it was put out, and the drop that follows is both computed and printed."""
    before = steps_of(job_of(piece.gas, piece.outlet), piece.formula)
    whole: Callable[..., Any] = getattr(piece.room, piece.function)
    monkeypatch.setattr(piece.room, piece.function, lambda *given: out_by_a_tenth(whole(*given), *piece.terms))
    job = job_of(piece.gas, piece.outlet)
    run = check_job(job, piece.formula).states[0].runs[0]
    after = steps_of(job, piece.formula)
    assert after[piece.symbol].value == pytest.approx(OFF * before[piece.symbol].value, rel=1e-12)
    assert after["dp"].value == pytest.approx(run.friction_pa, rel=1e-12)
    assert abs(run.friction_pa / before["dp"].value - 1.0) > 1e-6
    assert after["pe"].value == run.outlet_abs_pa != before["pe"].value


def test_the_compression_factor_of_the_flow_moves_with_the_drop(monkeypatch):
    """The Z at the mean pressure that is printed is the one that the outlet was worked out with."""
    before = steps_of(job_of(PROPANE, LOW), "darcy")
    whole = flow._compressibility
    monkeypatch.setattr(flow, "_compressibility", lambda *given: (OFF * whole(*given)[0], whole(*given)[1]))
    job = job_of(PROPANE, LOW)
    run, after = check_job(job).states[0].runs[0], steps_of(job, "darcy")
    assert after["Z"].value == pytest.approx(OFF * before["Z"].value, rel=1e-6)
    assert after["dp"].value == run.friction_pa == pytest.approx(OFF * before["dp"].value, rel=1e-3)


def test_the_viscosity_of_the_formula_is_the_one_that_is_printed(monkeypatch):
    """A tenth more in the collision integral is a tenth less viscosity and a tenth more Reynolds number."""
    before = steps_of(job_of(PROPANE, LOW), "darcy")
    whole = viscosity.collision_integral
    monkeypatch.setattr(viscosity, "collision_integral", lambda *given: OFF * whole(*given))
    job = job_of(PROPANE, LOW)
    after = steps_of(job, "darcy")
    assert after["mu"].value == job.vapour.viscosity_pa_s == pytest.approx(before["mu"].value / OFF, rel=1e-12)
    assert after["Re"].value == pytest.approx(OFF * before["Re"].value, rel=1e-12)
    assert after["Re"].value == pytest.approx(check_job(job).states[0].runs[0].reynolds, rel=1e-12)


def test_both_sides_of_colebrook_have_the_constants_of_the_friction_factor(monkeypatch):
    """With another constant of the smooth pipe, the friction factor moves and both sides are still equal."""
    before = friction.friction_factor(2e4, 1e-4)
    monkeypatch.setattr(friction, "_SMOOTH", OFF * friction._SMOOTH)
    after = friction.friction_factor(2e4, 1e-4)
    left, right = friction.colebrook_sides(after, 2e4, 1e-4)
    assert after > 1.01 * before
    assert left == pytest.approx(right, rel=1e-12)


def test_two_forms_of_the_compression_factor_agree():
    """A flow takes Z with its slope, from B / (R T); a density takes it from B and T: the same equation to 1e-15."""
    vapour = job_of(MIXTURE, LOW).vapour
    for abs_pa in (air.STANDARD_PA, 150e3, 240e3):
        z, slope = flow._compressibility(vapour.virial_per_pa, abs_pa)
        assert z == pytest.approx(vapour.compressibility(abs_pa), rel=1e-15)
        rise = vapour.compressibility(abs_pa + 1.0) - vapour.compressibility(abs_pa - 1.0)
        assert slope == pytest.approx(0.5 * rise, rel=1e-6)


def test_the_working_has_no_root_power_or_logarithm_of_its_own():
    """The modules that explain add up and convert; an equation would need more."""
    modules = sorted(Path(drawbar.__file__).parent.glob("report/explain_*.py"))
    assert len(modules) >= 7
    for module in modules:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            assert not isinstance(node, ast.Pow), module.name
            if isinstance(node, ast.Import):
                assert "math" not in [alias.name for alias in node.names], module.name
            if isinstance(node, ast.ImportFrom):
                assert node.module != "math", module.name
