"""The kinds of row that data and library files have: the fields of each, and what must hold between them."""

from __future__ import annotations

from drawbar.catalogue.appliance_types import APPLIANCE_TYPE, check_appliance_type
from drawbar.catalogue.bottle_sizes import BOTTLE_SIZE
from drawbar.catalogue.fittings import FITTING
from drawbar.catalogue.pipe_families import MATERIAL, PIPE_FAMILY, check_pipe_family
from drawbar.catalogue.rule_sets import RULE_SET, TIGHTNESS_TEST
from drawbar.catalogue.tolerance_rows import TOLERANCE_OF_A_KIND, check_tolerance
from drawbar.catalogue.typical_devices import TYPICAL_DEVICE, check_typical_device

# By the name of the data file, which is the key in a library.
LIBRARY_KINDS = {
    "pipes": PIPE_FAMILY,
    "fittings": FITTING,
    "devices": TYPICAL_DEVICE,
    "rules": RULE_SET,
    "tightness": TIGHTNESS_TEST,
    "appliances": APPLIANCE_TYPE,
    "cylinders": BOTTLE_SIZE,
    "tolerances": TOLERANCE_OF_A_KIND,
}
RECORDS = {**LIBRARY_KINDS, "materials": MATERIAL}
CHECKS = {
    "pipes": check_pipe_family,
    "devices": check_typical_device,
    "appliances": check_appliance_type,
    "tolerances": check_tolerance,
}
