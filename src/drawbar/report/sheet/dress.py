"""The dress of every page to print: its style, its head, its tables, and names that run from right to left set apart.

A page extends the template `page.html.j2`, which has the style and the head with workshop, customer, vehicle and
installer, and takes its tables from `parts.html.j2`. All texts are escaped.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from importlib import resources
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup, escape

from drawbar import __version__
from drawbar.job import Job
from drawbar.particulars import NAME, Fields
from drawbar.yamlfile.carried import NO_DIGEST, sealed

_OF_LETTERHEAD = "business"
_SHOWN_AS = {"VIN": "VIN", "business": "Business"}


def rendered(template: str, view: Mapping[str, Any], job: Job, logo: str | None) -> str:
    """Return a page in the dress that all share, sealed with its digest where it bears one.

    Parameters
    ----------
    template : str
        The name of its template under data/.
    view : mapping of str to Any
        What the template shows beside `job`, `letterhead`, `people`, `logo` and `version`.
    job : Job
        The job that it is about.
    logo : str or None
        The workshop's logo as a data URI.

    Returns
    -------
    str
        One whole HTML file.
    """
    environment = Environment(
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=FunctionLoader(_template),
    )
    environment.filters["isolated"] = _isolating(job)
    common = {
        "version": __version__,
        "job": job,
        "logo": logo,
        "letterhead": letterhead(job),
        "people": list(people(job)),
        "no_digest": NO_DIGEST,
    }
    return sealed(environment.get_template(template).render({**common, **view}))


def _template(name: str) -> str:
    return resources.files("drawbar").joinpath(f"data/{name}").read_text(encoding="utf-8")


def letterhead(job: Job) -> tuple[str, list[str]]:
    """Return the workshop's business, empty where it is not given, and its other fields in words."""
    fields = dict(job.particulars.workshop)
    business = fields.pop(_OF_LETTERHEAD, fields.pop(NAME, ""))
    return business, [text if name == "address" else f"{name} {text}" for name, text in fields.items()]


def people(job: Job) -> Iterator[tuple[str, str]]:
    """Yield customer, vehicle and installer in words; nothing for what is not given."""
    particulars = job.particulars
    for what in ("customer", "vehicle", "installer"):
        fields: Fields = getattr(particulars, what)
        if fields:
            texts = [text if name in (NAME, "make") else f"{name} {text}" for name, text in fields]
            yield what.capitalize(), "; ".join(texts)


def _isolating(job: Job) -> Callable[[str], Markup]:
    """Return what sets the job's names that run from right to left apart from the words and figures around them."""
    turned = sorted({name for name in _names(job) if any(map(_turns, name))}, key=len, reverse=True)
    if not turned:
        return escape
    pattern = re.compile("|".join(re.escape(str(escape(name))) for name in turned))
    return lambda text: Markup(pattern.sub(lambda name: f"<bdi>{name.group()}</bdi>", str(escape(text))))


def _names(job: Job) -> Iterator[str]:
    for members in (job.runs, job.outlets, job.hoses, job.appliances, job.states):
        yield from (member.name for member in members)
    for holders in (job.runs, job.outlets, job.hoses):
        yield from (device.name for holder in holders for device in holder.devices)


def _turns(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in ("R", "AL", "AN", "RLE", "RLO", "RLI", "LRE", "LRO")
