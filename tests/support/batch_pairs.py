"""Times of a batch beside libyaml's parse, in a process of its own: `python batch_pairs.py LIST`.

LIST is a file with a job file on each line. Prints in JSON, of each hundred of them, the processor time of a recheck
with a swap and that of CSafeLoader [s]. Python collects its garbage as it does in any batch; in a process that holds as
much else as pytest does, it would hardly do so, and what is compared would go by how many tests were read.
"""

import gc
import json
import sys
import time
from pathlib import Path

import yaml

from drawbar.rechecking.recheck import recheck_file
from drawbar.rechecking.swaps import parse_swap
from jobs import CATALOGUE

PIECE = 100  # in turn, so that a slower spell of the machine meets both

files = Path(sys.argv[1]).read_text(encoding="utf-8").splitlines()
swaps = [parse_swap("urn", "21 MJ/h", CATALOGUE)]
recheck_file(files[0], CATALOGUE, swaps)
gc.collect()
pairs = []
for start in range(0, len(files), PIECE):
    some = files[start : start + PIECE]
    before = time.process_time()
    for file in some:
        with open(file, encoding="utf-8") as stream:
            yaml.load(stream.read(), Loader=yaml.CSafeLoader)
    between = time.process_time()
    for file in some:
        recheck_file(file, CATALOGUE, swaps)
    pairs.append((time.process_time() - between, between - before))
print(json.dumps(pairs))
