"""The working of a calculation as numbered steps, for a person with a calculator: as text, Markdown or data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from drawbar.report.layout import Block, Column, Heading, OwnLayout, Points, Table
from drawbar.report.wrapping import columns, filled

_NUMBER = 6  # columns for a step's number
_NAME = 40  # columns for the name of a figure that is given
_LEAST_NAME = 16  # where the page is narrow
_SMALL, _LARGE, _HUGE = 1e-3, 1e4, 2e6  # figures below and above are printed with a power of ten
_SYMBOL = 9  # columns for the symbol before the first equals sign of a formula


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the working: a figure that is given, or one that is worked out.

    Attributes
    ----------
    name : str
        What it is, in words.
    symbol : str
        What it is, as the formulas have it.
    value : float
        The figure, in `unit`.
    unit : str
        The unit as it is printed.
    words : str
        The formula in symbols; empty for a figure that is given.
    numbers : str
        The same with the figures in it; empty for a figure that is given.
    source : str
        Where the figure or the formula stands.
    """

    name: str
    symbol: str
    value: float
    unit: str
    words: str = ""
    numbers: str = ""
    source: str = ""

    @property
    def result(self) -> str:
        """The figure with its unit."""
        return f"{num(self.value)} {self.unit}".rstrip()

    @property
    def formula(self) -> str:
        """The formula in symbols and in numbers, on one line."""
        return " = ".join(self.parts)

    @property
    def parts(self) -> list[str]:
        """The formula in symbols, then in numbers, each where there is one that says more than the result does."""
        return [part for part in (self.words, self.numbers) if part and part != num(self.value)]


@dataclass(frozen=True, slots=True)
class WorkingPart:
    """Steps that belong together under a heading, with sentences between them.

    Attributes
    ----------
    title : str
        The heading.
    items : list of Step or str
        The steps and the sentences, in order.
    """

    title: str
    items: list[Step | str] = field(default_factory=list)

    @property
    def steps(self) -> list[Step]:
        """The steps alone."""
        return [item for item in self.items if isinstance(item, Step)]


def num(value: float) -> str:
    """Return a figure to six digits, a pressure near the atmosphere's to a hundredth: enough to go on from by hand."""
    size = abs(value)
    if size == 0.0:
        return "0"
    if _LARGE <= size < _HUGE:
        return _bare(f"{value:.2f}")
    if _SMALL <= size < _LARGE:
        return _bare(f"{value:.{max(0, 5 - _power(size))}f}")
    digits, power = f"{value:.5e}".split("e")
    return f"{_bare(digits)}e{int(power)}"


def _power(size: float) -> int:
    """Return the power of ten of a figure's first digit."""
    return int(f"{size:.5e}".split("e")[1])


def _bare(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def total(values: Sequence[float]) -> str:
    """Return a sum written out."""
    return " ".join([num(values[0]), *(f"{'-' if value < 0 else '+'} {num(abs(value))}" for value in values[1:])])


def _sources(sections: Sequence[WorkingPart]) -> list[str]:
    """Return every source once, in the order of the working: the number of a source is its place in this list."""
    return list(dict.fromkeys(step.source for section in sections for step in section.steps if step.source))


def _numbered(sections: Sequence[WorkingPart]) -> Iterator[tuple[int, WorkingPart, list[tuple[str, Step | str]]]]:
    for number, section in enumerate(sections, 1):
        count, items = 0, []
        for item in section.items:
            count += isinstance(item, Step)
            items.append((f"{number}.{count}" if isinstance(item, Step) else "", item))
        yield number, section, items


class Working(OwnLayout):
    """The working as steps in the columns there are, with the sources after them; in Markdown a table a section."""

    def __init__(self, sections: Sequence[WorkingPart]) -> None:
        self.sections = sections
        self.sources = _sources(sections)

    def text(self, width: int) -> str:
        """Return the steps as lines of a width [columns]."""
        shown, indent = [], " " * _NUMBER
        for number, section, items in _numbered(self.sections):
            title = filled(f"{number}. {section.title}", width, rest="   ")
            lines = [title, "-" * max(map(columns, title.split("\n")))]
            for place, item in items:
                if isinstance(item, str):
                    lines.append(filled(item, width, first=indent, rest=indent))
                else:
                    lines.extend(_lines(place, item, self._tag(item, "[{}]"), width))
            shown.append("\n".join(lines))
        sources = [
            filled(source, width, first=f"{f'[{number}]':<{_NUMBER}}", rest=indent)
            for number, source in enumerate(self.sources, 1)
        ]
        return "\n\n".join([*shown, "\n".join(["Sources:", *sources])])

    def blocks(self) -> list[Block]:
        """Return a table a section, then the sources."""
        heads = tuple(Column(head, words=True) for head in ("step", "what", "working", "result", "source"))
        blocks: list[Block] = []
        for number, section, items in _numbered(self.sections):
            blocks.append(Heading(f"{number}. {section.title}"))
            rows: list[list[str]] = []
            for place, item in items:
                if isinstance(item, Step):
                    working = " = ".join(part for part in (item.symbol, item.formula) if part)
                    rows.append([place, item.name, working, item.result, self._tag(item, "{}")])
                    continue
                if rows:
                    blocks.append(Table(heads, rows))
                    rows = []
                blocks.append(item)
            if rows:
                blocks.append(Table(heads, rows))
        blocks.append(Points("Sources:", [f"{number}: {source}" for number, source in enumerate(self.sources, 1)]))
        return blocks

    def _tag(self, step: Step, form: str) -> str:
        return form.format(self.sources.index(step.source) + 1) if step.source else ""


def _lines(place: str, step: Step, tag: str, width: int) -> list[str]:
    """Return a step's lines. A given figure stands beside its name, a formula under it, as few lines as it takes."""
    head, indent = f"{place:<{_NUMBER}}", " " * _NUMBER
    if not step.formula:
        figure = f" {step.symbol} = {step.result}"
        name = max(_LEAST_NAME, min(_NAME, width - _NUMBER - columns(figure)))
        lines = filled(step.name, _NUMBER + name, first=head, rest=indent).split("\n")
        lines[-1] += " " * (_NUMBER + name - columns(lines[-1])) + figure
    else:
        lines = filled(step.name, width, first=head, rest=indent).split("\n")
        first = f"{indent}{step.symbol:>{_SYMBOL}} = "
        line, equals = first, " " * (len(first) - 2) + "= "
        for number, part in enumerate([*step.parts, step.result]):
            if number and columns(line) + 3 + columns(part) <= width:
                line += f" = {part}"
                continue
            if number:
                lines.append(line)
                line = equals
            *folded, line = filled(part, width, first=line, rest=" " * len(first)).split("\n")
            lines.extend(folded)
        lines.append(line)
    if tag and columns(lines[-1]) + 1 + len(tag) <= width:
        lines[-1] += tag.rjust(width - columns(lines[-1]))
    elif tag:
        lines.append(tag.rjust(width))
    return lines


def steps_data(sections: Sequence[WorkingPart]) -> dict[str, Any]:
    """Return the working for JSON: the sections with their sentences, and every step."""
    steps = [
        {
            "step": place,
            "name": f"{item.name}, {item.symbol}",
            "formula": item.formula or None,
            "value": item.value,
            "unit": item.unit,
            "source": item.source or None,
        }
        for _, _, items in _numbered(sections)
        for place, item in items
        if isinstance(item, Step)
    ]
    heads = [
        {"number": number, "title": section.title, "notes": [item for item in section.items if isinstance(item, str)]}
        for number, section, _ in _numbered(sections)
    ]
    return {"sections": heads, "steps": steps}
