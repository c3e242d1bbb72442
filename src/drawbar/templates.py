"""Starter files: a template with comments, filled in for a job and checked before anyone gets it."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.checking.rules_kept import NOMINAL_SHARE, nominal_pa
from drawbar.job import Job
from drawbar.jobfile.edit import with_sizes
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.report.display import Shown
from drawbar.report.reasons import reason_words
from drawbar.sizing.size import Wishes, size
from drawbar.yamlfile import nodes
from drawbar.yamlfile.nodes import Source

DEFAULT_TEMPLATE = "camper-trailer"
# What can be filled in, by the name of the question: where it stands in a job file.
ANSWER_PATHS = {
    "title": ("job",),
    "ref": ("ref",),
    "rule": ("rule",),
    "gas": ("gas",),
    "altitude": ("site", "altitude"),
    "temperature": ("site", "temperature"),
}
_DROP = "drop"  # the answer that no template has a place for: the allowable drop
_FOLDER = "data/templates"
_PLAIN = re.compile(r"[+-]?\w[\w./+ -]*")  # what needs no quotes wherever it stands
_TO_NOTE = re.compile(r" +(?=#)")


@dataclass(frozen=True, slots=True)
class StarterFile:
    """A starter file that passes the check.

    Attributes
    ----------
    text : str
        What stands in it.
    changes : tuple of str
        A sentence on each thing that was changed for it to pass.
    """

    text: str
    changes: tuple[str, ...]


def templates() -> dict[str, str]:
    """Return what each template is, by its name; the default one stands first."""
    folder = resources.files("drawbar").joinpath(_FOLDER)
    names = sorted(template.name.removesuffix(".yaml") for template in folder.iterdir())
    names.sort(key=lambda name: name != DEFAULT_TEMPLATE)
    return {name: _template(name).splitlines()[1].removeprefix("# ") for name in names}  # the first is for editors


def examples() -> dict[str, str]:
    """Return what each file of the project's examples shows, by its name."""
    names = sorted(file.name.removesuffix(".yaml") for file in _examples().iterdir() if file.name.endswith(".yaml"))
    return {name: _about(example_text(name)) for name in names}


def example_text(name: str) -> str:
    """Return what stands in an example, one of `examples`."""
    return _examples().joinpath(f"{name}.yaml").read_text(encoding="utf-8")


def _examples() -> Traversable:
    """Return the folder of the examples: in an installed package, or beside the source."""
    try:
        return resources.files("drawbar.examples")
    except ModuleNotFoundError:
        return Path(__file__).parents[2] / "examples"


def _about(text: str) -> str:
    """Return the first sentence of a file's comment, or the title of a job that has none."""
    first = text.partition("\n")[0]
    return first.removeprefix("# ").partition(". ")[0].removesuffix(".").removeprefix("job: ")


