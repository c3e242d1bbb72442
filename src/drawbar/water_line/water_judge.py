"""Whether a connection lights its heater and gives what is wanted, and no hotter than it may: a verdict with reasons.

A reason fails where the connection fails as drawn; it leaves the verdict open where an end of the tolerances, or what
the job does not say, could turn it. The codes of the reasons, whose place is the connection, and their details:

=================== ============================================================================================
code                details
=================== ============================================================================================
water-unknown       what, name: see `Missing`; others, how many more are; most_pa, what it may take at flow_m3_s
                    before the heater's least flow is not reached at worst, where that could be worked out
water-stalls        lift_m, how much higher the outlet is than the source's lowest water; pump_pa at no flow
water-unlit         flow_m3_s, least_m3_s
water-low-pressure  gauge_pa, least_pa
water-cool          outlet_k, wanted_k, flow_m3_s, wanted_m3_s (the flow that gives it), least_m3_s (nought where
                    it is not known): no flow gives it where wanted_m3_s is under that
water-warm          outlet_k, wanted_k, flow_m3_s: at the lowest the heater can be turned to, or as it is set
water-hot           outlet_k (BOILING_K where it would boil), limit_k, flow_m3_s, share of the input
water-no-limit      outlet_k, wanted_k, flow_m3_s: hotter than is wanted, and nothing says how hot it may be
=================== ============================================================================================
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from drawbar.hot_water import BOILING_K, outlet_k
from drawbar.hot_water import flow_m3_s as flow_for
from drawbar.physics.air import GRAVITY
from drawbar.physics.water import density_kg_m3
from drawbar.verdict import Reason, Verdict
from drawbar.water_line.water_ends import NO_TOLERANCE, FlowEnds, Missing, missing_drops, missing_heads
from drawbar.water_line.water_flow import left_pa
from drawbar.water_line.water_parts import Connection, Ends

if TYPE_CHECKING:
    from drawbar.rules import Tolerances

_CLOSE = 1e-6  # of a flow or a temperature: at the limit is within it


class Warmth(NamedTuple):
    """How warm the water comes at a share of the heater's input.

    Attributes
    ----------
    share : float
        The share [-].
    drawn_k, coldest_k, hottest_k : float
        As drawn, and at the ends of flow, input and source [K]; BOILING_K where it would boil.
    """

    share: float
    drawn_k: float
    coldest_k: float
    hottest_k: float


class HotEnds(NamedTuple):
    """A connection with its heater lit.

    Attributes
    ----------
    full : Warmth
        In full.
    lowest : Warmth or None
        Turned down as far as it goes; None where that is not known.
    used : Warmth
        As it is set, or turned to what is wanted; in full where that does not do.
    most_share : float
        The most that it may draw when used so, as a share of its input [-].
    wanted_m3_s : float or None
        The flow that it brings to what is wanted, in full [m3/s].
    """

    full: Warmth
    lowest: Warmth | None
    used: Warmth
    most_share: float
    wanted_m3_s: float | None


def hot_ends(connection: Connection, flows: FlowEnds, tolerances: Tolerances | None) -> HotEnds | None:
    """Return how warm a connection's water comes; None where no water flows or the efficiency is not known."""
    heater, temperatures_k = connection.heater, connection.source.temperature_k
    if heater.efficiency is None or temperatures_k is None or flows.drawn.flow_m3_s <= 0.0:
        return None
    off = tolerances or NO_TOLERANCE
    heat_w = heater.input_w * heater.efficiency
    cold_k, warm_k = temperatures_k
    middle_k = 0.5 * (cold_k + warm_k)

    def warmth(share: float) -> Warmth:
        return Warmth(
            share,
            _out_k(heat_w * share, flows.drawn.flow_m3_s, middle_k),
            _out_k(heat_w * share * (1.0 - off.input), flows.most.flow_m3_s, cold_k),
            _out_k(heat_w * share * (1.0 + off.input), flows.least.flow_m3_s, warm_k),
        )

    wanted_k = connection.wanted_k
    share, most_share, wanted_m3_s = connection.set_share or 1.0, connection.set_share or 1.0, None
    if wanted_k is not None and wanted_k[0] > middle_k:
        wanted_m3_s = flow_for(heat_w * share, middle_k, wanted_k[0])
        if connection.set_share is None and heater.least_share is not None:
            target_k = 0.5 * sum(wanted_k)
            share = _share_for(target_k, flows.drawn.flow_m3_s, middle_k, heat_w, heater.least_share)
            most_share = _share_for(wanted_k[1], flows.most.flow_m3_s, cold_k, heat_w, heater.least_share)
    lowest = warmth(heater.least_share) if heater.least_share is not None else None
    return HotEnds(warmth(1.0), lowest, warmth(share), most_share, wanted_m3_s)


