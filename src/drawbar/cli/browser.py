"""Prints a page with a browser of the machine, where there is one."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

import click

from drawbar.cli.common import InputWrong

# Names on the PATH of browsers that print without a window.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
MOST_S = 60.0


def pdf_of(html: str) -> bytes:
    """Return the page as PDF. Ends the call where there is no browser, or it does not print."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        raise click.UsageError(
            f"--format pdf needs a browser on the PATH ({', '.join(BROWSERS)}); print the HTML by hand instead."
        )
    with tempfile.TemporaryDirectory(prefix="drawbar-", ignore_cleanup_errors=True) as folder:
        page, printed = Path(folder, "sheet.html"), Path(folder, "sheet.pdf")
        page.write_text(html, encoding="utf-8")
        # The page holds no script and may fetch nothing; root, as in a container, has no sandbox to use.
        call = [
            *(found, "--headless=new", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"),
            *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
            *(["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []),
            *(f"--user-data-dir={folder}/profile", f"--print-to-pdf={printed}", page.as_uri()),
        ]
        try:
            ended = subprocess.run(call, capture_output=True, timeout=MOST_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise InputWrong(f"the browser {found} did not print the page: {error}") from None
        if ended.returncode != 0 or not printed.exists():
            raise InputWrong(f"the browser {found} did not print the page; print the HTML by hand instead.")
        return printed.read_bytes()
