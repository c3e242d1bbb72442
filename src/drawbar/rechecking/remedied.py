"""The job files of a batch with their swaps and what puts them right written in, beside the old ones."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile.edit import bom_of, with_values
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.rechecking.recheck import Outcome
from drawbar.rechecking.standing import standing
from drawbar.rechecking.swaps import Swap, swapped_job
from drawbar.remedies.changes import path_of
from drawbar.yamlfile import nodes
from drawbar.yamlfile.carried import is_page

_SAME = 1e-6  # relative, of an input as swapped and as read again


def remedied_text(outcome: Outcome, swaps: Sequence[Swap], catalogue: Catalogue) -> str:
    """Return the text of a job file with its appliances swapped and the best remedy made, read again and checked.

    Parameters
    ----------
    outcome : Outcome
        A job with a remedy, as of `recheck_file` with these swaps.
    swaps : sequence of Swap
        The swaps.
    catalogue : Catalogue
        What the job may name.

    Returns
    -------
    str
        Comments, order and spaces stay.

    Raises
    ------
    Problems
        If the file can't be read, is no longer what was looked at, or would not pass so.
    """
    file, best = outcome.file, outcome.remedies.best
    if best is None:
        raise Problems([Problem(file, 0, 0, "", "has no remedy to write")])
    text = nodes.read_text(file)
    if is_page(text):
        raise Problems([Problem(file, 0, 0, "", "is a sheet, and no job file", "recheck the job file itself")])
    wanted = swapped_job(job_of(text, file, catalogue, sized=True), swaps)
    values: dict[tuple[str, ...], str] = {
        ("appliances", name, "input"): _input_text(swap) for name, swap in zip(wanted.names, wanted.by, strict=True)
    }
    display = outcome.remedies.display
    values.update({path_of(change): change.edit(display)[1] for change in best.changes})
    changed = with_values(text, file, values)
    job = job_of(changed, file, catalogue, sized=True)
    smaller = {path[1] for path in map(path_of, best.changes) if path[0] == "appliances"}
    for now, planned in zip(job.appliances, wanted.job.appliances, strict=True):
        if now.name not in smaller and abs(now.input_w - planned.input_w) > _SAME * planned.input_w:
            what = (
                f"the swap can't be written in: {now.name} would burn {now.input_w:.6g} W, not {planned.input_w:.6g} W"
            )
            raise Problems([Problem(file, 0, 0, "", what, "write it in by hand")])
    if not standing(job).pressures_pass:
        raise Problems([Problem(file, 0, 0, "", "does not pass with the remedy written in", "write it in by hand")])
    return bom_of(file) + changed


def write_remedied(outcome: Outcome, swaps: Sequence[Swap], catalogue: Catalogue, target: Path) -> None:
    """Write a job file with its swaps and its best remedy, never over a file that is there.

    Parameters
    ----------
    outcome : Outcome
        A job with a remedy.
    swaps : sequence of Swap
        The swaps.
    catalogue : Catalogue
        What the job may name.
    target : Path
        The file to write; its folder is made.

    Raises
    ------
    Problems
        If it is there already, or nothing that passes can be written.
    OSError
        If it can't be written.
    """
    data = remedied_text(outcome, swaps, catalogue).encode("utf-8")
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        stream = target.open("xb")
    except FileExistsError:
        what = "is there already, and is left as it is"
        raise Problems([Problem(str(target), 0, 0, "", what, "name another folder")]) from None
    try:
        with stream:
            stream.write(data)
    except BaseException:
        target.unlink(missing_ok=True)
        raise


def _input_text(swap: Swap) -> str:
    return f"{{like: {swap.new}}}" if swap.like is not None else swap.new
