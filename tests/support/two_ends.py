"""A line with two ends, and swaps as they are typed: what the tests of recheck look at."""

from drawbar.rechecking.swaps import Swap, read_swap
from jobs import CATALOGUE

TWO_ENDS = """job: Two ends
ref: T-1
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 400 MJ/h}
runs:
  main:  {from: regulator, pipe: as1432-b/12.70, length: 3 m}
  left:  {from: main, pipe: as1432-b/9.52, length: 1 m}
  right: {from: main, pipe: as1432-b/9.52, length: 1 m}
appliances:
  heater: {at: left, input: {like: urn}}
  hob:    {at: right, input: 20 MJ/h}
"""


def swaps(*texts: str) -> list[Swap]:
    """Return the swaps of texts such as `urn=24 MJ/h`."""
    return [read_swap(text, CATALOGUE) for text in texts]