def starter_file(name: str, answers: Mapping[str, str], catalogue: Catalogue, file: str = "-") -> StarterFile:
    """Return a template with answers put in; the rest stays as the template has it.

    Parameters
    ----------
    name : str
        The template's.
    answers : mapping of str to str
        What to put in, by the names of ANSWER_PATHS, and the allowable drop under `drop`, for a rule that gives none.
    catalogue : Catalogue
        What the answers may name.
    file : str
        The name of the file in messages.

    Returns
    -------
    StarterFile
        The file that passes, with what was changed for that.

    Raises
    ------
    Problems
        What is wrong with an answer, or why the verdict on the line is not PASS with them.
    """
    edits = {ANSWER_PATHS[key]: written(key, value, file) for key, value in answers.items() if key != _DROP}
    text = edited(_template(name), edits, file)
    if _DROP in answers:
        limits = f"limits: {{drop: {written(_DROP, answers[_DROP], file)}}}"
        text = re.sub(r"^rule:.*$", lambda rule: f"{rule.group()}\n{limits}", text, count=1, flags=re.MULTILINE)
    if "ref" not in answers:
        text = re.sub(r"^(ref:.*?)  +#", r"# \1   #", text, count=1, flags=re.MULTILINE)
    # What comes from a command line may hold bytes that are no text.
    text = nodes.decoded(text.encode("utf-8", "surrogateescape"), file)
    job = job_of(text, file, catalogue, sized=True)
    changes = []
    outlet = nominal_outlet(job)
    if outlet is not None and job.rule is not None:
        changes.append(f"The regulator is set to {outlet}, the nominal pressure of {job.rule.name} for this gas.")
        text = edited(text, {("regulator", "outlet"): outlet}, file)
        job = job_of(text, file, catalogue, sized=True)
    result = check_job(job)
    if not result.pressures_pass:
        text = _resized(text, job, catalogue)
        changes.append("The pipes are not the template's: `drawbar size` chose them for these answers.")
        result = check_job(job_of(text, file, catalogue, sized=True))
    if result.because:  # such as a gas that turns liquid: no size of pipe puts it right
        reasons = [reason_words(reason, Shown(job.display)) for reason in result.because]
        raise Problems([Problem(file, 0, 0, "", what, fit) for what, fit in reasons])
    return StarterFile(text, tuple(changes))


def nominal_outlet(job: Job) -> str | None:
    """Return the nominal pressure of a job's rule, in the job's unit, where its regulator is set to another."""
    nominal = nominal_pa(job)
    if nominal is None or abs(job.regulator.outlet_gauge_pa - nominal) <= NOMINAL_SHARE * nominal:
        return None
    unit = job.display.pressure
    return f"{units.from_si(nominal, unit, units.PRESSURE):.4g} {unit}"


def _template(name: str) -> str:
    return resources.files("drawbar").joinpath(f"{_FOLDER}/{name}.yaml").read_text(encoding="utf-8")


def written(key: str, value: str, file: str) -> str:
    """Return an answer as it stands in a YAML file: in quotes where it would be taken for something else."""
    value = value.strip()
    if key == "gas" and value.startswith("{"):
        # A mixture of gases; with anything after its bracket it would be more than an answer.
        node = nodes.node_at(nodes.compose(f"gas: {value}", Source(file)), ("gas",))
        if node is not None and node.end_mark.index == len(f"gas: {value}"):
            return value
    return value if _PLAIN.fullmatch(value) else json.dumps(value, ensure_ascii=False)


def edited(text: str, edits: Mapping[tuple[str, ...], str], file: str) -> str:
    """Return the text with what stands at each path replaced; nothing else in it changes."""
    root = nodes.compose(text, Source(file))
    spans = []
    for path, new in edits.items():
        node = nodes.node_at(root, path)
        assert node is not None  # every template has what can be asked
        spans.append((node.start_mark.index, node.end_mark.index, new))
    for start, end, new in sorted(spans, reverse=True):
        blanks = _TO_NOTE.match(text, end)  # the note after it stays in its column as long as it can
        rest = text[end:]
        if blanks is not None:
            rest = " " * max(2, len(blanks.group()) + end - start - len(new)) + text[blanks.end() :]
        text = text[:start] + new + rest
    return text


def _resized(text: str, job: Job, catalogue: Catalogue) -> str:
    """Return the text with the cheapest sizes of the same families that pass."""
    families = {run.name: run.pipes[0].label.partition("/")[0] for run in job.runs}
    wanted = with_sizes(text, job.file, {name: f"{family}/auto" for name, family in families.items()})
    result = size(job_of(wanted, job.file, catalogue), wishes=Wishes(no_increase=True))
    if not result.passes:
        fit = "take another template or rule, or less altitude or heat, and change the file afterwards"
        raise Problems([Problem(job.file, 0, 0, "", "no pipe lets this template pass with these answers", fit)])
    return with_sizes(text, job.file, {run.name: run.pipes[0].label for run in result.sized.runs})
