"""The pages that show commands with their output: run by a test; `python tests/support/pages.py` renews them."""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from calls import unmeasured
from paths import EXAMPLES, ROOT

README = ROOT / "README.md"
PAGES = (README, *sorted(EXAMPLES.glob("*.md")))
_BLOCK = re.compile(r"^```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)^```$", re.MULTILINE | re.DOTALL)
_PYTHON = re.compile(r"^```python\n(?P<code>.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks(text: str) -> list[tuple[str, str]]:
    """Return (command, output) of every console block."""
    return [(block["command"], block["output"]) for block in _BLOCK.finditer(text)]


def scripts(text: str) -> list[str]:
    """Return the code of every Python block."""
    return [block["code"] for block in _PYTHON.finditer(text)]


def run(command: str) -> str:
    """Return what a command of a page prints, on both outputs, in the project's folder."""
    with tempfile.TemporaryDirectory() as folder:
        for name, module in (("drawbar", " -m drawbar"), ("python", "")):
            program = Path(folder) / name
            program.write_text(f'#!/bin/sh\nexec "{sys.executable}"{module} "$@"\n', encoding="utf-8")
            program.chmod(0o755)
        environment = {name: value for name, value in unmeasured().items() if not name.startswith("DRAWBAR")}
        environment |= {
            "PATH": f"{folder}:{environment['PATH']}",
            "PYTHONPATH": str(ROOT / "src"),
            "PYTHONIOENCODING": "utf-8",
            "COLUMNS": "80",
        }
        ended = subprocess.run(
            ["bash", "-c", command],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            timeout=60,
            check=False,
        )
    return re.sub(r"[ \t]+$", "", ended.stdout, flags=re.MULTILINE).rstrip("\n") + "\n"


def updated(text: str) -> str:
    """Return a page with every console block's output as its command prints it now."""
    return _BLOCK.sub(lambda block: f"```console\n$ {block['command']}\n{run(block['command'])}```", text)


if __name__ == "__main__":
    for page in PAGES:
        page.write_text(updated(page.read_text(encoding="utf-8")), encoding="utf-8")
