"""Runs drawbar and writes its peak memory [kB] into a file: `python peak.py FILE ARGUMENTS...`.

Without the extra `exact`, unless PEAK_WITH_EXTRA is set. The figure is the kernel's for the image that runs (VmHWM);
that of getrusage also counts the process that started it.
"""

import os
import sys
from pathlib import Path

from drawbar.cli import main

if "PEAK_WITH_EXTRA" not in os.environ:
    sys.modules["highspy"] = None  # type: ignore[assignment]  # it settles what the program itself gives up
report = Path(sys.argv.pop(1))
try:
    main()
finally:
    status = Path("/proc/self/status").read_text(encoding="utf-8")
    report.write_text(status.partition("VmHWM:")[2].split()[0], encoding="utf-8")
