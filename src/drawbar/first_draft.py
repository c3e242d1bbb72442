"""A job file of one's own from a few answers: what is known stands in it, the rest on the safe side or as not known.

What was not asked errs towards more pressure drop: the line forks at the far end of the main run, runs rise and have
bends, hoses have couplers, everything is on at once, and any portable appliance may be plugged in anywhere. What only
the owner can say, such as a regulator's capacity, is left out, and the verdict then stays open.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job
from drawbar.jobfile.edit import with_sizes
from drawbar.jobfile.pipework import AUTO
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems, shown
from drawbar.schemas.installed import editor_line
from drawbar.sizing.size import Wishes, size
from drawbar.templates import StarterFile, edited, nominal_outlet, written
from drawbar.yamlfile import nodes

MAIN = "main"
NOT_KNOWN_LENGTH = "1 m"  # stands for a length that has not been asked yet, so that the other answers can be looked at
_LENGTH_AND_PIPE = re.compile(r"(?P<length>.*?)(?:\s+(?P<pipe>[A-Za-z][\w.-]*/.+))?")
_BOTTLES = re.compile(r"(?:(?P<count>[0-9]{1,3})\s*[x*]\s*)?(?P<size>.+)")
_MOST_RISE_M = 1.0


class DraftAppliance(NamedTuple):
    """An appliance as it is asked for.

    Attributes
    ----------
    name : str
        What it is called.
    input : str
        The input on its data plate, as `50 MJ/h`, or a type of the catalogue.
    is_portable : bool
        Whether it is plugged in, and not fixed.
    """

    name: str
    input: str
    is_portable: bool = False


_ANY_APPLIANCE = DraftAppliance("appliance", "10 MJ/h")


class Draft(NamedTuple):
    """The answers that a job file is made of.

    Attributes
    ----------
    title : str
        What the job is called.
    appliances : tuple of DraftAppliance
        The appliances.
    lengths : mapping of str to str
        The length of each of `runs_of`, with its pipe where that is laid already, as `3.6 m as1432-b/12.70`.
    ref : str or None
        The workshop's own number.
    gas, rule : str
        As in a job file.
    drop : str or None
        The allowable drop, where the rule gives none or the code in force asks for less; None for the rule's.
    temperature, altitude : str
        Of the gas in the pipe and of the place, from the least to the most.
    capacity : str or None
        What the regulator is rated for; None where that is not known.
    bottles : str or None
        How many of which size, as `2 x 9 kg`; None to leave them out.
    outlets : int or None
        How many points there are to plug in; None for one a portable appliance.
    hose : str or None
        Length and pipe, as `1.5 m hose/8`, or `none`; None where it is not known.
    tube : str
        The family that sizes are chosen from.
    """

    title: str
    appliances: tuple[DraftAppliance, ...] = ()
    lengths: Mapping[str, str] = MappingProxyType({})
    ref: str | None = None
    gas: str = "propane"
    rule: str = "as-nzs-5601.2"
    drop: str | None = None
    temperature: str = "5 to 40 degC"
    altitude: str = "0 to 1000 m"
    capacity: str | None = None
    bottles: str | None = None
    outlets: int | None = None
    hose: str | None = None
    tube: str = "as1432-b"


def outlets_of(draft: Draft) -> list[str]:
    """Return the names of the points to plug in."""
    portable = sum(appliance.is_portable for appliance in draft.appliances)
    count = (draft.outlets or portable) if portable else 0
    return [f"bayonet-{number}" for number in range(1, count + 1)] if count != 1 else ["bayonet"]


def runs_of(draft: Draft) -> dict[str, str]:
    """Return where each run of the line leads, by its name: the main run first, if the line forks at all."""
    ends = [appliance.name for appliance in draft.appliances if not appliance.is_portable] + outlets_of(draft)
    if len(ends) <= 1:
        return {MAIN: ends[0]} if ends else {}
    return {MAIN: "where the line forks", **{f"to-{end}": end for end in ends}}


def drafted(draft: Draft, catalogue: Catalogue, file: str = "-") -> StarterFile:
    """Return the job file of a draft, with sizes chosen for the runs whose pipe is not laid yet.

    Parameters
    ----------
    draft : Draft
        The answers.
    catalogue : Catalogue
        What they may name.
    file : str
        The name of the file in messages.

    Returns
    -------
    StarterFile
        The file, and what was chosen. The verdict on it may be any of the three.

    Raises
    ------
    Problems
        What is wrong with an answer.
    """
    text = _adjusted(nodes.decoded(_text(draft).encode("utf-8", "surrogateescape"), file), file, catalogue)
    job = job_of(text, file, catalogue)
    changes = []
    open_runs = {run.name for run in job.runs if len(run.pipes) > 1}
    if open_runs:
        labels, how = _sizes(job, draft.tube, catalogue)
        changes.append(how)
        text = with_sizes(text, file, {name: label for name, label in labels.items() if name in open_runs})
    job_of(text, file, catalogue, sized=True)
    return StarterFile(text, tuple(changes))


def _sizes(job: Job, tube: str, catalogue: Catalogue) -> tuple[dict[str, str], str]:
    """Return a size for every run, by its label, and in a sentence how they were chosen.

    Where nothing passes with what is laid and plugged in, they are those that would do with a new line, else those that
    do as drawn, else the largest: the verdict says what is short.
    """
    every = tuple((catalogue.sizes(tube) or {}).values())
    new = job._replace(runs=tuple(run._replace(pipes=every) for run in job.runs))
    ways = (
        (job, Wishes(no_increase=True), "Sizes were chosen by `drawbar size`, for PASS at the worst."),
        (job, Wishes(), "Sizes were chosen by `drawbar size`, for PASS at the worst."),
        (new, Wishes(), "No sizes pass with the pipes that are laid; these would, were all of them new."),
        (new._replace(tolerances=None), Wishes(), f"No sizes of {tube} pass at the worst; these do as drawn."),
    )
    for choices, wishes, how in ways:
        sizes = size(choices, wishes=wishes)
        if sizes.passes:
            return {run.name: run.pipes[0].label for run in sizes.sized.runs}, how
    return {run.name: every[-1].label for run in job.runs}, f"No sizes of {tube} pass; the largest stand there."


def look_at(draft: Draft, catalogue: Catalogue) -> None:
    """Raise Problems where an answer of a draft can't be, as far as it is answered.

    Parameters
    ----------
    draft : Draft
        The answers so far; an appliance and lengths may be missing.
    catalogue : Catalogue
        What they may name.

    Raises
    ------
    Problems
        What is wrong with an answer.
    """
    if not draft.appliances:
        draft = draft._replace(appliances=(_ANY_APPLIANCE,))
    job_of(nodes.decoded(_text(draft).encode("utf-8", "surrogateescape"), "-"), "-", catalogue)


def _adjusted(text: str, file: str, catalogue: Catalogue) -> str:
    """Return the text with the regulator set to the nominal pressure of the rule for this gas, where it has one."""
    outlet = nominal_outlet(job_of(text, file, catalogue))
    return text if outlet is None else edited(text, {("regulator", "outlet"): outlet}, file)


def _text(draft: Draft) -> str:
    return "\n".join(line for part in _parts(draft) for line in (*part, "")).rstrip("\n") + "\n"


def _parts(draft: Draft) -> Iterator[list[str]]:
    """Yield the lines of each part of the file."""
    is_imperial = _is_imperial(draft)
    yield [
        editor_line("job"),
        f"# {' '.join(draft.title.split())}, as answered to `drawbar new`",
        "#",
        "# Read every line against the vehicle. What was not asked stands on the safe",
        "# side and is marked `guess`; put in what is there. What is left out is",
        "# unknown, never nothing: write `none` where there is none.",
    ]
    yield [
        f"job: {_value(draft.title)}",
        *([f"ref: {_value(draft.ref)}"] if draft.ref else []),
        f"gas: {written('gas', draft.gas, '-')}",
        f"site: {{temperature: {_value(draft.temperature)}, altitude: {_value(draft.altitude)}}}   # least to most",
        f"rule: {_value(draft.rule)}",
        *([f"limits: {{drop: {_value(draft.drop)}}}"] if draft.drop else []),
    ]
    outlet = "11 inH2O" if is_imperial else "2.75 kPa"
    if draft.capacity is None:
        rated = "175000 Btu/h" if is_imperial else "180 MJ/h"
        yield [
            "# Its capacity stands on its label; until it is written here, as",
            f"# `capacity: {rated}`, the verdict stays open.",
            f"regulator: {{outlet: {outlet}}}",
        ]
    else:
        yield [f"regulator: {{outlet: {outlet}, capacity: {_value(draft.capacity)}}}"]
    if draft.bottles is not None:
        yield _bottles(draft.bottles)
    yield ["runs:", *(line for name in runs_of(draft) for line in _run(draft, name))]
    outlets = outlets_of(draft)
    if outlets:
        yield ["outlets:", *(line for name in outlets for line in _outlet(draft, name))]
        if draft.hose not in (None, "none"):
            yield _hose(str(draft.hose))
    yield ["appliances:", *(_appliance(draft, appliance) for appliance in draft.appliances)]
    yield [
        "# Everything is on at once. If it never is, say what is on together:",
        "# states: {cooking: [NAME, NAME], washing: [NAME]}",
        "# A living space that the appliances stand in, for its vents:",
        "# space: {berths: 2, vents: {high: 20000 mm2, low: 20000 mm2}}",
    ]


def _bottles(text: str) -> list[str]:
    matched = _BOTTLES.fullmatch(text.strip())
    count, size_text = (matched["count"] or "1", matched["size"]) if matched else ("1", text)
    return [
        "# guess: gas is drawn from one of them, half full, on a cold morning",
        f"cylinders: {{size: {_value(size_text)}, count: {count}, drawing: 1, fill: 50 %, ambient: 5 degC}}",
    ]


def _run(draft: Draft, name: str) -> list[str]:
    length, pipe = length_and_pipe(draft.lengths.get(name, NOT_KNOWN_LENGTH))
    is_main = name == MAIN
    is_fork = is_main and len(runs_of(draft)) > 1
    lines = [
        f"  {_value(name)}:",
        f"    from: {'regulator' if is_main else MAIN}",
        f"    pipe: {_value(pipe or f'{draft.tube}/{AUTO}')}",
        f"    length: {_value(length)}",
    ]
    if not is_fork:
        lines.append(f"    rise: {_rise(length)}   # guess: how much higher it ends than it starts")
    elbows = "elbow-90: 4, ball-valve: 1" if is_main else "tee-branch: 1, elbow-90: 3"
    return [*lines, f"    fittings: {{{elbows}}}   # guess: count them"]


def _rise(length: str) -> str:
    """Return a rise on the safe side that a run of a length can have: a metre, or all of a shorter one."""
    try:
        value, unit, dimension = units.number_and_unit(length, units.LENGTH)
    except units.UnitError:
        return "0 m"  # the length is told
    if units.to_si(value, unit, dimension) <= _MOST_RISE_M:
        return _value(length)
    return "3 ft" if unit in ("ft", "in") else f"{_MOST_RISE_M:g} m"


def _outlet(draft: Draft, name: str) -> list[str]:
    at = next(run for run, end in runs_of(draft).items() if end == name)
    return [f"  {name}:", f"    at: {at}", "    devices: [{like: bayonet}]   # guess: the worse end of what is usual"]


def _hose(text: str) -> list[str]:
    length, pipe = length_and_pipe(text)
    if pipe is None:
        what, fit = f"{shown(text)} is not a length and a pipe", "write for example `1.5 m hose/8`, or `none`"
        raise Problems([Problem("-", 0, 0, "", what, fit)])
    return [
        "hoses:",
        "  hose:",
        f"    pipe: {_value(pipe)}",
        f"    length: {_value(length)}",
        "    devices: [{like: quick-coupler}]   # guess: `none` if there is none",
    ]


def _appliance(draft: Draft, appliance: DraftAppliance) -> str:
    rate = appliance.input.strip()
    shown_input = _value(rate) if re.match(r"[-+.]?[0-9]", rate) else f"{{like: {_value(rate)}}}"
    name = _value(appliance.name)
    if not appliance.is_portable:
        at = next(run for run, end in runs_of(draft).items() if end == appliance.name)
        return f"  {name}: {{at: {_value(at)}, input: {shown_input}}}"
    hose = {None: "", "none": ", hose: none"}.get(draft.hose, ", hose: hose")
    note = "   # its hose is not known: write `hose:`" if draft.hose is None else ""
    return f"  {name}: {{plugs-into: any{hose}, input: {shown_input}}}{note}"


def length_and_pipe(text: str) -> tuple[str, str | None]:
    """Return the length and the pipe, None without one, of a text such as `3.6 m as1432-b/12.70`."""
    matched = _LENGTH_AND_PIPE.fullmatch(" ".join(text.split()))
    return (matched["length"], matched["pipe"]) if matched else (text, None)


def _is_imperial(draft: Draft) -> bool:
    length = next(iter(draft.lengths.values()), "")
    return units.unit_of(length_and_pipe(length)[0]) in ("ft", "in")


def _value(text: str) -> str:
    return written("", text, "-")
