"""Bad files through the whole program: what is said, where, exit code 2, and what it costs in time and memory."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from drawbar.cli.main import main
from drawbar.jobfile import model
from good_job import GOOD
from paths import SUPPORT

# Keys as messages list them: all of a table's, or the first twelve of many.
APPLIANCE_KEYS = ", ".join(model.APPLIANCE.fields)
REGULATOR_KEYS = ", ".join(model.REGULATOR.fields)
JOB_KEYS = ", ".join(list(model.JOB.fields)[:12]) + f" and {len(model.JOB.fields) - 12} more"

# (what is wrong, a piece of GOOD, what stands in its place, what is said after the file's name).
# None for the piece: the text is added at the end.
CASES: list[tuple[str, str | None, str, list[str]]] = [
    (
        "pressure for a length",
        "length: 3.6 m",
        "length: 3.6 kPa",
        ["6:57: runs.main.length: `kPa` is not a unit of length; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "MJ/m3 for a pressure",
        "outlet: 2.75 kPa",
        "outlet: 3.6 MJ/m3",
        [
            "4:21: regulator.outlet: `MJ/m3` is not a unit of pressure; write a number and one of Pa, "
            "kPa, mbar, bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "share for a pressure",
        "limits: {drop: 0.25 kPa}",
        "limits: {drop: 5 %}",
        [
            "3:16: limits.drop: `%` is not a unit of pressure; write a number and one of Pa, kPa, mbar, "
            "bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "bare number",
        "length: 3.6 m",
        "length: 3.6",
        ["6:57: runs.main.length: `3.6` has no unit; write one of mm, cm, m, in, ft behind it"],
    ),
    (
        "bare share",
        None,
        "cylinders: {size: 9 kg, fill: 0.5}\n",
        ["14:31: cylinders.fill: `0.5` has no unit; write % behind it"],
    ),
    (
        "capital M for metres",
        "length: 3.6 m",
        "length: 3.6 M",
        ["6:57: runs.main.length: `M` is not a unit here; did you mean `m`?"],
    ),
    (
        "small kpa",
        "outlet: 2.75 kPa",
        "outlet: 2.75 kpa",
        ["4:21: regulator.outlet: `kpa` is not a unit here; did you mean `kPa`?"],
    ),
    (
        "metres in full",
        "length: 3.6 m",
        "length: 3.6 metres",
        ["6:57: runs.main.length: `metres` is not a unit here; did you mean `m`?"],
    ),
    (
        "inches of water in trade spelling",
        "outlet: 2.75 kPa",
        'outlet: 11 "wc',
        ['4:21: regulator.outlet: `"wc` is not a unit here; did you mean `inH2O`?'],
    ),
    (
        "mb is not millibar",
        "outlet: 2.75 kPa",
        "outlet: 27.5 mb",
        ["4:21: regulator.outlet: `mb` is not a unit here; did you mean `mbar`?"],
    ),
    (
        "gauge written out",
        "outlet: 2.75 kPa",
        "outlet: 2.75 kPag",
        ["4:21: regulator.outlet: `kPag` is not a unit here; did you mean `kPa`?"],
    ),
    (
        "BTU without an hour",
        "input: 50 MJ/h",
        "input: 45000 BTU",
        ["12:28: appliances.fryer.input: `BTU` is not a unit here; did you mean `Btu/h`?"],
    ),
    (
        "energy for a rate",
        "input: 50 MJ/h",
        "input: 30 kWh",
        [
            "12:28: appliances.fryer.input: `kWh` is not a unit of heat rate or mass flow or gas flow; "
            "write a number and one of MJ/h, kW, W, Btu/h, kg/h, g/h, m3/h"
        ],
    ),
    (
        "1e999",
        "outlet: 2.75 kPa",
        "outlet: 1e999 kPa",
        [
            "4:21: regulator.outlet: `1e999 kPa` is not a finite number; write a number and one of Pa, "
            "kPa, mbar, bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "nan",
        "length: 3.6 m",
        "length: nan m",
        ["6:57: runs.main.length: `nan m` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "inf",
        "outlet: 2.75 kPa",
        "outlet: inf kPa",
        [
            "4:21: regulator.outlet: `inf kPa` is not a number and a unit; write a number and one of Pa, "
            "kPa, mbar, bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "a power tower",
        "outlet: 2.75 kPa",
        "outlet: 9**9**9 kPa",
        [
            "4:21: regulator.outlet: `9**9**9 kPa` is not a number and a unit; write a number and one of "
            "Pa, kPa, mbar, bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "a length of minus nothing",
        "length: 3.6 m",
        "length: -0 m",
        ["6:57: runs.main.length: `-0 m` can't be right; write from 1 mm to 1000 m"],
    ),
    (
        "negative length",
        "length: 3.6 m",
        "length: -3 m",
        ["6:57: runs.main.length: `-3 m` can't be right; write from 1 mm to 1000 m"],
    ),
    (
        "decimal comma in brackets",
        "outlet: 2.75 kPa",
        "outlet: 2,75 kPa",
        [
            "4:21: regulator.outlet: `2` has no unit; write one of Pa, kPa, mbar, bar, mmH2O, inH2O, psi behind it",
            "4:23: regulator.75 kPa: is not a key here; if it is the rest of a number, write decimals after a point",
        ],
    ),
    (
        "blank between thousands",
        "outlet: 2.75 kPa",
        "outlet: 1 000 Pa",
        [
            "4:21: regulator.outlet: `1 000 Pa` is not a number and a unit; write a number and one of "
            "Pa, kPa, mbar, bar, mmH2O, inH2O, psi"
        ],
    ),
    (
        "Arabic digits",
        "length: 3.6 m",
        "length: ٣ m",
        ["6:57: runs.main.length: `٣ m` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "fullwidth digits",
        "length: 3.6 m",
        "length: \uff13 m",
        ["6:57: runs.main.length: `\uff13 m` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "a fraction of an inch",
        "pipe: as1432-b/12.70",
        "pipe: {bore: 3/8 in}",
        ["6:40: runs.main.pipe.bore: `3/8 in` is a fraction; write it as a decimal: `0.375 in`"],
    ),
    (
        "a fraction with a whole",
        "pipe: as1432-b/12.70",
        "pipe: {bore: 1 1/4 in}",
        ["6:40: runs.main.pipe.bore: `1 1/4 in` is a fraction; write it as a decimal: `1.25 in`"],
    ),
    (
        "digits without end",
        "length: 3.6 m",
        "length: " + "1" * 20_000 + " m m",
        [
            "6:57: runs.main.length: `1111111111111111111111111111111111111...` is not a number and a "
            "unit; write a number and one of mm, cm, m, in, ft"
        ],
    ),
    (
        "underscore in a number",
        "length: 3.6 m",
        "length: 1_000 m",
        ["6:57: runs.main.length: `1_000 m` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "hexadecimal",
        "length: 3.6 m",
        "length: 0x10 m",
        ["6:57: runs.main.length: `0x10 m` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    (
        "null",
        "length: 3.6 m",
        "length: ~",
        ["6:57: runs.main.length: `~` is not a number and a unit; write a number and one of mm, cm, m, in, ft"],
    ),
    ("empty value", "length: 3.6 m", "length: ", ["6:57: runs.main.length: is empty; write a number and a unit"]),
    ("empty quotes", "length: 3.6 m", 'length: ""', ["6:57: runs.main.length: is empty; write a number and a unit"]),
    (
        "a drop of 3000 kPa",
        "limits: {drop: 0.25 kPa}",
        "limits: {drop: 3000 kPa}",
        ["3:16: limits.drop: `3000 kPa` can't be right; write from 1 Pa to 100 kPa"],
    ),
    (
        "a bore of 12 m",
        "pipe: as1432-b/12.70",
        "pipe: {bore: 12 m}",
        ["6:40: runs.main.pipe.bore: `12 m` can't be right; write from 1 mm to 300 mm"],
    ),
    (
        "an appliance of 30 000 MJ/h",
        "input: 50 MJ/h",
        "input: 30000 MJ/h",
        ["12:28: appliances.fryer.input: `30000 MJ/h` can't be right; write from 0.1 MJ/h to 5000 MJ/h"],
    ),
    (
        "an appliance of 500 m3/h",
        "input: 50 MJ/h",
        "input: 500 m3/h",
        [
            "12:28: appliances.fryer.input: `500 m3/h` is 47,806 MJ/h, which can't be right; write from "
            "0.1 MJ/h to 5000 MJ/h"
        ],
    ),
    (
        "an appliance of nothing",
        "input: 50 MJ/h",
        "input: 0 MJ/h",
        ["12:28: appliances.fryer.input: `0 MJ/h` can't be right; write from 0.1 MJ/h to 5000 MJ/h"],
    ),
    (
        "rise over length",
        "length: 3.6 m",
        "length: 3.6 m, rise: 5 m",
        ["6:70: runs.main.rise: is more than the length of the run; write the height gained from start to end"],
    ),
    (
        "fall over length",
        "length: 3.6 m",
        "length: 3.6 m, rise: -3.7 m",
        ["6:70: runs.main.rise: is more than the length of the run; write the height gained from start to end"],
    ),
    (
        "rise of a hose over its length",
        "1.5 m",
        "1.5 m, rise: 2 m",
        [
            "10:45: hoses.hose.rise: is more than the length of the hose; write the height gained from "
            "outlet to appliance"
        ],
    ),
    (
        "fill 120 %",
        None,
        "cylinders: {size: 9 kg, fill: 120 %}\n",
        ["14:31: cylinders.fill: `120 %` can't be right; write from 1 % to 100 %"],
    ),
    (
        "below absolute zero",
        None,
        "site: {temperature: -300 degC}\n",
        ["14:21: site.temperature: `-300 degC` can't be right; write from -40 degC to 60 degC"],
    ),
    (
        "over the highest road",
        None,
        "site: {altitude: 9000 m}\n",
        ["14:18: site.altitude: `9000 m` can't be right; write from -400 m to 5000 m"],
    ),
    (
        "roughness over the bore",
        "pipe: as1432-b/12.70",
        "pipe: {bore: 10 mm, roughness: 1 mm}",
        [
            "6:58: runs.main.pipe.roughness: is over a twentieth of the bore; write up to 0.5 mm, as far "
            "as Colebrook's formula holds"
        ],
    ),
    (
        "no elbow",
        "length: 3.6 m",
        "length: 3.6 m, fittings: {elbow-90: 0}",
        ["6:85: runs.main.fittings.elbow-90: `0` can't stand here; write a whole number from 1 to 200, without a unit"],
    ),
    (
        "half an elbow",
        "length: 3.6 m",
        "length: 3.6 m, fittings: {elbow-90: 1.5}",
        [
            "6:85: runs.main.fittings.elbow-90: `1.5` can't stand here; write a whole number from 1 to "
            "200, without a unit"
        ],
    ),
    (
        "drawn from more than there are",
        None,
        "cylinders: {size: 9 kg, count: 2, drawing: 3}\n",
        ["14:44: cylinders.drawing: 3 can't be drawn from, as the count is 2; write at most the count"],
    ),
    (
        "regulator that raises the pressure",
        "length: 3.6 m",
        "length: 3.6 m, regulator: {inlet-min: 1 kPa, outlet: 2 kPa}",
        [
            "6:87: runs.main.regulator.inlet-min: is not above the outlet pressure; a regulator can only "
            "lower a pressure"
        ],
    ),
    (
        "second stage asks for more than supply",
        "length: 3.6 m",
        "length: 3.6 m, regulator: {inlet-min: 30 kPa, outlet: 2.75 kPa}",
        [
            "6:87: runs.main.regulator.inlet-min: is above the 2.75 kPa that the stage before it gives; "
            "raise that stage's outlet, or choose a regulator that works at less"
        ],
    ),
    (
        "second stage behind a second stage asks for more",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "runs:\n  one: {from: regulator, pipe: hose/8, length: 1 m, regulator: {inlet-min: 2 kPa, "
        "outlet: 1.5 kPa}}\n  two: {from: one, pipe: hose/8, length: 1 m}\n  main: {from: two, pipe: "
        "hose/8, length: 1 m, regulator: {inlet-min: 1.6 kPa, outlet: 1 kPa}}\n",
        [
            "8:71: runs.main.regulator.inlet-min: is above the 1.5 kPa that the stage before it gives; "
            "raise that stage's outlet, or choose a regulator that works at less"
        ],
    ),
    (
        "needs more than the regulator gives",
        "input: 50 MJ/h",
        "input: 50 MJ/h, min-pressure: 2.75 kPa",
        ["12:51: appliances.fryer.min-pressure: is not below the regulator's 2.75 kPa; no line can give it that"],
    ),
    (
        "shares of 70 %",
        "gas: propane",
        "gas: {propane: 70 %}",
        ["2:6: gas: the shares add up to 70 %; make them 100 % by mole"],
    ),
    (
        "shares of 110 %",
        "gas: propane",
        "gas: {propane: 70 %, n-butane: 40 %}",
        ["2:6: gas: the shares add up to 110 %; make them 100 % by mole"],
    ),
    (
        "a burner at a thousandth",
        None,
        "states: {a: {fryer: 0.1 %}}\n",
        ["14:14: states.a.fryer: burns at 0.1 %; write 0 % for off, or from 1 % to 100 %"],
    ),
    ("list for a title", "job: t", "job: [t]", ["1:6: job: is a list; write a line of text"]),
    (
        "mapping for a gas rate",
        "input: 50 MJ/h",
        "input: {at: 3}",
        [
            "12:28: appliances.fryer.input: `like` is missing; write `like:` and an appliance of the catalogue",
            "12:29: appliances.fryer.input.at: is not a key here; known here: like",
        ],
    ),
    (
        "text for a site",
        None,
        "site: 3\n",
        ["14:7: site: is the text `3`; write `{KEY: VALUE, ...}` with keys from temperature, altitude"],
    ),
    (
        "text for an appliance",
        "{at: main, input: 50 MJ/h}",
        "50 MJ/h",
        ["12:10: appliances.fryer: is the text `50 MJ/h`; write `{KEY: VALUE, ...}` with keys from " + APPLIANCE_KEYS],
    ),
    (
        "list for an appliance",
        "{at: main, input: 50 MJ/h}",
        "[a]",
        ["12:10: appliances.fryer: is a list; write `{KEY: VALUE, ...}` with keys from " + APPLIANCE_KEYS],
    ),
    (
        "nothing for an appliance",
        "{at: main, input: 50 MJ/h}",
        "",
        ["12:9: appliances.fryer: is empty; write `{KEY: VALUE, ...}` with keys from " + APPLIANCE_KEYS],
    ),
    (
        "list for runs",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "runs: [main]\n",
        ["5:7: runs: is a list; write `NAME: ...` for each"],
    ),
    ("text for states", None, "states: fryer\n", ["14:9: states: is the text `fryer`; write `NAME: ...` for each"]),
    (
        "text for a state",
        None,
        "states: {a: fryer}\n",
        ["14:13: states.a: is the text `fryer`; write a list, as `[ONE, OTHER]`"],
    ),
    (
        "mapping in a state list",
        None,
        "states: {a: [{fryer: 50 %}]}\n",
        ["14:14: states.a: is a mapping (`key: value`); write a name"],
    ),
    (
        "list for fittings",
        "length: 3.6 m",
        "length: 3.6 m, fittings: [elbow-90]",
        ["6:74: runs.main.fittings: is a list; write each with its number, as `{elbow-90: 3}`"],
    ),
    (
        "mapping for devices",
        "length: 3.6 m",
        "length: 3.6 m, devices: {name: x}",
        ["6:73: runs.main.devices: is a mapping (`key: value`); write a list, as `[ONE, OTHER]`"],
    ),
    (
        "text for a device",
        "length: 3.6 m",
        "length: 3.6 m, devices: [valve]",
        [
            "6:74: runs.main.devices: is the text `valve`; write `{KEY: VALUE, ...}` with keys from "
            "name, flow, drop, basis"
        ],
    ),
    (
        "text for the regulator",
        "regulator: {outlet: 2.75 kPa}\n",
        "regulator: 2.75 kPa\n",
        ["4:12: regulator: is the text `2.75 kPa`; write `{KEY: VALUE, ...}` with keys from " + REGULATOR_KEYS],
    ),
    ("list for a name", "from: regulator", "from: [a]", ["6:16: runs.main.from: is a list; write a name"]),
    ("list for a key", "runs:", "? [a]\n: b\nruns:", ["5:3: a key is a list; write a word"]),
    ("mapping for a name", "  main:", "  {a: b}: x\n  main:", ["6:3: runs: is a mapping (`key: value`); write a name"]),
    (
        "a word for a count",
        "1.5 m",
        "1.5 m, count: two",
        ["10:46: hoses.hose.count: `two` can't stand here; write a whole number from 1 to 100, without a unit"],
    ),
    ("no title", "job: t\n", "", ["1:1: `job` is missing; write `job:` and a title"]),
    (
        "no gas",
        "gas: propane\n",
        "",
        [
            "1:1: `gas` is missing; write `gas:` and a gas, as `propane`, or a mixture by mole, as "
            "`{propane: 70 %, n-butane: 30 %}`"
        ],
    ),
    (
        "no regulator",
        "regulator: {outlet: 2.75 kPa}\n",
        "",
        ["1:1: `regulator` is missing; write `regulator:` and the regulator at the start, as `{outlet: 2.75 kPa}`"],
    ),
    (
        "no runs",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "",
        ["1:1: `runs` is missing; write `runs:` and the pipe, run by run"],
    ),
    (
        "no appliances",
        "appliances:\n  fryer: {at: main, input: 50 MJ/h}\n  urn: {plugs-into: any, hose: hose, input: 21 MJ/h}\n",
        "",
        ["1:1: `appliances` is missing; write `appliances:` and what burns gas"],
    ),
    (
        "no limit",
        "limits: {drop: 0.25 kPa}\n",
        "",
        [
            "1:1: no allowed pressure drop is given; write `rule: NAME` (see `drawbar list rules`) or "
            "`limits: {drop: 0.25 kPa}`"
        ],
    ),
    (
        "limits without drop",
        "limits: {drop: 0.25 kPa}",
        "limits: {}",
        ["3:9: limits: `drop` is missing; write `drop:` and the allowed drop, as `0.25 kPa`"],
    ),
    (
        "run without from",
        "from: regulator, ",
        "",
        ["6:9: runs.main: `from` is missing; write `from:` and the name of the run it starts from, or `regulator`"],
    ),
    (
        "second stage without its inlet",
        "length: 3.6 m",
        "length: 3.6 m, regulator: {outlet: 2 kPa}",
        [
            "6:75: runs.main.regulator: `inlet-min` is missing; write `inlet-min:` and the lowest inlet "
            "pressure, as `30 kPa`"
        ],
    ),
    (
        "appliance without input",
        ", input: 50 MJ/h",
        "",
        ["12:10: appliances.fryer: `input` is missing; write `input:` and the gas consumption, as `50 MJ/h`"],
    ),
    (
        "space without vents",
        None,
        "space: {berths: 2}\n",
        ["14:8: space: `vents` is missing; write `vents:` and the free area of its vents, as `52000 mm2`"],
    ),
    ("key misspelt", None, "runz: {}\n", ["14:1: runz: is not a key here; did you mean `runs`?"]),
    (
        "key that is none",
        None,
        "colour: red\n",
        ["14:1: colour: is not a key here; known here: " + JOB_KEYS],
    ),
    (
        "key misspelt deep down",
        "pipe: as1432-b/12.70",
        "pipe: {bore: 10 mm, rough: 0.1 mm}",
        ["6:47: runs.main.pipe.rough: is not a key here; did you mean `roughness`?"],
    ),
    (
        "on for at",
        "{at: main, input: 50 MJ/h}",
        "{on: main, input: 3 MJ/h}",
        [
            "12:10: appliances.fryer: is connected to nothing; write `at: RUN` if it is fixed, "
            "`plugs-into: OUTLET` if it is portable",
            "12:11: appliances.fryer.on: is not a key here; known here: " + APPLIANCE_KEYS,
        ],
    ),
    ("key twice", None, "job: again\n", ["14:1: job: stands here a second time, first on line 1; keep one"]),
    (
        "key twice in a run",
        "from: regulator",
        "from: regulator, from: regulator",
        ["6:27: runs.main.from: stands here a second time, first on line 6; keep one"],
    ),
    (
        "merge key",
        None,
        "<<: {ref: a}\n",
        ["14:1: <<: is not a key here; known here: " + JOB_KEYS],
    ),
    (
        "key of no letters",
        "runs:",
        '"": 3\nruns:',
        ["5:1: ``: is not a key here; known here: " + JOB_KEYS],
    ),
    (
        "key with a line break",
        "runs:",
        '"ru\\nns": 3\nruns:',
        ["5:1: ru\\nns: is not a key here; did you mean `runs`?"],
    ),
    (
        "key with an escape code",
        "runs:",
        '"\\e[31m": 3\nruns:',
        ["5:1: \\x1b[31m: is not a key here; known here: " + JOB_KEYS],
    ),
    (
        "name twice in a section",
        "urn:",
        "fryer:",
        ["13:3: appliances.fryer: stands here a second time; give each its own name"],
    ),
    (
        "name in two sections",
        "urn:",
        "main:",
        ["13:3: appliances.main: the name is taken by one of the runs, line 6; choose another"],
    ),
    (
        "hose named like an outlet",
        "  hose:",
        "  bay:",
        [
            "10:3: hoses.bay: the name is taken by one of the outlets, line 8; choose another",
            "13:32: appliances.urn.hose: `hose` is not a hose of this job; known here: bay",
        ],
    ),
    (
        "reserved name regulator",
        "urn:",
        "regulator:",
        ["13:3: appliances.regulator: `regulator` has a meaning of its own; choose another name"],
    ),
    (
        "reserved name any",
        "  bay:",
        "  any:",
        ["8:3: outlets.any: `any` has a meaning of its own; choose another name"],
    ),
    (
        "reserved name auto",
        "  main:",
        "  auto: {from: main, pipe: hose/8, length: 1 m}\n  main:",
        [
            "6:3: runs.auto: `auto` has a meaning of its own; choose another name",
            "6:3: runs.auto: nothing is at its end; put an appliance, an outlet or another run there, or "
            "take the run out",
        ],
    ),
    (
        "name too long",
        "  bay:",
        "  " + "b" * 61 + ":",
        ["8:3: outlets: `bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb...` is 61 characters long; write a name of up to 60"],
    ),
    ("empty name", "urn:", '"":', ["13:3: appliances: is empty; write a name"]),
    (
        "name with a line break",
        "urn:",
        '"u\\nrn":',
        ["13:3: appliances: `u rn` holds a line break, a tab or blanks too many; leave them out"],
    ),
    (
        "name with an escape code",
        "urn:",
        '"\\e[31murn":',
        ["13:3: appliances: holds the character U+001B, which can't be printed; delete it"],
    ),
    (
        "title with an escape code",
        "job: t",
        'job: "\\e[31m"',
        ["1:6: job: holds the character U+001B, which can't be printed; delete it"],
    ),
    ("title too long", "job: t", "job: " + "t" * 201, ["1:6: job: is 201 characters long; write up to 200"]),
    (
        "run to itself",
        "from: regulator",
        "from: main",
        [
            "6:3: runs.main.from: goes round in a loop: it starts from itself; write the run that feeds it, "
            "or `regulator`"
        ],
    ),
    (
        "two runs in a loop",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "runs:\n  one: {from: main, pipe: hose/8, length: 1 m}\n  main: {from: one, pipe: hose/8, length: 1 m}\n",
        [
            "6:3: runs.one.from: goes round in a loop: one from main from one; one run of it must start "
            "from `regulator` or the rest of the line"
        ],
    ),
    (
        "three runs in a loop",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "runs:\n  one: {from: main, pipe: hose/8, length: 1 m}\n  two: {from: one, pipe: hose/8, length: "
        "1 m}\n  main: {from: two, pipe: hose/8, length: 1 m}\n",
        [
            "6:3: runs.one.from: goes round in a loop: one from main from two from one; one run of it "
            "must start from `regulator` or the rest of the line"
        ],
    ),
    (
        "run behind a loop",
        "runs:\n  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}\n",
        "runs:\n  one: {from: two, pipe: hose/8, length: 1 m}\n  two: {from: one, pipe: hose/8, length: "
        "1 m}\n  main: {from: one, pipe: hose/8, length: 1 m}\n",
        [
            "6:3: runs.one.from: goes round in a loop: one from two from one; one run of it must start "
            "from `regulator` or the rest of the line"
        ],
    ),
    (
        "run from nowhere",
        "from: regulator",
        "from: nowhere",
        ["6:16: runs.main.from: there is no run `nowhere` to start from; known here: regulator"],
    ),
    (
        "run from a misspelt name",
        "from: regulator",
        "from: regulater",
        ["6:16: runs.main.from: there is no run `regulater` to start from; did you mean `regulator`?"],
    ),
    (
        "run from an appliance",
        "from: regulator",
        "from: fryer",
        ["6:16: runs.main.from: there is no run `fryer` to start from; that is an appliance: write a run"],
    ),
    (
        "run to nowhere",
        "  main:",
        "  spare: {from: main, pipe: hose/8, length: 1 m}\n  main:",
        [
            "6:3: runs.spare: nothing is at its end; put an appliance, an outlet or another run there, "
            "or take the run out"
        ],
    ),
    (
        "unknown family",
        "pipe: as1432-b/12.70",
        "pipe: as1432x/12.70",
        ["6:33: runs.main.pipe: `as1432x` is not a pipe family of the catalogue; did you mean `as1432-d`?"],
    ),
    (
        "unknown size",
        "pipe: as1432-b/12.70",
        "pipe: as1432-b/12.7",
        ["6:33: runs.main.pipe: `12.7` is not a size of as1432-b; did you mean `12.70`?"],
    ),
    (
        "family without size",
        "pipe: as1432-b/12.70",
        "pipe: as1432-b",
        [
            "6:33: runs.main.pipe: `as1432-b` names no size; write `as1432-b/SIZE` with a size from "
            "6.35, 7.94, 9.52, 12.70, 15.88, 19.05, 25.40, 31.75, 38.10, 50.80"
        ],
    ),
    (
        "size without family",
        "pipe: as1432-b/12.70",
        "pipe: 12.70",
        [
            "6:33: runs.main.pipe: `12.70` is not a family and a size; say of which tube: `as1432-a/12.70` or "
            "`as1432-b/12.70` or `as1432-c/12.70` (see `drawbar list pipes`)"
        ],
    ),
    (
        "no pipe at all",
        "pipe: as1432-b/12.70",
        "pipe: []",
        ["6:33: runs.main.pipe: is an empty list; write what is in it, or leave the key out"],
    ),
    (
        "own pipe without bore",
        "pipe: as1432-b/12.70",
        "pipe: {}",
        ["6:33: runs.main.pipe: `bore` is missing; write `bore:` and the inside diameter, as `10.9 mm`"],
    ),
    (
        "size left to the program",
        "pipe: as1432-b/12.70",
        "pipe: as1432-b/auto",
        [
            "6:33: runs.main.pipe: leaves the size open (10 to choose from); let `drawbar size` choose "
            "it, or write one size"
        ],
    ),
    (
        "list of sizes",
        "pipe: as1432-b/12.70",
        "pipe: [as1432-b/9.52, as1432-b/12.70]",
        [
            "6:33: runs.main.pipe: leaves the size open (2 to choose from); let `drawbar size` choose "
            "it, or write one size"
        ],
    ),
    (
        "hose with two bores",
        "hose/8",
        "[hose/8, hose/10]",
        ["10:16: hoses.hose.pipe: gives several bores; a hose has one: give it a name each"],
    ),
    (
        "unknown fitting",
        "length: 3.6 m",
        "length: 3.6 m, fittings: {elbow: 1}",
        ["6:75: runs.main.fittings.elbow: is not a fitting of the catalogue; did you mean `elbow-90`?"],
    ),
    (
        "device without figures",
        "length: 3.6 m",
        "length: 3.6 m, devices: [{name: x}]",
        [
            "6:74: runs.main.devices: `flow` is missing; write `flow:` and the flow of the maker's "
            "figure, as `60 MJ/h`",
            "6:74: runs.main.devices: `drop` is missing; write `drop:` and the drop at that flow, as `40 Pa`",
        ],
    ),
    (
        "basis that is none",
        "input: 50 MJ/h",
        "input: 50 MJ/h, basis: nett",
        ["12:44: appliances.fryer.basis: `nett` is not known here; did you mean `net`?"],
    ),
    (
        "basis of a mass flow",
        "input: 50 MJ/h",
        "input: 1 kg/h, basis: net",
        ["12:43: appliances.fryer.basis: goes with a heat rate alone; leave it out: input is no heat rate"],
    ),
    (
        "basis of a catalogue input",
        "input: 50 MJ/h",
        "input: {like: oven}, basis: net",
        ["12:49: appliances.fryer.basis: goes with an input of your own alone; leave it out: the catalogue says it"],
    ),
    (
        "appliance like none",
        "input: 50 MJ/h",
        "input: {like: ovn}",
        ["12:35: appliances.fryer.input.like: `ovn` is not an appliance of the catalogue; did you mean `oven`?"],
    ),
    (
        "unknown gas",
        "gas: propane",
        "gas: Propan",
        ["2:6: gas: `Propan` is not a gas of the catalogue; did you mean `propane`?"],
    ),
    (
        "two unknown gases",
        "gas: propane",
        "gas: {propan: 70 %, butane: 30 %}",
        [
            "2:7: gas: `propan` is not a gas of the catalogue; did you mean `propane`?",
            "2:21: gas: `butane` is not a gas of the catalogue; did you mean `n-butane`?",
        ],
    ),
    (
        "no gas in the mixture",
        "gas: propane",
        "gas: {}",
        ["2:6: gas: is empty; write at least one, or leave the key out"],
    ),
    (
        "share without a sign",
        "gas: propane",
        "gas: {propane: 0.7, n-butane: 0.3}",
        [
            "2:16: gas.propane: `0.7` has no unit; write % behind it",
            "2:31: gas.n-butane: `0.3` has no unit; write % behind it",
        ],
    ),
    (
        "unknown rule",
        None,
        "rule: as-nzs-5601\n",
        ["14:7: rule: `as-nzs-5601` is not a rule set of the catalogue; did you mean `as-nzs-5601.2`?"],
    ),
    ("unknown formula", None, "formula: Darcy\n", ["14:10: formula: `Darcy` is not a formula; did you mean `darcy`?"]),
    (
        "connected twice",
        "{at: main, input: 50 MJ/h}",
        "{at: main, plugs-into: bay, input: 3 MJ/h}",
        [
            "12:10: appliances.fryer: has both `at` and `plugs-into`; write `at: RUN` if it is fixed, "
            "`plugs-into: OUTLET` if it is portable"
        ],
    ),
    (
        "connected to nothing",
        "{at: main, input: 50 MJ/h}",
        "{input: 3 MJ/h}",
        [
            "12:10: appliances.fryer: is connected to nothing; write `at: RUN` if it is fixed, "
            "`plugs-into: OUTLET` if it is portable"
        ],
    ),
    (
        "hose of a fixed appliance",
        "{at: main, input: 50 MJ/h}",
        "{at: main, hose: hose, input: 3 MJ/h}",
        ["12:27: appliances.fryer.hose: goes with `plugs-into` alone; leave it out"],
    ),
    (
        "at no run",
        "{at: main, input: 50 MJ/h}",
        "{at: mian, input: 3 MJ/h}",
        ["12:15: appliances.fryer.at: there is no run `mian`; did you mean `main`?"],
    ),
    (
        "unknown outlet",
        "{at: main, input: 50 MJ/h}",
        "{plugs-into: bya, input: 3 MJ/h}",
        ["12:23: appliances.fryer.plugs-into: `bya` is not an outlet of this job; did you mean `bay`?"],
    ),
    (
        "unknown hose",
        "{at: main, input: 50 MJ/h}",
        "{plugs-into: bay, hose: hos, input: 3 MJ/h}",
        ["12:34: appliances.fryer.hose: `hos` is not a hose of this job; did you mean `hose`?"],
    ),
    (
        "any outlet where there is none",
        "outlets:\n  bay: {at: main}\n",
        "",
        ["11:21: appliances.urn.plugs-into: `any` is not an outlet of this job; the file has no `outlets:`"],
    ),
    (
        "hose where there is none",
        "hoses:\n  hose: {pipe: hose/8, length: 1.5 m}\n",
        "",
        ["11:32: appliances.urn.hose: `hose` is not a hose of this job; the file has no `hoses:`"],
    ),
    (
        "a word for a flag",
        "{at: main, input: 50 MJ/h}",
        "{at: main, input: 3 MJ/h, room-sealed: on}",
        ["12:49: appliances.fryer.room-sealed: `on` is not known here; known here: yes, no, true, false"],
    ),
    (
        "outlet at no run",
        "bay: {at: main",
        "bay: {at: mai",
        ["8:13: outlets.bay.at: there is no run `mai`; did you mean `main`?"],
    ),
    (
        "unknown appliance in a state",
        None,
        "states: {a: [fry]}\n",
        ["14:14: states.a: there is no appliance `fry`; did you mean `fryer`?"],
    ),
    (
        "unknown appliance with a share",
        None,
        "states: {a: {fryr: 10 %}}\n",
        ["14:14: states.a: there is no appliance `fryr`; did you mean `fryer`?"],
    ),
    (
        "appliance twice in a state",
        None,
        "states: {a: [fryer, fryer]}\n",
        ["14:21: states.a: `fryer` stands here a second time; name it once"],
    ),
    ("empty states", None, "states: {}\n", ["14:9: states: is empty; write at least one, or leave the key out"]),
    (
        "empty state",
        None,
        "states: {a: []}\n",
        ["14:13: states.a: is an empty list; write what is in it, or leave the key out"],
    ),
    (
        "state with nothing on",
        None,
        "states: {a: {fryer: 0 %, urn: 0 %}}\n",
        ["14:10: states.a: has nothing on; write at least one appliance that burns"],
    ),
    (
        "state twice",
        None,
        "states: {a: [fryer], a: [urn]}\n",
        ["14:22: states.a: stands here a second time; give each its own name"],
    ),
    ("tab in the indentation", "  main", "	main", ["6:1: a tab stands in the indentation; use spaces"]),
    (
        "colon in the title",
        "job: t",
        "job: Trailer: rear",
        ['1:13: a second `: ` on the line; put a text that holds a colon in quotes, as in `job: "Trailer: rear line"`'],
    ),
    (
        "no space after the colon",
        "job: t",
        "job:t",
        [
            "2:4: a `: ` where none can stand; is the line indented like its neighbours, and has the "
            "line before it a space after its colon?"
        ],
    ),
    ("unclosed quote", "job: t", 'job: "t', ["1:6: a quote opens here and is never closed; close it, or leave it out"]),
    (
        "unclosed bracket",
        "3.6 m}",
        "3.6 m",
        [
            "6:9: a bracket opens here, and its `}` or a comma is missing; close it with `}`, and put a "
            "comma between its parts"
        ],
    ),
    (
        "bracket without a part",
        "from: regulator",
        "from: regulator, ]",
        [
            "6:27: not well-formed YAML: did not find expected node content; is a comma, a closing "
            "bracket or a closing quote missing?"
        ],
    ),
    ("per cent sign first", "job: t", "job: %t", ["1:6: a value can't start with `%`; put it in quotes"]),
    (
        "bad indentation",
        "outlets:\n",
        "outlets:\n   z: {at: main}\n",
        [
            "9:3: not well-formed YAML: did not find expected key; is a colon or a space after it "
            "missing, or a line indented differently from its neighbours?"
        ],
    ),
    ("two documents", None, "---\njob: b\n", ["14:1: a second document starts here; one file holds one job"]),
    (
        "alias",
        "job: t",
        "job: &x t\nref: *x",
        ["1:6: an alias (`*name`) points here; write the values out in each place"],
    ),
    ("alias to nowhere", "job: t", "job: *x", ["1:6: an alias (`*name`) that points nowhere; write the value out"]),
    (
        "alias to itself",
        "{at: main, input: 50 MJ/h}",
        "&x [*x]",
        ["12:10: an alias (`*name`) points here; write the values out in each place"],
    ),
    (
        "tag for Python",
        "input: 50 MJ/h",
        "input: !!python/object/apply:os.system [ls]",
        ["12:28: a tag stands here: `!!python/object/apply:os.system`; delete it and write the plain value"],
    ),
    (
        "tag of a text",
        "job: t",
        "job: !!str t",
        ["1:6: a tag stands here: `!!str`; delete it and write the plain value"],
    ),
    (
        "tag of bytes",
        "job: t",
        "job: !!binary dA==",
        ["1:6: a tag stands here: `!!binary`; delete it and write the plain value"],
    ),
    (
        "tag of a mapping",
        "{at: main, input: 50 MJ/h}",
        "!thing {at: main, input: 50 MJ/h}",
        ["12:10: a tag stands here: `!thing`; delete it and write the plain value"],
    ),
    (
        "unknown YAML version",
        "job: t",
        "%YAML 9.9\n---\njob: t",
        ["1:1: a `%YAML` line of a version that is not known; delete the line"],
    ),
]

CASES += [
    (
        "nothing for a count",
        "1.5 m",
        "1.5 m, count: ",
        ["10:46: hoses.hose.count: is empty; write a whole number from 1 to 100, without a unit"],
    ),
    (
        "list for a flag",
        "input: 50 MJ/h",
        "input: 50 MJ/h, room-sealed: [yes]",
        ["12:50: appliances.fryer.room-sealed: is a list; write one of yes, no, true, false"],
    ),
    (
        "a list too long",
        None,
        "states: {a: [" + "fryer, " * 201 + "]}\n",
        ["14:13: states.a: is a list of 201; write up to 200"],
    ),
    (
        "names too many",
        "hoses:\n",
        "hoses:\n" + "".join(f"  h{n}: {{pipe: hose/8, length: 1 m}}\n" for n in range(40)),
        ["10:3: hoses: has 41 names; write up to 40"],
    ),
]

# Whole files: bytes, and what is said after the file's name.
FILES: list[tuple[str, bytes, list[str]]] = [
    ("empty", b"", ["1:1: the file is empty; write `key: value` lines"]),
    ("only comments", b"# a job\n\n# some day\n", ["1:1: the file is empty; write `key: value` lines"]),
    ("only a document mark", b"---\n", ["1:1: the file is empty; write `key: value` lines"]),
    ("41 deep", b"[" * 41 + b"]" * 41, ["1:40: the values are nested more than 40 deep; a job is 6 deep"]),
    ("1001 deep", b"[" * 1001, ["1:1001: the values are nested more than 40 deep; a job is 6 deep"]),
    (
        "50 001 values",
        b"[" + b"x," * 50_000 + b"]",
        ["1:1: the file holds more than 50,000 values; a job has a few hundred"],
    ),
    ("a list at the top", b"- job: t\n", ["1:1: the file is a list; write `key: value` lines"]),
    ("a text at the top", b"a trailer\n", ["1:1: the file is the text `a trailer`; write `key: value` lines"]),
    (
        "Latin-1",
        GOOD.encode().replace(b"job: t", b"job: caf\xe9"),
        ["1:9: byte 0xe9 is not UTF-8 text; save the file as UTF-8"],
    ),
    ("UTF-16", GOOD.encode("utf-16"), ["1:1: byte 0xff is not UTF-8 text; save the file as UTF-8"]),
    ("NUL", GOOD.encode().replace(b"fryer", b"fry\0er"), ["12:6: character U+0000 can't be printed; delete it"]),
    ("escape", GOOD.encode().replace(b"fryer", b"\x1b[31m"), ["12:3: character U+001B can't be printed; delete it"]),
    ("bell", GOOD.encode() + b"# \a\n", ["14:3: character U+0007 can't be printed; delete it"]),
    ("mark within", GOOD.encode() + "# \ufeff\n".encode(), ["14:3: character U+FEFF can't be printed; delete it"]),
    ("line separator", GOOD.encode() + "# \u2028\n".encode(), ["14:3: character U+2028 can't be printed; delete it"]),
    (
        "right lines with CRLF",
        GOOD.replace("3.6 m", "3.6").replace("\n", "\r\n").encode(),
        ["6:57: runs.main.length: `3.6` has no unit; write one of mm, cm, m, in, ft behind it"],
    ),
    (
        "right columns behind a byte order mark",
        b"\xef\xbb\xbf" + GOOD.replace("job: t", "jab: t").encode(),
        ["1:1: jab: is not a key here; did you mean `job`?", "1:1: `job` is missing; write `job:` and a title"],
    ),
    (
        "no file to speak of",
        b"job: t\n",
        [
            "1:1: `gas` is missing; write `gas:` and a gas, as `propane`, or a mixture by mole, "
            "as `{propane: 70 %, n-butane: 30 %}`",
            "1:1: `regulator` is missing; write `regulator:` and the regulator at the start, as `{outlet: 2.75 kPa}`",
            "1:1: `runs` is missing; write `runs:` and the pipe, run by run",
            "1:1: `appliances` is missing; write `appliances:` and what burns gas",
            "1:1: no allowed pressure drop is given; write `rule: NAME` (see `drawbar list rules`) or "
            "`limits: {drop: 0.25 kPa}`",
        ],
    ),
]

EIGHT = """\
job: Eight slips
gas: propan
limits: {drop: 0.25}
regulator: {outlet: 2.75 kpa}
runs:
  main: {from: regulator, pipe: as1432-b/12.7, length: 3.6 m, fittings: {elbow: 1}}
