"""Result lines of earlier rechecks, read back: JSON Lines as `drawbar recheck --format jsonl` writes them."""

from __future__ import annotations

import contextlib
import json
import math
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, BinaryIO

from drawbar.checking.results import TOLERANCE_PA
from drawbar.display_units import Display
from drawbar.problems import Problem, Problems, shown, unread
from drawbar.rechecking.recheck import Outcome
from drawbar.rechecking.standing import Standing
from drawbar.rechecking.worked_from import Inputs
from drawbar.remedies.changes import Change, DeviceChange, HoseChange, LengthChange, LoadChange, SizeChange
from drawbar.remedies.failing import DropShare
from drawbar.remedies.remedy import Remedies, Remedy
from drawbar.verdict import Reason, Verdict, verdict_of

_MJ_H_PER_W = 0.0036


class BadLineError(ValueError):
    """A line that is no result of a recheck."""


def read_outcomes(files: Sequence[str]) -> Iterator[Outcome]:
    """Yield the outcomes of files of result lines.

    Parameters
    ----------
    files : sequence of str
        The files' names, `-` for standard input. Empty lines are passed over.

    Yields
    ------
    Outcome
        In the order of the lines.

    Raises
    ------
    Problems
        If a file can't be read, or at the first line that is no result.
    """
    for file in files:
        yield from (outcome for _, _, outcome in result_lines(file))


def result_lines(file: str) -> Iterator[tuple[int, int, Outcome]]:
    """Yield each result of a file with where its line starts and how long that is [bytes].

    Parameters
    ----------
    file : str
        The file's name, `-` for standard input. Empty lines are passed over.

    Yields
    ------
    tuple of (int, int, Outcome)
        In the order of the lines.

    Raises
    ------
    Problems
        If the file can't be read, or at the first line that is no result.
    """
    place = 0
    try:
        with _opened(file) as stream:
            for number, line in enumerate(stream, 1):
                text = line.decode("utf-8")
                if text.strip():
                    yield place, len(line), _outcome_at(file, number, text)
                place += len(line)
    except (OSError, ValueError) as error:
        raise Problems([unread(file, error)]) from None


def outcome_of(text: str) -> Outcome:
    """Return the outcome that a line of JSON is.

    Parameters
    ----------
    text : str
        The line.

    Returns
    -------
    Outcome
        What was written.

    Raises
    ------
    BadLineError
        If the line is no result of a recheck.
    """
    try:
        values = json.loads(text, parse_constant=_no_number)
        if values["kind"] != "recheck":
            raise BadLineError(f"is a result of {values['kind']}, not of recheck")
        outcome = Outcome(
            file=str(values["file"]),
            title=str(values["job"]),
            ref=values["ref"],
            swapped=tuple(map(str, values["swapped"])),
            swaps=tuple(map(str, values.get("swaps", ()))),
            notes=tuple(map(str, values.get("notes", ()))),
            before=_standing_of(values["before"]),
            after=_standing_of(values["after"]),
            remedies=_remedies_of(values["remedies"]),
            problems=tuple(map(_problem_of, values["problems"])),
            asked=tuple(map(str, values.get("asked", ()))),  # which lines of before have not
            inputs=_inputs_of(values.get("inputs")),
        )
        change = str(values["change"])
    except BadLineError:
        raise
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        raise BadLineError("is no line of `drawbar recheck --format jsonl`") from None
    if change != outcome.change:
        raise BadLineError(f"contradicts itself: it says {shown(change)} where the verdicts say {outcome.change}")
    return outcome


def _no_number(word: str) -> float:
    raise BadLineError(f"holds {word}, which is no number")


def _outcome_at(file: str, number: int, text: str) -> Outcome:
    try:
        return outcome_of(text)
    except BadLineError as error:
        raise Problems([Problem(file, number, 1, "", str(error))]) from None


def _opened(file: str) -> contextlib.AbstractContextManager[BinaryIO]:
    return contextlib.nullcontext(sys.stdin.buffer) if file == "-" else Path(file).open("rb")