def _share_for(wanted_k: float, flow_m3_s: float, cold_k: float, heat_w: float, least: float) -> float:
    """Return the share of a heater's input that brings a flow to a temperature, within what it can be turned to [-]."""
    if wanted_k <= cold_k:
        return least
    return max(least, min(1.0, flow_m3_s / flow_for(heat_w, cold_k, wanted_k)))


def _out_k(heat_w: float, flow_m3_s: float, cold_k: float) -> float:
    out_k = outlet_k(heat_w, flow_m3_s, cold_k) if flow_m3_s > 0.0 else None
    return BOILING_K if out_k is None else out_k


def water_reasons(
    connection: Connection, flows: FlowEnds | None, hot: HotEnds | None, limit_k: float | None
) -> Iterator[Reason]:
    """Yield why a connection does not pass.

    Parameters
    ----------
    connection : Connection
        The connection.
    flows : FlowEnds or None
        Where it settles; None where that can't be worked out.
    hot : HotEnds or None
        How warm it comes; None where that can't be worked out.
    limit_k : float or None
        The hottest that may reach its outlet [K]; None where nothing says it.

    Yields
    ------
    Reason
    """
    judge = _Judge(connection, flows, hot, limit_k)
    yield from sorted(judge.reasons(), key=lambda reason: reason.verdict is not Verdict.FAIL)


