"""The model of a job file: which keys it has, what each may hold, and between which bounds a figure can be right."""

from __future__ import annotations

from drawbar import units
from drawbar.catalogue.particulars_fields import PARTICULARS
from drawbar.jobfile.gas_fields import Mixture
from drawbar.jobfile.space_fields import SPACES
from drawbar.jobfile.state_fields import SharesAndUse
from drawbar.jobfile.water_fields import water_model, water_run
from drawbar.yamlfile.bounds import BASIS, DIAMETER, DROP, GAUGE, HEAT, TARE, WATER_CAPACITY
from drawbar.yamlfile.fields import Either, Field, ListOf, Named, OrNone, Range, Record
from drawbar.yamlfile.scalars import FLAG, Name, Number, TextLine, of

# The most that one job may have: well over any trailer, and little enough that reading and telling problems stay quick.
MOST_RUNS = 200
MOST_OUTLETS = 40
MOST_HOSES = 40
MOST_APPLIANCES = 100
MOST_STATES = 40
MOST_CURVE_POINTS = 50
MOST_PLACES = 4_000  # of outlet and hose that the portable appliances may take, all together
MOST_PLACES_OF_STATES = 60_000  # counted anew in each state that the appliance is on in

SHARE = of(units.RATIO, "0 %", "100 %")
SHARE_OFF = of(units.RATIO, "0 %", "50 %")
RISE = of(units.LENGTH, "-50 m", "50 m")

DEVICE = Record(
    {
        "name": Field(Name(), "what the part is called"),
        "flow": Field(HEAT, "the flow of the maker's figure, as `60 MJ/h`"),
        "drop": Field(DROP, "the drop at that flow, as `40 Pa`"),
        "like": Field(Name(), "a device of the catalogue; the worse end of its typical range counts"),
        "basis": Field(BASIS, "gross or net, of a flow that is a heat rate"),
        "of": Field(Name(), "what the figure was taken with, air or a gas; without it the gas of the job"),
        "at": Field(GAUGE, "the pressure that it was taken at; without it that of the stage"),
    }
)
FITTINGS = Field(
    Named(Number(1, 200, whole=True), or_empty=True, form="each with its number, as `{elbow-90: 3}`"),
    "fittings by name and number, as `{elbow-90: 3}`",
)
DEVICES = Field(
    OrNone(ListOf(DEVICE), "a list, as `[{name: valve, flow: 60 MJ/h, drop: 40 Pa}]`, or `none`"),
    "parts with a maker's figure, as `[{name: valve, flow: 60 MJ/h, drop: 40 Pa}]`, or `none`",
)

OWN_PIPE = Record(
    {
        "bore": Field(of(units.LENGTH, "1 mm", "300 mm"), "the inside diameter, as `10.9 mm`", required=True),
        "roughness": Field(of(units.LENGTH, "0 mm", "1 mm"), "the wall's roughness, as `0.0015 mm`"),
        "measured": Field(FLAG, "yes if the bore was measured, not taken from a list"),
    }
)
PIPE = Either(ListOf(Name(), or_one=True), OWN_PIPE)
RUN_LENGTH = of(units.LENGTH, "1 mm", "1000 m")

CURVE_POINT = Record(
    {
        "load": Field(of(units.HEAT_RATE, "0 MJ/h", "100000 MJ/h"), "the load, as `20 MJ/h`", required=True),
        "pressure": Field(GAUGE, "the outlet pressure at that load, as `2.8 kPa`", required=True),
    }
)
REGULATOR = Record(
    {
        "outlet": Field(GAUGE, "the outlet pressure, as `2.75 kPa`", required=True),
        "capacity": Field(HEAT, "the rated capacity, as `180 MJ/h`"),
        "inlet-min": Field(GAUGE, "the lowest inlet pressure it works at, as `30 kPa`"),
        "basis": Field(BASIS, "gross or net, of a capacity that is a heat rate"),
        "count": Field(Number(1, 6, whole=True), "how many of the same stand side by side; `capacity` is of one"),
        "share": Field(
            of(units.RATIO, "20 %", "100 %"), "what several surely pass together, of all their capacities, as `80 %`"
        ),
        "accuracy": Field(SHARE_OFF, "its accuracy class, as `5 %` of the set pressure"),
        "lock-up": Field(GAUGE, "the most that its outlet rises to with nothing on, as `3.2 kPa`"),
        "curve": Field(
            ListOf(CURVE_POINT, most=MOST_CURVE_POINTS),
            "its outlet pressure against the load, as `[{load: 20 MJ/h, pressure: 2.8 kPa}, ...]`",
        ),
    }
)
STAGE = Record({**REGULATOR.fields, "inlet-min": Field(GAUGE, "the lowest inlet pressure, as `30 kPa`", required=True)})