outlets:
  bay: {at: mian}
appliances:
  fryer: {at: main, input: 50 MJ}
states:
  all: [frier]
"""
EIGHT_SAID = """\
job.yaml:2:6: gas: `propan` is not a gas of the catalogue; did you mean `propane`?
job.yaml:3:16: limits.drop: `0.25` has no unit; write one of Pa, kPa, mbar, bar, mmH2O, inH2O, psi behind it
job.yaml:4:21: regulator.outlet: `kpa` is not a unit here; did you mean `kPa`?
job.yaml:6:33: runs.main.pipe: `12.7` is not a size of as1432-b; did you mean `12.70`?
job.yaml:6:74: runs.main.fittings.elbow: is not a fitting of the catalogue; did you mean `elbow-90`?
job.yaml:8:13: outlets.bay.at: there is no run `mian`; did you mean `main`?
job.yaml:10:28: appliances.fryer.input: `MJ` is not a unit here; did you mean `MJ/h`?
job.yaml:12:9: states.all: there is no appliance `frier`; did you mean `fryer`?
"""


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """Run the program in this process in a folder of its own: (exit code, standard output, standard error)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("DRAWBAR_LIBRARY", raising=False)

    def call(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["drawbar", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return ended.value.code, told.out, told.err

    return call


@pytest.mark.parametrize(("old", "new", "said"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_one_slip(run, old, new, said):
    """One slip in a good file: exactly these lines on standard error, nothing on standard output, exit code 2."""
    if old is None:
        text = GOOD + new
    else:
        assert old in GOOD
        text = GOOD.replace(old, new, 1)
    Path("job.yaml").write_text(text, encoding="utf-8")
    assert run("check", "job.yaml") == (2, "", "".join(f"job.yaml:{line}\n" for line in said))


@pytest.mark.parametrize(("data", "said"), [file[1:] for file in FILES], ids=[file[0] for file in FILES])
def test_whole_file(run, data, said):
    """A file that is no job at all, byte for byte."""
    Path("job.yaml").write_bytes(data)
    assert run("check", "job.yaml") == (2, "", "".join(f"job.yaml:{line}\n" for line in said))


@pytest.mark.parametrize(
    "data",
    [
        GOOD.encode(),
        b"\xef\xbb\xbf" + GOOD.encode(),
        GOOD.replace("\n", "\r\n").encode(),
        GOOD.replace("\n", "\r").encode(),
        GOOD.rstrip("\n").encode(),
        b"%YAML 1.1\n---\n" + GOOD.encode() + b"...\n",
        GOOD.replace("job: t", "job: Fish & chips!").encode(),
    ],
    ids=["plain", "byte order mark", "CRLF", "CR", "no last line break", "YAML 1.1 marks", "ampersand"],
)
def test_good_file(run, data):
    """What editors and systems do to a good file does no harm: nothing is said, and the check is made."""
    Path("job.yaml").write_bytes(data)
    code, out, said = run("check", "job.yaml")
    assert (code, said) == (0, "")
    assert ": PASS\n" in out.partition("=")[0]


def test_all_at_once(run):
    """A file with eight slips of different kinds gives eight lines, in the order of the file."""
    Path("job.yaml").write_text(EIGHT)
    assert run("check", "job.yaml") == (2, "", EIGHT_SAID)


def test_no_more_than_can_be_read(run):
    """Two hundred problems are told; more would help nobody."""
    Path("job.yaml").write_text("".join(f"k{n}: 1\n" for n in range(300)))
    code, out, said = run("check", "job.yaml")
    assert (code, out) == (2, "")
    lines = said.splitlines()
    assert lines[0].startswith("job.yaml:1:1: k0: is not a key here; known here: job, ref,")
    assert len(lines) == 201
    assert lines[-1] == "job.yaml: 200 problems, and there may be more; mend these first"


def test_other_jobs_go_on(run):
    """A job that can't be read does not stop the others; the exit code is the highest."""
    Path("good.yaml").write_text(GOOD)
    Path("bad.yaml").write_text("job: t\n- a\n")
    code, out, said = run("check", "missing.yaml", "good.yaml", "bad.yaml", "--format", "csv")
    assert code == 2
    assert [line.split(",")[0] for line in out.splitlines()] == ["file", "good.yaml", "good.yaml"]
    assert said == (
        "missing.yaml: there is no such file\n"
        "bad.yaml:2:1: not well-formed YAML: did not find expected key; is a colon or a space after it missing, "
        "or a line indented differently from its neighbours?\n"
    )


def test_folder(run):
    """A folder in place of a file is said to be one."""
    Path("jobs").mkdir()
    assert run("check", "jobs") == (2, "", "jobs: is a folder; name the file in it\n")


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads every file")
def test_unreadable(run):
    """A file without read permission is said to be that."""
    Path("job.yaml").write_text(GOOD)
    Path("job.yaml").chmod(0)
    assert run("check", "job.yaml") == (2, "", "job.yaml: can't be read: Permission denied\n")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("no\0name", "can't be read: embedded null byte"),
        ("x" * 300, "can't be read: File name too long"),
        ("job.yaml/more", "can't be read: Not a directory"),
    ],
    ids=["NUL", "long", "file for a folder"],
)
def test_odd_names(run, name, said):
    """A name that no file can have is a problem of the call."""
    Path("job.yaml").write_text(GOOD)
    shown = name.replace("\0", "\\x00")
    assert run("check", name) == (2, "", f"{shown}: {said}\n")


def test_too_large(run):
    """A file over a megabyte is not read on."""
    Path("job.yaml").write_bytes(b"# " + b"x" * 1_000_000)
    said = "job.yaml: is over 1,000,000 bytes; a job file is a few thousand; is this the right file?\n"
    assert run("check", "job.yaml") == (2, "", said)


# (what is wrong, the library, what is said after its name)
FAMILY = "title: t, source: s, material: copper, roughness: 0 mm, roughness-source: s"
LIBRARIES = [
    (
        "unknown kind",
        "pipe: {}\n",
        ["1:1: pipe: is not a key here; did you mean `pipes`?"],
    ),
    (
        "a bore of nothing",
        f"pipes:\n  own: {{{FAMILY}, sizes: {{a: {{bore: 0 mm}}}}}}\n",
        [
            "2:104: pipes.own.sizes.a.bore: `0 mm` can't be right; write from 1 mm to 300 mm",
        ],
    ),
    (
        "walls as thick as the tube",
        f"pipes:\n  own: {{{FAMILY}, sizes: {{a: {{od: 10 mm, wall: 5 mm}}}}}}\n",
        ["2:94: pipes.own.sizes.a: has a bore of 0 mm; od is bore and two walls"],
    ),
    (
        "a bore over the diameter",
        f"pipes:\n  own: {{{FAMILY}, sizes: {{a: {{od: 10 mm, bore: 12 mm}}}}}}\n",
        ["2:94: pipes.own.sizes.a: has a bore of 12 mm; od is bore and two walls"],
    ),
    (
        "an outside diameter alone",
        f"pipes:\n  own: {{{FAMILY}, sizes: {{a: {{od: 10 mm}}}}}}\n",
        ["2:94: pipes.own.sizes.a: has no bore; write `bore:`, or `od:` and `wall:`"],
    ),
    (
        "a slash in the name",
        f"pipes:\n  own/x: {{{FAMILY}, sizes: {{a: {{bore: 9 mm}}}}}}\n",
        ["2:3: pipes.own/x: has a `/` in its name; it separates the family from the size"],
    ),
    (
        "no source",
        "fittings:\n  odd: {title: t, ratio: 3}\n",
        [
            "2:8: fittings.odd: `source` is missing; write `source:` and where the figures stand: a standard and its "
            "table, `common practice` or `from memory`"
        ],
    ),
    (
        "a ratio with a unit",
        "fittings:\n  odd: {title: t, ratio: 3 m, source: s}\n",
        ["2:26: fittings.odd.ratio: `3 m` can't stand here; write a number from 0 to 2000, without a unit"],
    ),
    (
        "unknown key in a rule",
        "rules:\n  own: {title: t, source: s, drop: 1 kPa, nominal: 3 kPa, caution: c, limit: 3 kPa}\n",
        [
            "2:71: rules.own.limit: is not a key here; known here: title, source, applies-to, drop, nominal, "
            "nominal-source, caution, tightness"
        ],
    ),
    (
        "an appliance without a rate",
        "appliances:\n  own: {title: t, input: 3 kPa, source: s}\n",
        [
            "2:26: appliances.own.input: `kPa` is not a unit of heat rate or mass flow or gas flow; write a number and "
            "one of MJ/h, kW, W, Btu/h, kg/h, g/h, m3/h"
        ],
    ),
    (
        "a basis of a mass flow",
        "appliances:\n  own: {title: t, input: 3 kg/h, basis: net, source: s}\n",
        ["2:41: appliances.own.basis: goes with a heat rate alone; leave it out"],
    ),
]


@pytest.mark.parametrize(("text", "said"), [one[1:] for one in LIBRARIES], ids=[one[0] for one in LIBRARIES])
def test_bad_library(run, text, said):
    """A slip in a workshop's library stops the program before any job is read."""
    Path("own.yaml").write_text(text)
    Path("job.yaml").write_text(GOOD)
    expected = (2, "", "".join(f"own.yaml:{line}\n" for line in said))
    assert run("check", "job.yaml", "--library", "own.yaml") == expected


def test_library_rate_out_of_bounds(run):
    """A mass flow of the library that no appliance can have is told where the job file asks for it."""
    Path("own.yaml").write_text("appliances:\n  own: {title: t, input: 400 kg/h, source: s}\n")
    Path("job.yaml").write_text(GOOD.replace("50 MJ/h", "{like: own}"))
    assert run("check", "job.yaml", "--library", "own.yaml") == (
        2,
        "",
        "job.yaml:12:35: appliances.fryer.input.like: `400 kg/h` is 20,131 MJ/h, which can't be right; "
        "write from 0.1 MJ/h to 5000 MJ/h\n",
    )


def test_missing_library(run, monkeypatch):
    """A library that is named and not there stops the program, by option and by environment."""
    Path("job.yaml").write_text(GOOD)
    assert run("check", "job.yaml", "--library", "own.yaml") == (2, "", "own.yaml: there is no such file\n")
    monkeypatch.setenv("DRAWBAR_LIBRARY", "env.yaml")
    assert run("check", "job.yaml") == (2, "", "env.yaml: there is no such file\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check"], "Missing argument 'JOB...'."),
        (["check", "job.yaml", "--format", "xml"], "'xml' is not one of 'table', 'json', 'csv', 'markdown'."),
        (["check", "job.yaml", "--formula", "nope"], "'nope' is not a formula; known here: darcy, ifgc,"),
        (["check", "job.yaml", "--formula", "pol"], "'pol' is not a formula; did you mean `pole`?"),
        (["check", "job.yaml", "--nope"], "No such option '--nope'."),
        (["chek"], "No such command: `chek`; did you mean `check`?"),
    ],
    ids=["no job", "format", "formula", "formula misspelt", "option", "command"],
)
def test_bad_call(run, words, said):
    """A call that is wrong says how it is used, and ends with exit code 2."""
    Path("job.yaml").write_text(GOOD)
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.startswith("Usage: drawbar ")


