"""The program as a call: in a process of its own, as from a shell."""

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

from paths import ROOT


class Call(NamedTuple):
    """What a call of the program came to: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


def call_process(*words: str, cwd: Path = ROOT, stdin: str | None = None, **env: str) -> Call:
    """Call the program in a process of its own; `env` is laid over the environment, without a DRAWBAR_ variable."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("DRAWBAR")}
    environment |= {"PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8", **env}
    ended = subprocess.run(
        [sys.executable, "-m", "drawbar", *words],
        cwd=cwd,
        env=environment,
        input=stdin,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=60,
    )
    return Call(ended.returncode, ended.stdout, ended.stderr)
