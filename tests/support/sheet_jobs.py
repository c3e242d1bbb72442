"""Jobs whose sheets the tests look at, and a reader of the page that keeps what the tests ask for."""

import json
from dataclasses import dataclass, field
from html.parser import HTMLParser
from random import Random
from typing import Any

from random_jobs import job_text

DATE = "2026-01-31"
VOID = {"meta", "br"}

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

# Names as long as they may be, and texts that would be markup, turn a line round, or are pictures.
HOSTILE_TITLE = "<script>alert(\"x\")</script> & 'quotes' </title><img src=x onerror=alert(1)> \u202eabc {{ 7 * 7 }}"
HOSTILE_NAMES = (
    '"><img src=x onerror=alert(1)>',
    "</text></svg><script>alert(1)</script>",
    "\u05de\u05d8\u05d1\u05d7 \u05d2\u05d3\u05d5\u05dc",
    "\U0001f525\U0001f372\U0001f468\u200d\U0001f373 grill",
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
        "rule: as-nzs-5601.2\nref: W-0001\nspace: {berths: 2, vents: 52000 mm2}\n"
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