RUN = Record(
    {
        "from": Field(Name(), "the name of the run it starts from, or `regulator`", required=True),
        "pipe": Field(PIPE, "a pipe, as `as1432-b/12.70`", required=True),
        "length": Field(RUN_LENGTH, "the length of pipe, as `3.6 m`", required=True),
        "rise": Field(RISE, "the height gained from start to end, as `0.5 m`"),
        "fittings": FITTINGS,
        "devices": DEVICES,
        "regulator": Field(STAGE, "a second-stage regulator at the start of the run"),
    }
)
OUTLET = Record(
    {
        "at": Field(Name(), "the run at whose end it is", required=True),
        "fittings": FITTINGS,
        "devices": DEVICES,
    }
)
HOSE = Record(
    {
        "pipe": Field(PIPE, "the hose's bore, as `hose/8`", required=True),
        "length": Field(RUN_LENGTH, "the length, as `1.5 m`", required=True),
        "rise": Field(RISE, "the height gained from outlet to appliance"),
        "count": Field(Number(1, 100, whole=True), "how many there are"),
        "fittings": FITTINGS,
        "devices": DEVICES,
    }
)
HEATS = Record(
    {
        "flow": Field(of(units.WATER_FLOW, "0.2 L/min", "100 L/min"), "the water flow, as `6 L/min`", required=True),
        "inlet": Field(of(units.TEMPERATURE, "0 degC", "60 degC"), "the cold water, as `15 degC`", required=True),
        "efficiency": Field(
            of(units.RATIO, "20 %", "110 %"),
            "the share of the gross heat that reaches the water, as `80 %`",
            required=True,
        ),
        "pipe": Field(
            Record(
                {
                    "bore": Field(of(units.LENGTH, "2 mm", "100 mm"), "the inside diameter", required=True),
                    "length": Field(RUN_LENGTH, "from heater to tap", required=True),
                }
            ),
            "the water pipe from heater to tap",
        ),
    }
)
APPLIANCE = Record(
    {
        "at": Field(Name(), "the run at whose end it is fixed"),
        "plugs-into": Field(ListOf(Name(), or_one=True), "the outlets it may be plugged into, or `any`"),
        "hose": Field(ListOf(Name(), or_one=True), "the hoses it may be plugged in with, `any`, or `none`"),
        "input": Field(
            Either(HEAT, Record({"like": Field(Name(), "an appliance of the catalogue", required=True)})),
            "the gas consumption, as `50 MJ/h`",
            required=True,
        ),
        "basis": Field(BASIS, "gross or net, of an input that is a heat rate"),
        "min-pressure": Field(of(units.PRESSURE, "0.1 kPa", "1000 kPa"), "the least pressure it works at"),
        "max-pressure": Field(of(units.PRESSURE, "0.1 kPa", "1000 kPa"), "the greatest inlet pressure it may have"),
        "smallest-burner": Field(HEAT, "the input of its smallest burner, as `7 MJ/h`"),
        "never-full": Field(FLAG, "yes if it is meant that no state has it on in full"),
        "used": Field(Name(), "where it is used: `inside`, `outside`, or the name of one of several spaces"),
        "room-sealed": Field(FLAG, "yes if its air and flue are sealed from the room"),
        "heats": Field(HEATS, "the water that an instantaneous water heater heats"),
    }
)
PIGTAIL = Record(
    {
        "flow": Field(HEAT, "the flow of the maker's figure, as `1.5 kg/h`", required=True),
        "drop": Field(of(units.PRESSURE, "1 Pa", "300 kPa"), "the drop at that flow, as `8 kPa`", required=True),
        "at": Field(GAUGE, "the pressure that it was taken at, as `200 kPa`", required=True),
        "of": Field(Name(), "what the figure was taken with, air or a gas; without it the gas of the job"),
        "basis": Field(BASIS, "gross or net, of a flow that is a heat rate"),
    }
)
CYLINDERS = Record(
    {
        "size": Field(of(units.MASS, "0.1 kg", "500 kg"), "the gas it holds when full, as `9 kg`", required=True),
        "like": Field(
            Name(), "the bottle of the catalogue that it is, where several hold as much, as `5-kg-composite`"
        ),
        "count": Field(Number(1, 50, whole=True), "how many there are"),
        "drawing": Field(Number(1, 50, whole=True), "from how many gas is drawn at once"),
        "changeover": Field(FLAG, "yes if they stand on two sides of a changeover, one drawn from at a time"),
        "pigtail": Field(PIGTAIL, "what is between a bottle and the regulator, with the maker's figure"),
        "fill": Field(of(units.RATIO, "1 %", "100 %"), "how full they are, as `50 %`"),
        "ambient": Field(of(units.TEMPERATURE, "-40 degC", "60 degC"), "the air around them, as `5 degC`"),
        "diameter": Field(DIAMETER, "the outside diameter of one of no usual size, as `305 mm`"),
        "water-capacity": Field(WATER_CAPACITY, "the whole volume inside, as stamped on it, as `21.6 L`"),
        "tare": Field(TARE, "its mass when empty, as stamped on it, as `9 kg`"),
    }
)
GAS = Either(Name(), Mixture(Named(SHARE)))
WATER_RUN = water_run(
    Field(PIPE, "a pipe or hose, as `hose/10`", required=True),
    Field(RUN_LENGTH, "its length, as `2.5 m`", required=True),
    FITTINGS,
)
WATER = water_model(WATER_RUN)
TOLERANCES = OrNone(
    Record(
        {
            "length": Field(SHARE_OFF, "of lengths, as `2 %`"),
            "bore": Field(of(units.LENGTH, "0 mm", "5 mm"), "of the bore of all pipe and hose, as `0.2 mm`"),
            "fittings": Field(of(units.RATIO, "0 %", "200 %"), "of the equivalent length of fittings, as `30 %`"),
            "input": Field(SHARE_OFF, "of the input on a data plate, as `5 %`"),
            "devices": Field(of(units.RATIO, "0 %", "200 %"), "of the drop of devices, as `20 %`"),
            "pump": Field(SHARE_OFF, "of the flow and the pressure of a water pump, as `10 %`"),
            "set-pressure": Field(SHARE_OFF, "of regulators that give no accuracy of their own, as `5 %`"),
            "gas": Field(GAS, "the gas there may be at the other end, as `{propane: 70 %, n-butane: 30 %}`"),
        }
    ),
    "a mapping, as `{length: 2 %, bore: 0.2 mm}`, or `none`",
)
JOB = Record(
    {
        "job": Field(TextLine(), "a title", required=True),
        "ref": Field(TextLine(), "the workshop's own number"),
        **PARTICULARS,
        "gas": Field(
            GAS,
            "a gas, as `propane`, or a mixture by mole, as `{propane: 70 %, n-butane: 30 %}`",
            required=True,
        ),
        "site": Field(
            Record(
                {
                    "temperature": Field(
                        Range(of(units.TEMPERATURE, "-40 degC", "60 degC")),
                        "of the gas in the pipe, as `15 degC` or `-5 to 45 degC`",
                    ),
                    "altitude": Field(
                        Range(of(units.LENGTH, "-400 m", "5000 m")), "of the place, as `0 m` or `0 to 1200 m`"
                    ),
                }
            ),
            "where the line is used",
        ),
        "rule": Field(Name(), "a rule set, as `as-nzs-5601.2`"),
        "limits": Field(
            Record({"drop": Field(DROP, "the allowed drop, as `0.25 kPa`", required=True)}), "limits of your own"
        ),
        "formula": Field(Name(), "the pressure-drop formula"),
        "regulator": Field(REGULATOR, "the regulator at the start, as `{outlet: 2.75 kPa}`", required=True),
        "cylinders": Field(CYLINDERS, "the bottles"),
        "runs": Field(Named(RUN, most=MOST_RUNS), "the pipe, run by run", required=True),
        "outlets": Field(Named(OUTLET, most=MOST_OUTLETS), "bayonets and other plug-in points"),
        "hoses": Field(Named(HOSE, most=MOST_HOSES), "the hoses there are"),
        "appliances": Field(Named(APPLIANCE, most=MOST_APPLIANCES), "each appliance with its input", required=True),
        "water": Field(WATER, "the water side of its heaters: sources, pumps, hoses, outlets, connections"),
        "space": Field(SPACES, "the living space that open-flued and flueless appliances stand in, or several by name"),
        "tolerances": Field(TOLERANCES, "how far the line as built may be from the line as drawn, or `none`"),
        "states": Field(
            Named(Either(ListOf(Name()), SharesAndUse(Named(SHARE))), most=MOST_STATES),
            "what is on together, as `[urn, fryer]` or `{shower: 100 %, for: 20 min, every: 1 h}`",
        ),
    },
)
