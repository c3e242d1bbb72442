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


def unmeasured() -> dict[str, str]:
    """Return the environment without what has coverage measure a further process.

    An interrupt that comes while coverage.py 7 holds the lock over its data leaves the process waiting for that lock
    for ever: 5 of 80 such processes, none of 60 without it.
    """
    return {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE_PROCESS")}


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


def call_terminal(*words: str, cwd: Path = ROOT, **env: str) -> bytes:
    """Return what the program prints on a terminal; `env` is laid over the environment, without NO_COLOR."""
    import pty  # there is none on Windows

    environment = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    environment |= {"PYTHONPATH": str(ROOT / "src"), **env}
    ours, theirs = pty.openpty()
    with subprocess.Popen([sys.executable, "-m", "drawbar", *words], stdout=theirs, cwd=cwd, env=environment):
        os.close(theirs)
        printed = b""
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # the other end is closed
                break
            if not piece:
                break
            printed += piece
    os.close(ours)
    return printed