def _standing_of(values: dict[str, Any] | None) -> Standing | None:
    if values is None:
        return None
    standing = Standing(
        verdict=Verdict(values["verdict"]),
        margin_pa=_finite(values["margin_Pa"]),
        state=str(values["state"]),
        appliance=str(values["appliance"]),
        worst_margin_pa=_finite(values["worst_margin_Pa"]),
        because=tuple(
            Reason(str(entry["code"]), Verdict(entry["verdict"]), str(entry["place"]), dict(entry["details"]))
            for entry in values["because"]
        ),
    )
    verdict = standing.verdict.word
    if standing.verdict is not verdict_of(standing.because):
        raise BadLineError(f"contradicts itself: it says {verdict}, and its reasons say something else")
    if standing.passes and min(standing.margin_pa, standing.worst_margin_pa) < -TOLERANCE_PA:
        raise BadLineError(f"contradicts itself: it says {verdict} with a pressure below its limit")
    return standing


def _finite(value: Any) -> float:
    number = float(value)
    if isinstance(value, bool | str) or not math.isfinite(number):
        raise BadLineError("holds a figure that is no number")
    return number


def _inputs_of(values: Mapping[str, Any] | None) -> Inputs | None:
    if values is None:
        return None
    rows = {str(row): str(digest) for row, digest in values["rows"].items()}
    return Inputs(
        job=str(values["job"]),
        rows=rows,
        program=str(values["program"]),
        loads_w={str(name): _finite(load) / _MJ_H_PER_W for name, load in values["loads_MJ_h"].items()},
        pipes={str(run): str(pipe) for run, pipe in values["pipes"].items()},
    )


def _problem_of(values: dict[str, Any]) -> Problem:
    return Problem(
        file=str(values["file"]),
        line=int(values["line"] or 0),
        column=int(values["column"] or 0),
        where=str(values["where"]),
        what=str(values["what"]),
        fit=str(values["fits"]),
        asked=str(values.get("asked") or ""),
        machine_failed=values.get("machine_failed") is True,  # which lines of before have not
    )


def _remedies_of(values: dict[str, Any] | None) -> Remedies:
    if values is None:
        return Remedies()
    share = values["bottleneck"]
    return Remedies(
        in_order=tuple(map(_remedy_of, values["in_order"])),
        bottleneck=None
        if share is None
        else DropShare(
            place_kind=str(share["place_kind"]),
            place=str(share["place"]),
            number=None if share["number"] is None else int(share["number"]),
            name=str(share["name"]),
            drop_pa=float(share["drop_Pa"]),
        ),
        unfinished=tuple(map(str, values["unfinished"])),
        display=Display(**{name: str(unit) for name, unit in values["units"].items()}),
    )


def _remedy_of(values: dict[str, Any]) -> Remedy:
    return Remedy(
        kind=str(values["kind"]),
        changes=tuple(map(_change_of, values["changes"])),
        margin_pa=float(values["margin_Pa"]),
        cost=None if values["cost"] is None else float(values["cost"]),
        unit=str(values["cost_unit"]),
        is_proven=bool(values["proven"]),
    )


def _change_of(values: dict[str, Any]) -> Change:
    match values:
        case {"run": run, "from": old, "to": new}:
            return SizeChange(str(run), str(old), str(new))
        case {"hose": hose, "from": old, "to": new}:
            return HoseChange(str(hose), str(old), str(new))
        case {"hose": hose, "from_m": old_m, "to_m": most_m}:
            return LengthChange(str(hose), float(old_m), float(most_m))
        case {"appliance": name, "from_MJ_h": old_mj_h, "to_MJ_h": most_mj_h}:
            return LoadChange(str(name), float(old_mj_h) / _MJ_H_PER_W, float(most_mj_h) / _MJ_H_PER_W)
        case _:
            return DeviceChange(
                place_kind=str(values["place_kind"]),
                place=str(values["place"]),
                number=int(values["number"]),
                device=str(values["device"]),
                flow_w=float(values["at_MJ_h"]) / _MJ_H_PER_W,
                old_pa=float(values["from_Pa"]),
                most_pa=float(values["to_Pa"]),
            )