class _Judge(NamedTuple):
    connection: Connection
    flows: FlowEnds | None
    hot: HotEnds | None
    limit_k: float | None

    def reasons(self) -> Iterator[Reason]:
        yield from self._unknown()
        flows = self.flows
        if flows is None:
            return
        if flows.least.flow_m3_s <= 0.0:
            yield self._stalls(flows)  # a flow that was measured flows
        if flows.drawn.flow_m3_s <= 0.0:
            return
        lighting = list(self._lighting(flows))
        yield from lighting
        is_unlit = any(reason.verdict is Verdict.FAIL for reason in lighting)
        if not is_unlit and self.hot is not None and not self._flow_is_open:
            yield from self._temperature(flows, self.hot)

    @property
    def _flow_is_open(self) -> bool:
        """Whether what is not known could make the flow less."""
        return self.connection.measured_m3_s is None and bool(missing_drops(self.connection))

    def _unknown(self) -> Iterator[Reason]:
        connection, heater = self.connection, self.connection.heater
        drops = missing_drops(connection) if self._flow_is_open or heater.least_pa else []
        heads = missing_heads(connection)
        if connection.measured_m3_s is not None and not heater.least_pa:
            heads = [each for each in heads if each.what == "temperature"]
        rest = [
            *([Missing("efficiency", heater.name)] if heater.efficiency is None else []),
            *([Missing("least-flow", heater.name)] if heater.least_flow_m3_s is None else []),
            *([Missing("least-pressure", heater.name)] if heater.least_pa is None else []),
            *([] if connection.is_wanted_known else [Missing("wanted", connection.name)]),
        ]
        missing = [*heads, *drops, *rest]
        for each in missing:
            details: dict[str, float | str] = {"what": each.what, "name": each.name, "others": len(missing) - 1}
            if each in drops and len(drops) == 1 and self.flows is not None and heater.least_flow_m3_s:
                most_pa = left_pa(self.flows.least_line, heater.least_flow_m3_s)
                if most_pa > 0.0:
                    details |= {"most_pa": most_pa, "flow_m3_s": heater.least_flow_m3_s}
            yield self._reason("water-unknown", Verdict.UNDECIDED, details)

    def _stalls(self, flows: FlowEnds) -> Reason:
        line = flows.least_line
        lift_m = -line.lift_pa / density_kg_m3(line.cold_k) / GRAVITY
        details = {"lift_m": lift_m, "pump_pa": line.curve[0][1] if line.curve is not None else 0.0}
        verdict = Verdict.FAIL if flows.drawn.flow_m3_s <= 0.0 else Verdict.UNDECIDED
        return self._reason("water-stalls", verdict, details)

    def _lighting(self, flows: FlowEnds) -> Iterator[Reason]:
        heater = self.connection.heater
        least_m3_s, least_pa = heater.least_flow_m3_s, heater.least_pa
        drawn, at_worst = flows.drawn.flow_m3_s, flows.least.flow_m3_s
        if least_m3_s and min(drawn, at_worst) < least_m3_s * (1.0 - _CLOSE):
            fails = drawn < least_m3_s * (1.0 - _CLOSE)  # what is not known can but make the flow less
            details = {"flow_m3_s": drawn if fails else at_worst, "least_m3_s": least_m3_s}
            yield self._reason("water-unlit", Verdict.FAIL if fails else Verdict.UNDECIDED, details)
        is_known = self.connection.measured_m3_s is None or not missing_heads(self.connection)
        if least_pa and is_known and min(flows.drawn.heater_pa, flows.weakest_pa) < least_pa * (1.0 - _CLOSE):
            fails = flows.drawn.heater_pa < least_pa * (1.0 - _CLOSE)
            details = {"gauge_pa": flows.drawn.heater_pa if fails else flows.weakest_pa, "least_pa": least_pa}
            is_open = not fails or bool(missing_drops(self.connection))  # a drop behind the heater raises it
            yield self._reason("water-low-pressure", Verdict.UNDECIDED if is_open else Verdict.FAIL, details)

    def _temperature(self, flows: FlowEnds, hot: HotEnds) -> Iterator[Reason]:
        wanted_k, tempered_k = self.connection.wanted_k, self.connection.outlet.tempered_k
        hottest = hot.used if self.connection.set_share is not None else hot.full
        if wanted_k is not None:
            yield from self._against_wanted(flows, hot, wanted_k)
        if tempered_k is not None and (self.limit_k is None or tempered_k <= self.limit_k + _CLOSE):
            return
        limit_k = self.limit_k if self.limit_k is not None else BOILING_K - 1.0
        if max(hottest.drawn_k, hottest.hottest_k) > limit_k + _CLOSE:
            fails = hottest.drawn_k > limit_k + _CLOSE
            flow = flows.drawn if fails else flows.least
            details = {
                "outlet_k": hottest.drawn_k if fails else hottest.hottest_k,
                "limit_k": limit_k if self.limit_k is not None else math.nan,
                "flow_m3_s": flow.flow_m3_s,
                "share": hottest.share,
            }
            yield self._reason("water-hot", Verdict.FAIL if fails else Verdict.UNDECIDED, details)
        elif self.limit_k is None and wanted_k is not None and hot.used.drawn_k > wanted_k[1] + _CLOSE:
            details = {
                "outlet_k": hot.used.drawn_k,
                "wanted_k": wanted_k[1],
                "flow_m3_s": flows.drawn.flow_m3_s,
            }
            yield self._reason("water-no-limit", Verdict.UNDECIDED, details)

    def _against_wanted(self, flows: FlowEnds, hot: HotEnds, wanted_k: Ends) -> Iterator[Reason]:
        low_k, high_k = wanted_k
        tempered_k = self.connection.outlet.tempered_k
        is_set = self.connection.set_share is not None
        most = hot.used if is_set else hot.full
        drawn_k, coldest_k = most.drawn_k, most.coldest_k
        if tempered_k is not None:
            drawn_k, coldest_k = min(drawn_k, tempered_k), min(coldest_k, tempered_k)
        if min(drawn_k, coldest_k) < low_k - _CLOSE:
            fails = drawn_k < low_k - _CLOSE
            details = {
                "outlet_k": drawn_k if fails else coldest_k,
                "wanted_k": low_k,
                "flow_m3_s": (flows.drawn if fails else flows.most).flow_m3_s,
                "wanted_m3_s": hot.wanted_m3_s or 0.0,
                "least_m3_s": self.connection.heater.least_flow_m3_s or 0.0,
            }
            yield self._reason("water-cool", Verdict.FAIL if fails else Verdict.UNDECIDED, details)
        if high_k <= low_k or tempered_k is not None:
            return  # a single figure is the least that is wanted; a tempering valve mixes down
        lowest = hot.used if is_set else hot.lowest
        if lowest is None:
            if hot.full.hottest_k > high_k + _CLOSE:
                unknown: dict[str, float | str] = {
                    "what": "least-input",
                    "name": self.connection.heater.name,
                    "others": 0,
                }
                yield self._reason("water-unknown", Verdict.UNDECIDED, unknown)
        elif max(lowest.drawn_k, lowest.hottest_k) > high_k + _CLOSE:
            fails = lowest.drawn_k > high_k + _CLOSE
            details = {
                "outlet_k": lowest.drawn_k if fails else lowest.hottest_k,
                "wanted_k": high_k,
                "flow_m3_s": (flows.drawn if fails else flows.least).flow_m3_s,
            }
            yield self._reason("water-warm", Verdict.FAIL if fails else Verdict.UNDECIDED, details)

    def _reason(self, code: str, verdict: Verdict, details: dict[str, float | str] | dict[str, float]) -> Reason:
        return Reason(code, verdict, self.connection.name, dict(details))