def test_out_into_a_missing_folder(run):
    """What can't be written is said, and nothing is left behind."""
    Path("job.yaml").write_text(GOOD)
    said = "none/result.txt: can't be written: No such file or directory\n"
    assert run("check", "job.yaml", "--out", "none/result.txt") == (2, "", said)
    assert [path.name for path in Path().iterdir()] == ["job.yaml"]


def test_out_keeps_the_old_file(run):
    """A bad job leaves the file of the last good result as it was."""
    Path("job.yaml").write_text("job: t\n- a\n")
    Path("result.txt").write_text("old")
    assert run("check", "job.yaml", "--out", "result.txt")[0] == 2
    assert Path("result.txt").read_text() == "old"


# What follows is run as a process of its own, with its time and memory measured.

MOST_SECONDS = 2.0
MOST_MB = 200.0
HEAD = "job: t\ngas: propane\nlimits: {drop: 1 kPa}\nregulator: {outlet: 2.75 kPa}\n"
PIPE = "pipe: as1432-b/50.80, length: 1 m"


def chain(number: int) -> str:
    """Return a job of so many runs one after another."""
    runs = "".join(f"  r{n}: {{from: {f'r{n - 1}' if n else 'regulator'}, {PIPE}}}\n" for n in range(number))
    return f"{HEAD}runs:\n{runs}appliances:\n  a: {{at: r{number - 1}, input: 1 MJ/h}}\n"


