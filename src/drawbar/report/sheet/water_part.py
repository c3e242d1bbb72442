"""The water side on a sheet: a line diagram of each connection, and its table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from markupsafe import Markup

from drawbar.hot_water import BOILING_K
from drawbar.report.display import Shown
from drawbar.report.sheet.drawings import Figure
from drawbar.report.sheet.geometry import GAP_PX, LINE_PX, Drawing, Mark, Stroke, SvgLabel, SvgText
from drawbar.report.sheet.svgs import as_svg
from drawbar.report.water_screen import connections_table
from drawbar.water_line.water_answer import ConnectionResult
from drawbar.water_line.water_parts import WaterRun

_WIDE_PX, _NARROW_PX = 790.0, 322.0
_LEFT_PX = 6.0
_ROW_PX = 4.0 * LINE_PX
_HOSE = "hose/"


class _Piece(NamedTuple):
    """A sign or a run of the chain: the mark, or the stroke of a run, with the text over and under it."""

    mark: str | None
    stroke: str
    over: SvgText
    under: SvgText

    @property
    def width_px(self) -> float:
        return max(self.over.width_px, self.under.width_px) + 2.0 * GAP_PX


def water_view(results: Sequence[ConnectionResult], shown: Shown) -> dict[str, Any] | None:
    """Return the water side as the sheet's template shows it.

    Parameters
    ----------
    results : sequence of ConnectionResult
        The connections of the job.
    shown : Shown
        The units of the job.

    Returns
    -------
    dict or None
        `figure`, a Figure; `table`, a row a connection; None where the job says nothing of its water side.
    """
    if not results:
        return None
    chains = [(result, _chain(result, shown)) for result in results]
    title = "The water side"
    told = "; ".join(f"{result.connection.name}: {_told(result, shown)}" for result in results)
    drawings = (_across(chains), _down(chains, _NARROW_PX))
    if drawings[0].width_px > _WIDE_PX:
        drawings = (_down(chains, _WIDE_PX), drawings[1])
    svgs = (
        Markup(as_svg(drawing, f"water-{number}", title, f"{told}. Every figure stands in the table beside."))
        for number, drawing in enumerate(drawings)
    )
    return {"figure": Figure(*svgs), "table": connections_table(results, shown)}


def _told(result: ConnectionResult, shown: Shown) -> str:
    flow = "no flow known" if result.flows is None else shown.water_flow_unit(result.flows.drawn.flow_m3_s)
    return f"{flow}, {_outlet(result, shown)}, {result.verdict.word}"


def _outlet(result: ConnectionResult, shown: Shown) -> str:
    if result.is_unlit:
        return "cold"
    if result.hot is None:
        return "temperature not known"
    drawn_k = result.hot.used.drawn_k
    return "boils" if drawn_k >= BOILING_K else shown.temperature_unit(drawn_k)


def _chain(result: ConnectionResult, shown: Shown) -> list[_Piece]:
    connection, flows = result.connection, result.flows
    source = connection.source
    cold = "-" if flows is None else shown.temperature_unit(flows.drawn_line.cold_k)
    pieces = [_Piece("outlet", "", SvgText(source.name, "name"), SvgText(cold))]
    if connection.pump is not None:
        gives = "not known" if flows is None else shown.water_pressure_unit(flows.drawn.pump_pa)
        if connection.measured_m3_s is not None:
            gives = "flow measured"
        pieces.append(_Piece("regulator", "", SvgText(connection.pump.name, "name"), SvgText(gives)))
    pieces += [_run(run, shown) for run in connection.cold]
    flow = "flow not known" if flows is None else shown.water_flow_unit(flows.drawn.flow_m3_s)
    pieces.append(_Piece("appliance", "", SvgText(connection.heater.name, "name"), SvgText(flow)))
    pieces += [_run(run, shown) for run in connection.hot]
    pieces.append(_Piece("outlet", "", SvgText(connection.outlet.name, "name"), SvgText(_outlet(result, shown))))
    return pieces


def _run(run: WaterRun, shown: Shown) -> _Piece:
    kind = "hose" if run.pipe.label.startswith(_HOSE) else "pipe"
    return _Piece(None, kind, SvgText(run.name), SvgText(shown.length_unit(run.length_m)))


def _across(chains: Sequence[tuple[ConnectionResult, list[_Piece]]]) -> Drawing:
    """Draw each connection from left to right, one under the other."""
    drawing = Drawing()
    top_px = 0.0
    for result, pieces in chains:
        drawing.write(_LEFT_PX, top_px + LINE_PX, _title(result))
        y_px, x_px = top_px + 2.9 * LINE_PX, _LEFT_PX
        for number, piece in enumerate(pieces):
            if number < len(pieces) - 1:
                end_px = x_px + piece.width_px
                kind = piece.stroke or "pipe"
                drawing.strokes.append(Stroke(kind, ((x_px, y_px), (end_px, y_px))))
            if piece.mark is not None:
                drawing.marks.append(Mark(piece.mark, x_px, y_px))
            text_px = x_px + (0.0 if piece.mark is not None else GAP_PX)
            drawing.labels.append(SvgLabel(max(text_px - 3.0, 0.0), y_px - 7.0, piece.over))
            drawing.labels.append(SvgLabel(max(text_px - 3.0, 0.0), y_px + 7.0 + 9.0, piece.under))
            x_px += piece.width_px
        drawing.width_px = max(drawing.width_px, x_px)
        top_px += _ROW_PX + LINE_PX
    drawing.height_px = top_px
    return drawing


def _down(chains: Sequence[tuple[ConnectionResult, list[_Piece]]], width_px: float) -> Drawing:
    """Draw each connection from top to bottom, its texts beside the signs."""
    drawing = Drawing(width_px=width_px)
    y_px = 0.0
    for result, pieces in chains:
        drawing.write(_LEFT_PX, y_px + LINE_PX, [piece.clipped(width_px - 4.0 * LINE_PX) for piece in _title(result)])
        y_px += 2.2 * LINE_PX
        for number, piece in enumerate(pieces):
            if number < len(pieces) - 1:
                kind = piece.stroke or "pipe"
                drawing.strokes.append(Stroke(kind, ((_LEFT_PX, y_px), (_LEFT_PX, y_px + 1.4 * LINE_PX))))
            if piece.mark is not None:
                drawing.marks.append(Mark(piece.mark, _LEFT_PX, y_px))
            room_px = width_px - _LEFT_PX - 4.0 * GAP_PX - piece.under.width_px
            beside = [piece.over.clipped(room_px), piece.under]
            drawing.write(_LEFT_PX + 2.0 * GAP_PX, y_px + 4.0, beside)
            y_px += 1.4 * LINE_PX
        y_px += 0.4 * LINE_PX
    drawing.height_px = y_px
    return drawing


def _title(result: ConnectionResult) -> list[SvgText]:
    return [SvgText(result.connection.name, "name"), SvgText(result.verdict.word, result.verdict.value)]
