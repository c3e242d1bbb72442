"""The cautions that go with results. Each defers to the code in force and to licensed practice."""

from __future__ import annotations

AID = "This is a calculation aid. It does not say that an installation meets any code."
LICENCE = "Gas work is for a licensed gasfitter, who checks these figures and answers for the work."
LOCAL_CODE = "The local code in force prevails over every figure here."
PROVE = "Prove the finished line: a tightness test, then a working-pressure test at each appliance with all of them on."

IN_SHORT = "An aid: a licensed gasfitter answers for the work, the local code prevails, and the line is proved by test."

CHECK_CAUTIONS = (AID, LICENCE, LOCAL_CODE, PROVE)

SCALD = (
    "Hot water scalds, children, the old and the sick first: try it with the hand before anybody stands under it. A "
    "tempering valve keeps to what the code lets reach a basin, bath or shower."
)
SCALDS = "Hot water scalds: a tempering valve keeps to what the code lets reach a tap. The heater's book prevails."
HEATER_PLATE = (
    "The heater's data plate and book prevail: it lights only from a least flow, may turn itself down, and gives these "
    "figures only with clean burners and full gas pressure."
)
FROST = "Before frost drain heater, pump and hoses: water that freezes in them bursts them."
DRINKING = "Tanks, hoses and fittings for drinking water as the code in force says; open water is none."
HOTWATER_CAUTIONS = (SCALD, HEATER_PLATE, AID, LICENCE, LOCAL_CODE)
WATER_CAUTIONS = (SCALD, FROST, DRINKING, HEATER_PLATE, AID, LICENCE, LOCAL_CODE)

TAKEOFF_COUNTED = (
    "Counted is what the job file lists. Clips, sleeves, sealant, solder and what connects the bottles are not in it."
)
TAKEOFF_TEES = (
    "A tee stands once, in the size of the run that leaves it by its side, though both runs that leave it are charged "
    "with it."
)
TAKEOFF_PIECES = (
    "A run is cut as one piece. Cut again where its fittings stand it needs no more pipe. Take off what each fitting "
    "takes up."
)
TAKEOFF_CAUTIONS = (TAKEOFF_COUNTED, TAKEOFF_TEES, LICENCE)

NO_FLAME = "Never look for a leak with a flame. Use a leak-detection fluid or an instrument."
TEST_GAS = (
    "Test a new or opened line with air or an inert gas as the code in force says, never with oxygen. Shut off or take "
    "off what the test pressure would harm: regulators, appliance valves, manometers."
)
ANY_LOSS = "On LPG any loss of pressure is a leak until it is found and put right. Then test again."
PURGE_OUTDOORS = (
    "Purge outdoors, away from flames, sparks, drains and openings. LPG is heavier than air and lies in low places; "
    "from 2 % to 10 % in air it burns."
)
SIGNED = "A licensed person makes the test and the purge, and signs for them."
TIGHTNESS_CAUTIONS = (NO_FLAME, TEST_GAS, ANY_LOSS, PURGE_OUTDOORS, SIGNED, AID, LOCAL_CODE)

AS_BUILT = (
    "The prediction is of the line in the job file. Where the line as built differs, in length, fittings or sizes, "
    "readings differ with nothing at fault. A larger `noise` in the readings file allows for that."
)
POINTS_AT = (
    "A part that is named is where to look first, not a finding of fault: it assumes one fault at a time, readings "
    "with nothing else on, and a manometer no worse than stated."
)
COMMISSION_CAUTIONS = (AS_BUILT, POINTS_AT, AID, LICENCE, LOCAL_CODE)

NEVER_HEAT = (
    "Never warm a bottle: no flame, no hot water, no heater. If it gives too little, draw from more or larger bottles."
)
NEVER_HEAT_SHORT = "Never warm a bottle."
UPRIGHT = (
    "Bottles stand upright and tied, outdoors or in a locker vented low down, away from flames, sparks and drains: one "
    "that lies passes liquid into the line."
)
BOTTLE_CHANGE = "Before a bottle is changed, put out every flame nearby; then try the joint with leak-detection fluid."
STILL_AIR = (
    "The offtake is for still, dry air in the shade. Frost on the bottle, a closed locker or a night's cold give less, "
    "sun and wind more."
)
SUPPLY_CAUTIONS = (NEVER_HEAT, UPRIGHT, BOTTLE_CHANGE, STILL_AIR, AID, LICENCE, LOCAL_CODE)
