"""A small job that is good, for tests that spoil it a piece at a time."""

GOOD = """\
job: t
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}
outlets:
  bay: {at: main}
hoses:
  hose: {pipe: hose/8, length: 1.5 m}
appliances:
  fryer: {at: main, input: 50 MJ/h}
  urn: {plugs-into: any, hose: hose, input: 21 MJ/h}
"""
