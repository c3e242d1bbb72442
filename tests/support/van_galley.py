"""A van's galley and a price list, both worked on paper: what the tests of takeoff and quote compare with."""

from drawbar.job import Job
from drawbar.materials.needs import Needs, Part, needs_of
from jobs import job_from

B12, B9 = "as1432-b/12.70", "as1432-b/9.52"

JOB = """\
job: Van galley
ref: Q-7
gas: propane
limits: {drop: 0.5 kPa}
regulator: {outlet: 2.75 kPa, capacity: 90 MJ/h}
runs:
  main:  {from: regulator, pipe: as1432-b/12.70, length: 4.25 m, fittings: {elbow-90: 2, ball-valve: 1}}
  left:  {from: main, pipe: as1432-b/12.70, length: 1.4 m, fittings: {tee-branch: 1, elbow-90: 1}}
  right: {from: main, pipe: as1432-b/9.52, length: 0.85 m, fittings: {tee-through: 1, bend-90: 2}}
  far:   {from: right, pipe: as1432-b/9.52, length: 7.3 m, fittings: {elbow-90: 3}}
outlets:
  bay: {at: far, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  lead: {pipe: hose/8, length: 1.2 m, devices: [{name: coupler, flow: 50 MJ/h, drop: 60 Pa}]}
appliances:
  cooker: {at: left, input: 20 MJ/h}
  heater: {at: right, input: 10 MJ/h}
  grill:  {plugs-into: bay, hose: lead, input: 12 MJ/h}
  urn:    {plugs-into: bay, hose: lead, input: 12 MJ/h}
"""
# By hand. Elbows: 2 + 1 in 12.70, 3 in 9.52. One tee where main ends: left leaves by its side, right straight on.
# Hoses: two appliances may use one, but there is one outlet.
PARTS = [
    (Part("fitting", "ball-valve", B12), 1),
    (Part("fitting", "bend-90", B9, formed=True), 2),
    (Part("fitting", "elbow-90", B9), 3),
    (Part("fitting", "elbow-90", B12), 3),
    (Part("fitting", "tee", B12), 1),
    (Part("device", "bayonet"), 1),
    (Part("device", "coupler"), 1),
    (Part("hose", "lead", "hose/8, 1.2 m"), 1),
    (Part("regulator", "regulator", "2.75 kPa, 90 MJ/h"), 1),
    (Part("appliance", "cooker"), 1),
    (Part("appliance", "grill"), 1),
    (Part("appliance", "heater"), 1),
    (Part("appliance", "urn"), 1),
]
# 6 elbows x 2, valve 2, tee 3, no joint for a formed bend, bayonet 1, two fixed appliances, regulator 1.
JOINTS = 12 + 2 + 3 + 1 + 2 + 1

PRICES = """\
currency: AUD
per-metre: {as1432-b/12.70: 9.85, as1432-b/9.52: 7.15}
each:
  elbow-90: 2.45
  elbow-90@as1432-b/12.70: 3.15
  ball-valve: 24.90
  tee: 4.80
  bayonet: 38.00
  coupler: 21.55
  lead: 46.10
  regulator: 89.00
appliances: none
labour: {per-joint: 6.55, per-metre: 13.75}
waste: 5 %
margin: 17.5 %
tax: 10 %
"""


def needs(text: str = JOB) -> Needs:
    """Return what the job of a text needs."""
    return needs_of(van(text))


def van(text: str = JOB) -> Job:
    """Return the job of a text."""
    return job_from(text)
