"""Results of an earlier run, by job file: read through once to see that they are whole, then asked for one by one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from drawbar.problems import Problem, Problems, unread
from drawbar.rechecking.recheck import Outcome
from drawbar.rechecking.result_lines import outcome_of, result_lines


class Earlier:
    """Earlier results of JSON Lines, of which only the place in the file is kept: memory hardly grows with them.

    Parameters
    ----------
    file : str
        What `drawbar recheck --format jsonl` wrote.

    Raises
    ------
    Problems
        If the file can't be read or a line is no result.
    """

    def __init__(self, file: str) -> None:
        if file == "-":
            raise Problems([Problem(file, 0, 0, "", "earlier results can't be standard input", "name their file")])
        self.file = file
        self._places: dict[str, tuple[int, int]] = {}
        for place, length, outcome in result_lines(file):
            self._places[outcome.file] = place, length

    def __len__(self) -> int:
        return len(self._places)

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def get(self, file: str) -> Outcome | None:
        """Return the result of a job file, the last one where there are several; None where there is none."""
        place = self._places.get(file)
        if place is None:
            return None
        try:
            with Path(self.file).open("rb") as stream:
                stream.seek(place[0])
                return outcome_of(stream.read(place[1]).decode("utf-8"))
        except (OSError, ValueError) as error:
            raise Problems([unread(self.file, error)]) from None
