"""Jobs whose sheets the tests look at, and a reader of the page that keeps what the tests ask for."""

import json
from dataclasses import dataclass, field
from html.parser import HTMLParser
from random import Random
from typing import Any

from random_jobs import job_text

DATE = "2026-01-31"
VOID = {"meta", "br", "img"}

TINY = """\
job: Pie cart
limits: {drop: 0.25 kPa}
gas: propane
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 2 m}
appliances:
  oven: {at: main, input: 20 MJ/h}
"""

EIGHT = """\
job: Festival kitchen trailer, eight appliances
ref: Q-0188
workshop: {business: Bend and Flare Gas, licence: L 12345, phone: 555 0100, address: "1 Any Street, Sometown"}
customer: {name: A. Person, phone: 555 0111}
vehicle: {make: Box trailer 5.2 m, registration: TEST 01, VIN: 0000TEST000000001}
installer: {name: B. Fitter, licence: 777}
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 260 MJ/h}
cylinders: {size: 45 kg, count: 2, drawing: 2, fill: 50 %, ambient: 10 degC}
runs:
  main:     {from: regulator, pipe: as1432-b/19.05, length: 3.6 m, rise: -0.4 m, fittings: {elbow-90: 3}}
  galley:   {from: main, pipe: as1432-b/15.88, length: 1.1 m, rise: 0.5 m, fittings: {tee-branch: 1, elbow-90: 2}}
  hot:      {from: galley, pipe: as1432-b/12.70, length: 1.4 m, fittings: {tee-branch: 1}}
  bench:    {from: galley, pipe: as1432-b/15.88, length: 0.8 m, fittings: {tee-through: 1}}
  kerbside: {from: main, pipe: as1432-b/15.88, length: 0.9 m, fittings: {tee-through: 1}}
  rear:     {from: kerbside, pipe: as1432-b/12.70, length: 2.2 m, fittings: {elbow-90: 2}}
outlets:
  kerb-bayonet: {at: kerbside, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
  side-bayonet: {at: kerbside, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
  rear-bayonet: {at: rear,     devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  short-hose: {pipe: hose/8, length: 1.5 m, count: 3, devices: [{name: quick coupler, flow: 50 MJ/h, drop: 60 Pa}]}
appliances:
  fryer:    {at: hot, input: 40 MJ/h}
  steamer:  {at: hot, input: 20 MJ/h}
  hob:      {at: bench, input: 24 MJ/h}
  oven:     {at: bench, input: 18 MJ/h}
  fridge:   {at: bench, input: 2 MJ/h}
  urn:      {plugs-into: any, hose: short-hose, input: 15 MJ/h}
  griddle:  {plugs-into: any, hose: short-hose, input: 20 MJ/h, min-pressure: 2.4 kPa}
  heater:   {plugs-into: any, hose: short-hose, input: 10 MJ/h}
space: {berths: 0, vents: {high: 46000 mm2, low: 46000 mm2}}
states:
  breakfast: {urn: 100 %, fryer: 100 %, fridge: 100 %, for: 30 min, every: 3 h}
  service:   {fryer: 100 %, griddle: 60 %, hob: 100 %, fridge: 100 %, for: 1 h, every: 3 h}
  everything: {fryer: 100 %, steamer: 100 %, hob: 100 %, oven: 100 %, fridge: 100 %, urn: 100 %, griddle: 100 %,
               heater: 100 %, for: 20 min, every: 2 h}
"""
# A logo that only draws.
LOGO = """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 120 60">
<rect width="120" height="60" fill="none" stroke="#000" stroke-width="3"/>
<path d="M60 8c10 14 16 20 16 30a16 16 0 0 1-32 0c0-8 6-14 9-20 1 6 3 8 5 9 0-7-1-12 2-19z" fill="#000"/></svg>
"""

# Names as long as they may be, and texts that would be markup, turn a line round, or are pictures.
HOSTILE_TITLE = (
    "<script>alert(\"x\")</script> & 'q' </title><img src=x onerror=alert(1)> {{ 7 }} \u05de\u05d8\u05d1\u05d7"
)
HOSTILE_NAMES = (
    '"><img src=x onerror=alert(1)>',
    "</text></svg><script>alert(1)</script>",
    "\u05de\u05d8\u05d1\u05d7 \u05d2\u05d3\u05d5\u05dc",
    "\U0001f525\U0001f372\U0001f373 grill",
    "W" * 60,
    "&lt;b&gt; {% raw %} {{ job }} &amp;",
)


