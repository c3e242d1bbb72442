"""A drawing as SVG, by the svg.py library, with a title and a description for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

import svg

from drawbar.report.sheet.geometry import MARK_PX, Drawing, Mark, Stroke, SvgLabel, is_measured

_TALL_PX = 2.0  # what some scripts stand out above Latin capitals
# The marks of the verdicts, a tick, a question mark and a cross, from the left end of their label's baseline.
_VERDICTS = {
    "pass": (((0.5, -4.0), (3.5, -0.5), (8.5, -8.0)),),
    "undecided": (
        ((1.5, -6.0), (2.0, -7.6), (4.0, -8.6), (6.2, -8.2), (7.2, -6.8), (6.6, -5.2), (4.4, -4.0), (4.4, -2.6)),
        ((4.4, -1.2), (4.4, 0.4)),
    ),
    "fail": (((0.5, -8.0), (8.5, 0.0), (4.5, -4.0), (8.5, -8.0), (0.5, 0.0)),),
}


# Inside the drawing, so that whatever renders it has its style. The page adds what a browser alone can: the colours of
# a dark screen, and a rim around texts that sets them off from lines.
STYLE = (
    "svg.drawing{font:11px Arial,'Liberation Sans',Helvetica,sans-serif}"
    "svg polyline{fill:none;stroke:#000;stroke-width:1;stroke-linejoin:round}"
    "svg .pipe{stroke-width:1.5}svg .worst{stroke-width:2.5}"
    "svg .hose{stroke-width:1.3;stroke-dasharray:4 3}"
    "svg .limit{stroke-width:1.3;stroke-dasharray:9 4 2 4}"
    "svg .leader{stroke:#777;stroke-width:.7}svg .verdict{stroke-width:2}"
    "svg .full{fill:#000}svg .open{fill:#fff;stroke:#000;stroke-width:1.3}"
    "svg text{fill:#000}"
    "svg .name,svg .pass,svg .undecided,svg .fail{font-weight:bold}"
    "svg .ends{text-anchor:end}"
)


def as_svg(drawing: Drawing, name: str, title: str, description: str) -> str:
    """Return a drawing as an SVG element.

    Parameters
    ----------
    drawing : Drawing
        What is drawn.
    name : str
        What sets its ids apart from those of the page's other drawings.
    title, description : str
        What it shows, in a few words and in a sentence or two.

    Returns
    -------
    str
        The element, every text of it escaped.
    """
    ids = f"{name}-title", f"{name}-description"
    shapes: list[svg.Element] = [
        svg.Style(text=STYLE),
        svg.Title(id=ids[0], text=escape(title)),
        svg.Desc(id=ids[1], text=escape(description)),
    ]
    shapes += [_stroke(stroke) for stroke in drawing.strokes]
    shapes += [_mark(mark.kind, mark) for mark in drawing.marks]
    for label in drawing.labels:
        shapes += _label(label)
    width, height = _px(drawing.width_px), _px(drawing.height_px)
    element = svg.SVG(
        xmlns=None,  # inside an HTML page it needs none
        viewBox=svg.ViewBoxSpec(0, 0, width, height),
        width=width,
        height=height,
        class_=["drawing"],
        extra={"role": "img", "aria-labelledby": " ".join(ids)},
        elements=shapes,
    )
    return str(element)


def _px(value: float) -> float:
    return round(value, 1)


def _stroke(stroke: Stroke) -> svg.Element:
    return _polyline(stroke.kind, stroke.points)


def _polyline(kind: str, points: Iterable[tuple[float, float]]) -> svg.Element:
    return svg.Polyline(points=[svg.Point(_px(x), _px(y)) for x, y in points], class_=[kind])


def _mark(kind: str, mark: Mark) -> svg.Element:
    x, y = _px(mark.x_px), _px(mark.y_px)
    if kind == "regulator":
        return svg.Rect(x=x - 3.5, y=y - 5.5, width=7, height=11, class_=["full"])
    if kind == "appliance":
        return svg.Rect(x=x - 3.5, y=y - 3.5, width=7, height=7, class_=["open"])
    return svg.Circle(cx=x, cy=y, r=3.5 if kind == "outlet" else 2.2, class_=["open" if kind == "outlet" else "full"])


def _label(label: SvgLabel) -> list[svg.Element]:
    text, box = label.text, label.box
    shapes: list[svg.Element] = []
    left = box.left_px
    if text.kind in _VERDICTS:
        for points in _VERDICTS[text.kind]:
            shapes.append(_polyline("verdict", ((left + x, label.y_px + y) for x, y in points)))
        left += MARK_PX
    kinds = [text.kind, *(["ends"] if label.ends else [])]
    if is_measured(text.text):
        x = box.right_px if label.ends else left
        shapes.append(svg.Text(x=_px(x), y=_px(label.y_px), text=escape(text.text), class_=kinds))
    else:
        # Letters whose widths are not known stand in a window, which cuts off what has no room.
        words = svg.Text(x=0, y=_px(label.y_px - box.top_px + _TALL_PX), text=escape(text.text), class_=kinds)
        shapes.append(
            svg.SVG(
                xmlns=None,
                x=_px(left),
                y=_px(box.top_px - _TALL_PX),
                width=_px(box.right_px - left),
                height=_px(box.bottom_px - box.top_px + _TALL_PX),
                elements=[words],
            )
        )
    return shapes
