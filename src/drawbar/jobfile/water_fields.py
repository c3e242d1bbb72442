"""The model of a job file's `water:`: its keys, what each may hold, and between which bounds a figure can be right."""

from __future__ import annotations

from drawbar import units
from drawbar.jobfile.state_fields import USE
from drawbar.yamlfile.fields import Field, ListOf, Named, OrNone, Range, Record
from drawbar.yamlfile.scalars import Name, Number, of

MOST_PARTS, _MOST_PIPES = 30, 60  # of each kind, and of runs
_MOST_RUNS = 20  # before the heater of a connection, and behind it
_MOST_IN_TURN, _MOST_STEPS = 20, 40  # of ways to use it in turn, and of what is used in each

_FLOW = of(units.WATER_FLOW, "0.2 L/min", "100 L/min")
_PRESSURE = of(units.PRESSURE, "0 Pa", "1000 kPa")
_DROP = of(units.PRESSURE, "1 Pa", "1000 kPa")
_HEIGHT = of(units.LENGTH, "-30 m", "30 m")
_WATER = of(units.TEMPERATURE, "0 degC", "60 degC")
_HOT = of(units.TEMPERATURE, "20 degC", "90 degC")
_CURRENT = Number(0, 100)
_SHARE = of(units.RATIO, "5 %", "100 %")
_TIME = of(units.TIME, "0 s", "12 h")

WATER_DEVICE = Record(
    {
        "name": Field(Name(), "what the part is called", required=True),
        "flow": Field(_FLOW, "the flow of the maker's figure, as `6 L/min`"),
        "drop": Field(_DROP, "the drop at that flow, as `10 kPa`"),
    }
)
WATER_SOURCE = Record(
    {
        "volume": Field(
            OrNone(of(units.VOLUME, "0.5 L", "5000 L"), "what it holds, as `80 L`, or `none`"),
            "what it holds when full, as `80 L`; `none` for open water, which has no end",
        ),
        "level": Field(Range(_HEIGHT), "how high its water stands over the heater, as `-0.4 m` or `-0.6 to -0.2 m`"),
        "temperature": Field(Range(_WATER), "of its water, as `15 degC` or `8 to 22 degC`"),
    }
)
_CURVE_POINT = Record(
    {
        "flow": Field(of(units.WATER_FLOW, "0 L/min", "100 L/min"), "the flow, as `6 L/min`", required=True),
        "pressure": Field(_PRESSURE, "the pressure at that flow, as `100 kPa`", required=True),
    }
)
WATER_PUMP = Record(
    {
        "open-flow": Field(_FLOW, "what it gives into the open, as `7.5 L/min`"),
        "shut-off": Field(of(units.PRESSURE, "1 kPa", "1000 kPa"), "its pressure at no flow, as `240 kPa`"),
        "curve": Field(ListOf(_CURVE_POINT, most=40), "points of its curve, as `[{flow: 6 L/min, pressure: 100 kPa}]`"),
        "current": Field(_CURRENT, "what it takes at 12 V, in ampere, as `4`"),
    }
)


def _devices() -> Field:
    form = "a list, as `[{name: filter, flow: 6 L/min, drop: 10 kPa}]`, or `none`"
    return Field(OrNone(ListOf(WATER_DEVICE), form), f"parts with a maker's figure: {form}")


def water_run(pipe: Field, length: Field, fittings: Field) -> Record:
    """Return the model of a run of the water side, with pipe, length and fittings as those of the gas side."""
    mass = Field(of(units.MASS_PER_LENGTH, "0.01 kg/m", "20 kg/m"), "the mass of a metre of it, as `0.15 kg/m`")
    return Record({"pipe": pipe, "length": length, "fittings": fittings, "devices": _devices(), "mass": mass})


