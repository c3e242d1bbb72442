"""A starter file: a template with comments, filled in for a job and checked before anyone gets it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check
from drawbar.checking.warnings import NOMINAL_SHARE, nominal_pa
from drawbar.job import Job
from drawbar.jobfile.edit import with_sizes
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.sizing.size import Wishes, size
from drawbar.yamlfile import nodes
from drawbar.yamlfile.nodes import Source

DEFAULT = "camper-trailer"
# What can be filled in, by the name of the question: where it stands in a job file.
ANSWERS = {
    "title": ("job",),
    "ref": ("ref",),
    "rule": ("rule",),
    "gas": ("gas",),
    "altitude": ("site", "altitude"),
    "temperature": ("site", "temperature"),
}
_FOLDER = "data/templates"
_PLAIN = re.compile(r"[+-]?\w[\w./+ -]*")  # what needs no quotes wherever it stands
_TO_NOTE = re.compile(r" +(?=#)")


@dataclass(frozen=True, slots=True)
class Starter:
    """The text of a starter file that passes the check, and a sentence on each thing that was changed for that."""

    text: str
    changes: tuple[str, ...]


def templates() -> dict[str, str]:
    """Return what each template is, by its name; the one that is taken unless another is named stands first."""
    names = sorted(one.name.removesuffix(".yaml") for one in resources.files("drawbar").joinpath(_FOLDER).iterdir())
    names.sort(key=lambda name: name != DEFAULT)
    return {name: _template(name).partition("\n")[0].removeprefix("# ") for name in names}


def defaults(name: str) -> dict[str, str]:
    """Return what a template itself answers to each question; no `ref`, which is the workshop's own."""
    root = nodes.compose(_template(name), Source(name))
    found = {key: nodes.node_at(root, path) for key, path in ANSWERS.items() if key != "ref"}
    return {key: node.value for key, node in found.items() if node is not None}


def starter(name: str, answers: Mapping[str, str], catalogue: Catalogue, file: str = "-") -> Starter:
    """Return a template with answers put in, by the names of ANSWERS; the rest stays as the template has it.

    file : the name that problems are told under
    Raises Problems if the reader takes an answer for wrong, or nothing makes the line pass with them.
    """
    edits = {ANSWERS[key]: _written(key, value, file) for key, value in answers.items()}
    text = _edited(_template(name), edits, file)
    if "ref" not in answers:
        text = re.sub(r"^(ref:.*?)  +#", r"# \1   #", text, count=1, flags=re.MULTILINE)
    # What comes from a command line may hold bytes that are no text.
    text = nodes.decoded(text.encode("utf-8", "surrogateescape"), file)
    job = job_of(text, file, catalogue, sized=True)
    changes = []
    nominal = nominal_pa(job)
    if (
        job.rule is not None
        and nominal is not None
        and abs(job.regulator.outlet_gauge_pa - nominal) > NOMINAL_SHARE * nominal
    ):
        unit = job.display.pressure
        outlet = f"{units.from_si(nominal, unit, units.PRESSURE):.4g} {unit}"
        changes.append(f"The regulator is set to {outlet}, the nominal pressure of {job.rule.name} for this gas.")
        text = _edited(text, {("regulator", "outlet"): outlet}, file)
        job = job_of(text, file, catalogue, sized=True)
    if not check(job).passes:
        text = _resized(text, job, catalogue)
        changes.append("The pipes are not the template's: `drawbar size` chose them for these answers.")
    return Starter(text, tuple(changes))


def _template(name: str) -> str:
    return resources.files("drawbar").joinpath(f"{_FOLDER}/{name}.yaml").read_text(encoding="utf-8")


def _written(key: str, value: str, file: str) -> str:
    """Return an answer as it stands in a YAML file: in quotes where it would be taken for something else."""
    value = value.strip()
    if key == "gas" and value.startswith(
        "{"
    ):  # a mixture of gases; with anything behind its bracket it would be more than an answer
        node = nodes.node_at(nodes.compose(f"gas: {value}", Source(file)), ("gas",))
        if node is not None and node.end_mark.index == len(f"gas: {value}"):
            return value
    return value if _PLAIN.fullmatch(value) else json.dumps(value, ensure_ascii=False)


def _edited(text: str, edits: Mapping[tuple[str, ...], str], file: str) -> str:
    """Return the text with what stands at each path replaced; nothing else in it changes."""
    root = nodes.compose(text, Source(file))
    spans = []
    for path, new in edits.items():
        node = nodes.node_at(root, path)
        assert node is not None  # every template has what can be asked
        spans.append((node.start_mark.index, node.end_mark.index, new))
    for start, end, new in sorted(spans, reverse=True):
        blanks = _TO_NOTE.match(text, end)  # the note behind it stays in its column as long as it can
        rest = text[end:]
        if blanks is not None:
            rest = " " * max(2, len(blanks.group()) + end - start - len(new)) + text[blanks.end() :]
        text = text[:start] + new + rest
    return text


def _resized(text: str, job: Job, catalogue: Catalogue) -> str:
    """Return the text with the cheapest sizes of the same families that pass."""
    families = {run.name: run.pipes[0].label.partition("/")[0] for run in job.runs}
    wanted = with_sizes(text, job.file, {name: f"{family}/auto" for name, family in families.items()})
    found = size(job_of(wanted, job.file, catalogue), wishes=Wishes(no_increase=True))
    if not found.passes:
        fit = "take another template or rule, or less altitude or heat, and change the file afterwards"
        raise Problems([Problem(job.file, 0, 0, "", "no pipe lets this template pass with these answers", fit)])
    return with_sizes(text, job.file, {run.name: run.pipes[0].label for run in found.sized.runs})