def hostile_job() -> str:
    """Return a job whose title, ref, runs, outlet, hose, appliances and state bear such texts."""
    quoted = [json.dumps(name, ensure_ascii=False) for name in HOSTILE_NAMES]
    run, hose, outlet, grill, oven, state = quoted
    return f"""\
job: {json.dumps(HOSTILE_TITLE, ensure_ascii=False)}
ref: {quoted[0]}
limits: {{drop: 0.25 kPa}}
gas: propane
regulator: {{outlet: 2.75 kPa, capacity: 100 MJ/h}}
cylinders: {{size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}}
runs:
  {run}: {{from: regulator, pipe: as1432-b/15.88, length: 2 m}}
  {oven}: {{from: {run}, pipe: as1432-b/12.70, length: 1 m, fittings: {{elbow-90: 2}}}}
outlets:
  {outlet}: {{at: {run}, devices: [{{name: {quoted[0]}, flow: 60 MJ/h, drop: 40 Pa}}]}}
hoses:
  {hose}: {{pipe: hose/8, length: 1.5 m}}
appliances:
  {grill}: {{plugs-into: any, hose: any, input: 20 MJ/h}}
  {state}: {{at: {oven}, input: 30 MJ/h}}
states:
  {json.dumps("state " + HOSTILE_NAMES[1], ensure_ascii=False)}: [{grill}, {state}]
  quiet: [{state}]
"""


def large_job(seed: int, *, stages: bool = False) -> str:
    """Return a job of 30 runs with all that a sheet can show."""
    parts = {"portables": 2, "outlets": 3, "hoses": 2} if stages else {"portables": 4, "outlets": 4, "hoses": 2}
    text = job_text(Random(seed), 30, states=True, stages=stages, sized=True, **parts)
    more = (
        "rule: as-nzs-5601.2\nref: W-0001\nspace: {berths: 2, vents: {high: 26000 mm2, low: 26000 mm2}}\n"
        "cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}"
    )
    return text.replace("limits: {drop: 0.25 kPa}", more)


@dataclass
class Element:
    """An element of the page: its tag, attributes, and the text in it."""

    tag: str
    attributes: dict[str, str | None]
    text: str = ""


@dataclass
class PageTable:
    """A table of the page: what stands in its cells."""

    caption: str = ""
    heads: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)


class Page(HTMLParser):
    """The page, read strictly: every element that is opened is closed in its turn."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.tables: list[PageTable] = []
        self.declaration = ""
        self._open: list[Element] = []
        self.feed(text)
        self.close()
        assert not self._open, f"{self._open[-1].tag} is not closed"

    def handle_decl(self, decl: str) -> None:
        """Keep the document type."""
        self.declaration = decl

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        element = Element(tag, dict(attrs))
        assert len(element.attributes) == len(attrs), f"{tag} has an attribute twice"
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)
        if tag == "table":
            self.tables.append(PageTable())
        if tag == "tr" and self._inside("tbody"):
            self.tables[-1].rows.append([])
        if tag == "br":
            self.handle_data(" ")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep an element that holds nothing."""
        self.elements.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """Close the element that was opened last."""
        assert self._open, f"{tag} is closed and was not open"
        element = self._open.pop()
        assert element.tag == tag, f"{tag} is closed where {element.tag} is open"
        if self.tables:
            table = self.tables[-1]
            if tag == "caption":
                table.caption = element.text
            elif tag == "th" and not self._inside("tbody"):
                table.heads.append(element.text)
            elif tag in ("th", "td"):
                table.rows[-1].append(element.text)

    def handle_data(self, data: str) -> None:
        """Add a text to all the elements that it stands in."""
        data = data.replace("\u2068", "").replace("\u2069", "")  # they set names apart, and are not of them
        for element in self._open:
            element.text += data

    def _inside(self, tag: str) -> bool:
        return any(element.tag == tag for element in self._open)

    def drawings(self) -> list[Element]:
        """Return the drawings; other svg elements are windows in them."""
        return [element for element in self.of("svg") if "role" in element.attributes]

    def of(self, tag: str) -> list[Element]:
        """Return the elements of a tag."""
        return [element for element in self.elements if element.tag == tag]

    def table(self, caption: str) -> PageTable:
        """Return the table of a caption."""
        (table,) = [table for table in self.tables if table.caption == caption]
        return table


def figure(value: float, digits: int) -> str:
    """Return a figure as it is to be shown: rounded, with no minus before a nought."""
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def result_of(out: str) -> dict[str, Any]:
    """Return the only result of a JSON output."""
    (result,) = json.loads(out)["results"]
    return dict(result)
