"""Prints a page as PDF: with a browser of the machine where there is one, else with WeasyPrint."""

from __future__ import annotations

import importlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from drawbar.cli.reading import InputWrong

# Browsers that print without a window: their names on the PATH, and where Windows and macOS keep them off it.
_NAMES = (
    *("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"),
    *("microsoft-edge", "microsoft-edge-stable", "msedge"),
)
_WINDOWS_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")  # variables of the environment
_IN_WINDOWS_FOLDER = (
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
_MAC_FOLDERS = ("/Applications", "~/Applications")
_IN_MAC_FOLDER = (
    "Google Chrome.app/Contents/MacOS/Google Chrome",
    "Chromium.app/Contents/MacOS/Chromium",
    "Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
)
_MOST_S = 60.0


def pdf_of(html: str) -> bytes:
    """Return a page as PDF. Ends the call where nothing of the machine prints it."""
    browser = next(_browsers(), None)
    return _by_weasyprint(html) if browser is None else _by_browser(html, browser)


def _by_weasyprint(html: str) -> bytes:
    """Return a page as PDF by WeasyPrint, which is given nothing that stands outside the page."""
    try:
        weasyprint: Any = importlib.import_module("weasyprint")
    except (ModuleNotFoundError, OSError):  # not installed, or without the libraries of the machine that it draws with
        from drawbar.cli.extras import install_advice

        raise InputWrong(
            "a PDF needs Chromium, Chrome or Edge, on the PATH or where it is usually installed, or WeasyPrint: "
            f"{install_advice('pdf')}; or print the HTML by hand."
        ) from None

    class NothingOutside(weasyprint.URLFetcher):  # type: ignore[misc]  # the package is there or not
        def fetch(self, url: str, headers: object = None) -> object:
            if url.startswith("data:image/"):
                return super().fetch(url, headers)
            raise ValueError("a sheet has all that it shows in itself")

    printed: bytes = weasyprint.HTML(string=html, url_fetcher=NothingOutside()).write_pdf()
    return printed


def _by_browser(html: str, browser: str) -> bytes:
    """Return a page as PDF by a browser. Ends the call where it does not print."""
    with tempfile.TemporaryDirectory(prefix="drawbar-", ignore_cleanup_errors=True) as folder:
        page, printed = Path(folder, "sheet.html"), Path(folder, "sheet.pdf")
        page.write_text(html, encoding="utf-8")
        # The page holds no script and may fetch nothing; root, as in a container, has no sandbox to use.
        call = [
            *(browser, "--headless=new", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"),
            *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
            *(["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []),
            *(f"--user-data-dir={Path(folder, 'profile')}", f"--print-to-pdf={printed}", page.as_uri()),
        ]
        try:
            ended = subprocess.run(call, capture_output=True, timeout=_MOST_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise InputWrong(f"the browser {browser} did not print the page: {error}") from None
        if ended.returncode != 0 or not printed.exists():
            raise InputWrong(f"the browser {browser} did not print the page; print the HTML by hand instead.")
        return printed.read_bytes()


def _browsers() -> Iterator[str]:
    """Yield the browsers of the machine, those on the PATH first."""
    yield from (path for name in _NAMES if (path := shutil.which(name)) is not None)
    windows = [Path(os.environ[name]) for name in _WINDOWS_FOLDERS if os.environ.get(name)]
    mac = [Path(os.path.expanduser(folder)) for folder in _MAC_FOLDERS]  # unlike Path's, it copes without a home
    for folders, names in ((windows, _IN_WINDOWS_FOLDER), (mac, _IN_MAC_FOLDER)):
        yield from (str(folder / name) for folder in folders for name in names if (folder / name).is_file())
