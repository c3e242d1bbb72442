"""Commands of the README and their output: run by a test; `python tests/support/readme.py` renews the page."""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from paths import ROOT

README = ROOT / "README.md"
_BLOCK = re.compile(r"^```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(text: str) -> list[tuple[str, str]]:
    """Return (command, output) of every console block."""
    return [(found["command"], found["output"]) for found in _BLOCK.finditer(text)]


def run(command: str) -> str:
    """Return what a command of the README prints, on both outputs, in the project's folder."""
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "drawbar"
        program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m drawbar "$@"\n', encoding="utf-8")
        program.chmod(0o755)
        environment = {name: value for name, value in os.environ.items() if not name.startswith("DRAWBAR")}
        environment |= {"PATH": f"{folder}:{environment['PATH']}", "PYTHONIOENCODING": "utf-8", "COLUMNS": "80"}
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            timeout=60,
            check=False,
        )
    return re.sub(r"[ \t]+$", "", done.stdout, flags=re.MULTILINE).rstrip("\n") + "\n"


def updated(text: str) -> str:
    """Return the README with every console block's output as its command prints it now."""
    return _BLOCK.sub(lambda found: f"```console\n$ {found['command']}\n{run(found['command'])}```", text)


if __name__ == "__main__":
    README.write_text(updated(README.read_text(encoding="utf-8")), encoding="utf-8")
