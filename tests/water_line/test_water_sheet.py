"""The water side on the sheet: the line diagram with its figures, no label over another, the cautions."""

import pytest

pytest.importorskip("svg", reason="needs the extra `sheet`")

import drawbar
from drawbar.report.display import Shown
from drawbar.report.sheet import water_part
from drawbar.water_line.water_answer import water_results
from paths import EXAMPLES

EXAMPLE = EXAMPLES / "shower-tent-camper.yaml"


def test_the_sheet_shows_each_connection_with_flow_temperature_and_verdict():
    """Diagram, table, verdict at the head, scalding, frost and drinking water; the page stands when it is verified."""
    job = drawbar.read_job(EXAMPLE, sized=True)
    page = drawbar.sheet(job)
    for told in ("The water side", "shower-hose", "4.85 L/min", "38 degC", "Hot water scalds", "Before frost drain"):
        assert told in page
    assert "At most 50 degC may reach an outlet (AS/NZS 3500.4" in page
    assert "Tanks, hoses and fittings for drinking water as the code in force says" in page
    assert '<dt>Hot water</dt><dd><strong class="fail">FAIL</strong></dd>' in page


def test_a_sheet_without_a_water_side_has_none_of_it():
    """No section, no caution of it."""
    page = drawbar.sheet(drawbar.read_job(EXAMPLES / "harvest-fair-trailer.yaml", sized=True))
    assert "The water side" not in page
    assert "frost" not in page.casefold().replace("frost on the bottle", "")


@pytest.mark.parametrize("draw", ["across", "down"])
def test_no_label_of_the_diagram_lies_on_another(draw):
    """In both widths."""
    job = drawbar.read_job(EXAMPLE)
    shown = Shown(job.display)
    chains = [(result, water_part._chain(result, shown)) for result in water_results(job)]
    drawing = water_part._across(chains) if draw == "across" else water_part._down(chains, 322.0)
    boxes = [label.box for label in drawing.labels]
    assert not [(a, b) for number, a in enumerate(boxes) for b in boxes[:number] if a.overlaps(b)]
    assert max(box.right_px for box in boxes) <= drawing.width_px
    assert max(box.bottom_px for box in boxes) <= drawing.height_px + 4.0
