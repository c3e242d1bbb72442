"""The drawings of the sheet as geometry: no label on another or on a line, nothing outside, whatever the job."""

from itertools import combinations
from random import Random

import pytest

from drawbar.checking.check import check_job
from drawbar.checking.drawn_way import drawn_way
from drawbar.report.display import Shown
from drawbar.report.sheet import diagram, profile, tree_layout
from drawbar.report.sheet.geometry import Box, Drawing, Stroke, SvgLabel, SvgText, clipped, width_px
from drawbar.report.sheet.tree_layout import Node
from jobs import job_from
from random_jobs import job_text
from sheet_jobs import TINY, hostile_job, large_job

EDGE_PX = 0.01  # what floats lose


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    """Return the labels that stand on each other."""
    pairs = combinations([(label.text.text, shrunk(label)) for label in drawing.labels], 2)
    return [(text, other) for (text, box), (other, other_box) in pairs if box.overlaps(other_box)]


def shrunk(label: SvgLabel) -> Box:
    box = label.box
    return Box(box.left_px + EDGE_PX, box.top_px + EDGE_PX, box.right_px - EDGE_PX, box.bottom_px - EDGE_PX)


def crossed(drawing: Drawing) -> list[str]:
    """Return the labels that a line of the drawing, all of which are upright or level, goes through."""
    texts = []
    boxes = [(label.text.text, shrunk(label)) for label in drawing.labels]
    for stroke in drawing.strokes:
        for (x1, y1), (x2, y2) in zip(stroke.points, stroke.points[1:], strict=False):
            assert x1 == x2 or y1 == y2
            segment = Box(min(x1, x2) - 0.1, min(y1, y2) - 0.1, max(x1, x2) + 0.1, max(y1, y2) + 0.1)
            texts += [text for text, box in boxes if box.overlaps(segment)]
    return texts


def outside(drawing: Drawing) -> list[str]:
    """Return the labels that are not wholly on the drawing."""
    return [
        label.text.text
        for label in drawing.labels
        if label.box.left_px < 0.0
        or label.box.top_px < 0.0
        or label.box.right_px > drawing.width_px + EDGE_PX
        or label.box.bottom_px > drawing.height_px + EDGE_PX
    ]


def random_name(random: Random) -> str:
    letters = random.choice(("abcdefghij-", "WMQ@", "il.", "\u00e4\u0416\u05d0\u0639", "\u706b\u7089", "\U0001f525x"))
    return "".join(random.choice(letters) for _ in range(random.choice((1, 4, 9, 25, 60))))


def random_tree(random: Random, runs: int) -> Node:
    """Return a tree of so many runs with outlets, hoses and appliances, of any shape from a line to a star."""
    root = Node("regulator", above=[SvgText("regulator", "name")], below=[SvgText("2.75 kPa")])
    points = [root]
    reach = random.choice((1, 3, 30))
    for _ in range(runs):
        below = [SvgText("12.34 m, drop 0.123")] + [SvgText("regulator 2.75 kPa")] * (random.random() < 0.1)
        above = [SvgText(random_name(random), "name"), SvgText("as1432-b/12.70")]
        node = Node("point", above=above, below=below, regulated=len(below) == 2)
        random.choice(points[-reach:]).children.append(node)
        points.append(node)
    for point in points[1:]:
        for _ in range(random.choice((0, 0, 0, 1, 2)) or int(not point.children)):
            point.children.append(random_end(random))
    return root


def random_end(random: Random) -> Node:
    gets = [SvgText("2.612 kPa"), SvgText(random.choice(("PASS", "FAIL")), random.choice(("pass", "fail")))]
    end = Node("appliance", edge="link", beside=[[SvgText(random_name(random), "name"), SvgText("28 MJ/h")], gets])
    if random.random() < 0.5:
        return end
    end.edge, end.above, end.below = "hose", [SvgText(random_name(random))], [SvgText("1.5 m, drop 0.039")]
    children = [end, *(random_end(random) for _ in range(random.choice((0, 0, 1))))]
    return Node(
        "outlet", above=[SvgText(random_name(random), "name")], below=[SvgText("drop 0.021")], children=children
    )


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("way", ["across", "down", "narrow"])
def test_no_label_of_a_line_stands_on_another(seed: int, way: str) -> None:
    """Lines of 1 to 30 runs of any shape and with any names: labels keep clear of each other and of the pipes."""
    random = Random(seed)
    root = random_tree(random, random.randint(1, 30))
    drawing = tree_layout.across(root) if way == "across" else tree_layout.down(root, 540.0 if way == "down" else 340.0)
    assert overlaps(drawing) == []
    assert crossed(drawing) == []
    assert outside(drawing) == []
    if way != "across":
        assert drawing.width_px <= (540.0 if way == "down" else 340.0) + EDGE_PX