def flood(section: str, row: str, number: int) -> str:
    """Return a good job with so many rows in one section."""
    base = GOOD if section != "states" else GOOD + "states:\n"
    rows = "".join(f"  x{n}: {row}\n" for n in range(number))
    return base.replace(f"{section}:\n", f"{section}:\n{rows}")


DANGEROUS: list[tuple[str, bytes, str]] = [
    (
        "alias bomb",
        ("a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 60))).encode(),
        "1:5: an alias (`*name`) points here; write the values out in each place",
    ),
    ("self alias", b"a: &a [*a, *a]\n", "1:4: an alias (`*name`) points here"),
    ("flow lists 10 000 deep", b"[" * 10_000, "1:1001: the values are nested more than 40 deep; a job is 6 deep"),
    ("block lists 10 000 deep", b"- " * 10_000, "1:79: the values are nested more than 40 deep; a job is 6 deep"),
    ("mappings 10 000 deep", b"{a: " * 10_000, "1:157: the values are nested more than 40 deep"),
    ("keys 10 000 deep", b"? " * 10_000, "1:79: the values are nested more than 40 deep"),
    (
        "indented 2 000 deep",
        "".join(f"{' ' * n}a:\n" for n in range(1000)).encode(),
        "the values are nested more than 40 deep",
    ),
    ("5 MB on a line", b"job: " + b"x" * 5_000_000, "job.yaml: is over 1,000,000 bytes"),
    ("900 kB title", b"job: " + b"x" * 900_000, "1:6: job: is 900,000 characters long; write up to 200"),
    ("900 kB of digits", GOOD.replace("3.6 m", "1" * 900_000 + " m m").encode(), "is not a number and a unit"),
    ("900 kB name", GOOD.replace("urn", "u" * 1000).encode() + b"? " + b"k" * 900_000, "is not a key here"),
    ("power tower", GOOD.replace("2.75", "9**9**9").encode(), "`9**9**9 kPa` is not a number and a unit"),
    ("flood of texts", b"job: [" + b"x," * 449_000 + b"]", "the file holds more than 50,000 values"),
    ("flood of mappings", b"job: [" + b"{a}," * 220_000 + b"]", "the file holds more than 50,000 values"),
    ("flood of lists", b"job: [" + b"[]," * 290_000 + b"]", "the file holds more than 50,000 values"),
    ("flood of keys", "".join(f"k{n}:\n" for n in range(110_000)).encode(), "more than 50,000 values"),
    ("flood of unknown keys", "".join(f"runz{n}:\n" for n in range(20_000)).encode(), "200 problems, and there may"),
    ("flood of comments", b"# x\n" * 220_000, "1:1: the file is empty"),
    ("flood of blank lines", b"\n" * 900_000 + b"\t- x", "a tab stands in the indentation"),
    ("20 000 runs", flood("runs", "{from: main}", 20_000).encode(), "the file holds more than 50,000 values"),
    ("5 000 runs", flood("runs", "{from: main}", 5_000).encode(), "6:3: runs: has 5,001 names; write up to 200"),
    ("chain of 3 000 runs", chain(3000).encode(), "6:3: runs: has 3,000 names; write up to 200"),
    ("20 000 appliances", flood("appliances", "{at: main}", 20_000).encode(), "holds more than 50,000 values"),
    ("9 000 appliances", flood("appliances", "{at: x}", 9_000).encode(), "has 9,002 names; write up to 100"),
    ("20 000 outlets", flood("outlets", "{at: main}", 20_000).encode(), "holds more than 50,000 values"),
    ("9 000 outlets", flood("outlets", "{at: main}", 9_000).encode(), "has 9,001 names; write up to 40"),
    ("9 000 hoses", flood("hoses", "{count: 2}", 9_000).encode(), "has 9,001 names; write up to 40"),
    ("20 000 states", flood("states", "[a]", 20_000).encode(), "holds more than 50,000 values"),
    ("9 000 states", flood("states", "[urn]", 9_000).encode(), "has 9,000 names; write up to 40"),
    ("state of 40 000", (GOOD + "states: {a: [" + "fry," * 40_000 + "]}").encode(), "is a list of 40,000"),
    (
        "200 runs that start nowhere, with long names",
        flood("runs", f"{{from: {'nowhere-at-all-' * 4}, {PIPE}}}", 199).replace("  x", f"  {'x' * 55}").encode(),
        "200 problems, and there may be more; mend these first",
    ),
    (
        "a loop of 200 runs",
        (chain(200).replace("from: regulator", "from: r199")).encode(),
        "goes round in a loop: r0 from r199 from r198 from r197 from r196 from r195 from ... from r0;",
    ),
]


def measured(folder: Path, data: bytes) -> tuple[int, str, str, float, float]:
    """Check a file in a process of its own: exit code, both outputs, seconds, and the most memory it took [MB].

    The seconds are those of the processor: time on the clock hangs on what else the machine does.
    """
    (folder / "job.yaml").write_bytes(data)
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DRAWBAR")}
    with (folder / "out").open("wb") as out, (folder / "err").open("wb") as err:
        words = [sys.executable, str(SUPPORT / "peak.py"), "peak", "check", "job.yaml"]
        child = subprocess.Popen(words, cwd=folder, stdout=out, stderr=err, env=environment)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    said = [(folder / name).read_text(encoding="utf-8") for name in ("out", "err")]
    megabytes = int((folder / "peak").read_text()) / 1024
    return child.returncode, said[0], said[1], usage.ru_utime + usage.ru_stime, megabytes


@pytest.mark.parametrize(("data", "said"), [one[1:] for one in DANGEROUS], ids=[one[0] for one in DANGEROUS])
def test_dangerous(tmp_path, data, said):
    """A file made to hurt is refused in a sentence, within 2 s and 200 MB, without a traceback."""
    code, out, err, seconds, megabytes = measured(tmp_path, data)
    assert (code, out) == (2, "")
    assert said in err
    assert all(line.startswith("job.yaml") for line in err.splitlines())
    assert len(err) < 200_000
    assert seconds < MOST_SECONDS
    assert megabytes < MOST_MB


@pytest.mark.skipif(os.name != "posix", reason="pipes that close are told by a signal or an error on POSIX")
def test_closed_pipe(tmp_path):
    """What reads our output has gone: exit code 2 and one line, no traceback."""
    (tmp_path / "job.yaml").write_text(GOOD)
    words = [sys.executable, "-m", "drawbar", "check", *["job.yaml"] * 60]
    with subprocess.Popen(words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as child:
        assert child.stdout is not None
        assert child.stderr is not None
        child.stdout.close()
        err = child.stderr.read().decode()
        assert child.wait(timeout=30) == 2
    assert err == "standard output: was closed before everything was written\n"


def test_standard_input(tmp_path):
    """A bad job from standard input is told under the name `-`."""
    words = [sys.executable, "-m", "drawbar", "check", "-"]
    done = subprocess.run(words, cwd=tmp_path, input=b"job: t\n- a\n", capture_output=True, check=False)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.startswith(b"-:2:1: not well-formed YAML")