WATER_HEATER = Record(
    {
        "efficiency": Field(
            of(units.RATIO, "20 %", "110 %"), "the share of the gross heat that reaches the water, as `80 %`"
        ),
        "flow": Field(_FLOW, "the flow of the drop beside it, as `6 L/min`"),
        "drop": Field(OrNone(_DROP, "a drop, as `20 kPa`, or `none`"), "what it takes at that flow, as `20 kPa`"),
        "least-flow": Field(
            OrNone(_FLOW, "a flow, as `2.5 L/min`, or `none`"), "the least flow that lights it, as `2.5 L/min`"
        ),
        "least-pressure": Field(
            OrNone(_PRESSURE, "a pressure, as `20 kPa`, or `none`"),
            "the least pressure at its inlet that lights it, as `20 kPa`, or `none`",
        ),
        "least-input": Field(
            OrNone(_SHARE, "a share of its input, as `40 %`, or `none`"),
            "the lowest it can be turned to, as `40 %` of its input; `none` if it can't",
        ),
    }
)
WATER_OUTLET = Record(
    {
        "flow": Field(_FLOW, "the flow of the drop beside it, as `6 L/min`"),
        "drop": Field(OrNone(_DROP, "a drop, as `30 kPa`, or `none`"), "what it takes at that flow, wide open"),
        "height": Field(_HEIGHT, "how high it is over the heater, as `0.6 m`"),
        "tempered": Field(_HOT, "what a tempering valve before it lets through at most, as `45 degC`"),
    }
)
CONNECTION = Record(
    {
        "source": Field(Name(), "the source", required=True),
        "pump": Field(Name(), "the pump, or `none` where it runs by its height", required=True),
        "cold": Field(
            OrNone(ListOf(Name(), or_one=True, most=_MOST_RUNS), "a list of runs, or `none`"),
            "the runs to the heater, as `[suction]`",
            required=True,
        ),
        "heater": Field(Name(), "the appliance that heats it", required=True),
        "hot": Field(
            OrNone(ListOf(Name(), or_one=True, most=_MOST_RUNS), "a list of runs, or `none`"),
            "the runs from the heater to the outlet",
            required=True,
        ),
        "outlet": Field(Name(), "the outlet", required=True),
        "wanted": Field(
            OrNone(Range(_HOT), "a temperature, as `40 degC` or `38 to 42 degC`, or `none`"),
            "the temperature wanted, as `40 degC` at least or `38 to 42 degC`, or `none`",
        ),
        "set": Field(_SHARE, "what the heater is set to, as `60 %` of its input; without it, to what is wanted"),
        "measured": Field(
            _FLOW, "its flow as measured, jug and clock, as `5.2 L/min`; it counts before the pump's curve"
        ),
        "with": Field(
            OrNone(ListOf(Name(), or_one=True), "a list of appliances, or `none`"),
            "the appliances on with it, or `none`: it is then a state of the gas side as well",
        ),
        **USE,
    }
)
IN_TURN = Record(
    {
        "use": Field(ListOf(Name(), most=_MOST_STEPS), "states in their order, as `[sink, shower]`", required=True),
        "pause": Field(_TIME, "the time between one and the next, as `5 min`"),
    }
)


def water_model(run: Record) -> Record:
    """Return the model of `water:`."""
    return Record(
        {
            "sources": Field(Named(WATER_SOURCE, most=MOST_PARTS), "tanks, cans, open water", required=True),
            "pumps": Field(Named(WATER_PUMP, most=MOST_PARTS), "the pumps"),
            "runs": Field(Named(run, most=_MOST_PIPES), "pipes and hoses"),
            "heaters": Field(
                Named(WATER_HEATER, most=MOST_PARTS), "by appliance, the water side of each heater", required=True
            ),
            "outlets": Field(Named(WATER_OUTLET, most=MOST_PARTS), "taps and roses", required=True),
            "connections": Field(Named(CONNECTION, most=MOST_PARTS), "the ways it is connected", required=True),
            "in-turn": Field(Named(IN_TURN, most=_MOST_IN_TURN), "states used one after the other from one bottle"),
            "hottest": Field(_HOT, "the hottest that may reach an outlet, in place of the rule's"),
        }
    )
