"""How to install what an extra needs into the environment that the program runs in: by pip, by pipx or by uv."""

from __future__ import annotations

import re
import shlex
import sys
from importlib import metadata
from pathlib import Path

PROJECT = "drawbar"


def install_advice(extra: str) -> str:
    """Return the command that installs the packages of an extra where this program runs.

    The packages are named, not the extra: so it does not matter where the program itself was installed from.

    Parameters
    ----------
    extra : str
        The extra's name.

    Returns
    -------
    str
        A command line.
    """
    packages = shlex.join(_packages(extra))
    prefix = Path(sys.prefix)
    if "pipx" in prefix.parts and prefix.parent.name == "venvs":
        return f"pipx inject {PROJECT} {packages}"
    config = prefix / "pyvenv.cfg"
    made_by_uv = config.is_file() and re.search(r"(?m)^uv = ", config.read_text(encoding="utf-8")) is not None
    python = shlex.quote(sys.executable)
    if made_by_uv:
        return f"uv pip install --python {python} {packages}"
    return f"{python} -m pip install {packages}"


def _packages(extra: str) -> list[str]:
    """Return what an extra asks for, as the project's metadata names it."""
    try:
        required = metadata.requires(PROJECT) or []
    except metadata.PackageNotFoundError:  # run from its source, without being installed
        return [f"{PROJECT}[{extra}]"]
    of_extra = re.compile(rf"\s*;\s*extra\s*==\s*['\"]{extra}['\"]\s*$")
    packages = [of_extra.sub("", line) for line in required if of_extra.search(line)]
    return packages or [f"{PROJECT}[{extra}]"]  # of an installation that is older than the extra
