"""What every test may ask for: the project's catalogue, and the program as a call in this process."""

import io
import sys
from collections.abc import Callable

import pytest

from calls import Call
from drawbar.catalogue.catalogue import Catalogue
from drawbar.cli.main import main
from jobs import CATALOGUE


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    """Return the project's own catalogue."""
    return CATALOGUE


@pytest.fixture
def drawbar(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Call]:
    """Return the program as a call in this process: `drawbar("check", "job.yaml")`, with what `-` reads as `stdin`."""

    def call(*words: str, stdin: str | bytes = "") -> Call:
        given = stdin.encode() if isinstance(stdin, str) else stdin
        monkeypatch.setattr(sys, "argv", ["drawbar", *words])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given), encoding="utf-8"))
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        return Call(int(ended.value.code or 0), out, err)

    return call