def text_of(drawing: Drawing) -> list[str]:
    return [label.text.text for label in drawing.labels]


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("stages", [False, True])
def test_all_of_a_job_is_drawn_and_nothing_overlaps(seed: int, stages: bool) -> None:  # noqa: FBT001 - a parameter
    """Every run, outlet and appliance that is on has its name once on the line, every appliance on the profile."""
    job = job_from(large_job(seed, stages=stages))
    result = check_job(job)
    drawn_state = drawn_way(result, result.states[0])
    root = diagram.tree_of(result, drawn_state)
    names = sorted([run.name for run in job.runs] + [outlet.name for outlet in job.outlets])
    on = sorted(appliance.name for appliance in drawn_state.appliances)
    for drawing in (tree_layout.across(root), tree_layout.down(root, 540.0), tree_layout.down(root, 340.0)):
        assert overlaps(drawing) == []
        assert crossed(drawing) == []
        assert outside(drawing) == []
        drawn = text_of(drawing)
        assert sorted(name for name in drawn if name in names) == names
        assert sorted(name for name in drawn if name in on) == on
        assert drawn.count("PASS") + drawn.count("FAIL") == len(on)
    for most_px in (720.0, 340.0, 330.0):
        drawing = profile.drawn(profile.panels_of(result, drawn_state), Shown(job.display), most_px)
        assert overlaps(drawing) == []
        assert outside(drawing) == []
        assert sorted(name for name in text_of(drawing) if name in on) == on


def test_hostile_names_are_cut_to_the_drawing() -> None:
    """A name of 60 wide letters ends in three dots on the drawing, and nothing overlaps."""
    result = check_job(job_from(hostile_job()))
    root = diagram.tree_of(result, drawn_way(result, result.states[0]))
    for drawing in (tree_layout.across(root), tree_layout.down(root, 340.0)):
        assert overlaps(drawing) == []
        assert outside(drawing) == []
        assert [text for text in text_of(drawing) if text.startswith("WWW")] == ["W" * 11 + "..."]


def test_an_overlap_is_found() -> None:
    """The checks above do see a label on a label, a line through a label, and a label outside."""
    drawing = Drawing(100.0, 50.0)
    drawing.write(10.0, 20.0, [SvgText("one")])
    assert overlaps(drawing) == []
    drawing.write(20.0, 26.0, [SvgText("two")])
    assert overlaps(drawing) == [("one", "two")]
    drawing.strokes.append(Stroke("pipe", ((0.0, 16.0), (15.0, 16.0))))
    assert crossed(drawing) == ["one"]
    drawing.write(90.0, 48.0, [SvgText("three")])
    assert outside(drawing) == ["three"]


def test_a_line_goes_straight_on_and_branches_go_under_it() -> None:
    """Across the page a run's first branch stands in its row, the others under it; each further to the right."""
    text = TINY.replace(
        "appliances:",
        "  left: {from: main, pipe: as1432-b/12.70, length: 1 m}\n"
        "  right: {from: main, pipe: as1432-b/12.70, length: 1 m}\nappliances:\n  hob: {at: left, input: 9 MJ/h}\n"
        "  grill: {at: right, input: 9 MJ/h}",
    )
    result = check_job(job_from(text))
    drawing = tree_layout.across(diagram.tree_of(result, drawn_way(result, result.states[0])))
    places = {label.text.text: (label.x_px, label.y_px) for label in drawing.labels}
    assert places["main"][1] == places["left"][1] < places["right"][1]
    assert places["main"][0] < places["left"][0] == places["right"][0]
    assert places["left"][0] < places["hob"][0]


def test_the_profile_starts_at_the_set_pressure_and_ends_at_the_appliances() -> None:
    """Stretches join end to end from the regulator's pressure to what each appliance gets; the limit is the rule's."""
    result = check_job(job_from(large_job(3)))
    job, state = result.job, drawn_way(result, result.states[0])
    (panel,) = profile.panels_of(result, state)
    assert panel.limit_gauge_pa == job.regulator.outlet_gauge_pa - job.allowed_drop_pa
    starts = {stretch.points[0] for stretch in panel.stretches}
    ends = {stretch.points[-1] for stretch in panel.stretches}
    first = profile.ProfilePoint(0.0, job.regulator.outlet_gauge_pa)
    assert first in starts
    assert all(
        any(start.far_m == end.far_m and abs(start.gauge_pa - end.gauge_pa) < 1e-6 for end in ends)
        for start in starts
        if start != first
    )
    gauges_pa = {appliance.name: appliance.gauge_pa for appliance in state.appliances}
    assert {end.name: end.at.gauge_pa for end in panel.ends} == gauges_pa


def test_each_set_pressure_has_a_panel() -> None:
    """A job of two stages has a panel for each, and the first one's line is the least inlet of the second stage."""
    result = check_job(job_from(job_text(Random(8), 30, stages=True, sized=True)))
    first, second = profile.panels_of(result, drawn_way(result, result.states[0]))
    assert (first.set_gauge_pa, second.set_gauge_pa) == (result.job.regulator.outlet_gauge_pa, 2750.0)
    assert (first.limit_gauge_pa, first.ends) == (30_000.0, ())
    assert second.limit_gauge_pa == 2500.0
    assert len(second.ends) == len(result.states[0].appliances)


def test_texts_are_cut_to_a_width() -> None:
    """A text that fits is kept; a longer one ends in three dots and fits."""
    assert clipped("galley", 100.0) == "galley"
    cut = clipped("galley-with-a-long-name", 60.0)
    assert cut.endswith("...")
    assert 45.0 < width_px(cut) <= 60.0
