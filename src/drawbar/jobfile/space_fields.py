"""The spaces of a job file: one by itself, or several by name; how each is written and what is read of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from yaml.nodes import MappingNode, ScalarNode

from drawbar import units
from drawbar.job import Space
from drawbar.problems import close_to, shown
from drawbar.yamlfile.entry import Entry
from drawbar.yamlfile.fields import Either, Field, Named, Record
from drawbar.yamlfile.scalars import FLAG, Number, Path, of

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.jobfile.pipework import PipeworkReader
    from drawbar.yamlfile.nodes import Source

INSIDE, OUTSIDE = "inside", "outside"
"""Where an appliance is used: in the only space there is, or in none."""
MOST_SPACES = 20
_AREA = of(units.AREA, "0 mm2", "10000000 mm2")
_LEVELS = Record(
    {
        "high": Field(_AREA, "the free area at high level, as `12000 mm2`", required=True),
        "low": Field(_AREA, "the free area at low level, as `12000 mm2`", required=True),
    }
)
SPACE = Record(
    {
        "berths": Field(Number(0, 50, whole=True), "how many sleep there"),
        "vents": Field(
            Either(_AREA, _LEVELS), "the free area of its vents, as `{high: 26000 mm2, low: 26000 mm2}` or as one area"
        ),
        "floor": Field(of(units.FLOOR, "0.01 m2", "200 m2"), "the area of its floor, as `6 m2`"),
        "bottles": Field(FLAG, "yes if it is the locker that the bottles stand in"),
        "drain": Field(_AREA, "of a locker, the free area of the openings at its lowest point, as `10000 mm2`"),
    }
)


class OneOrSeveral(NamedTuple):
    """A table, or several of its kind by name. Several read as a dictionary, one as an entry."""

    single: Record
    several: Named

    def read(self, node: Node, source: Source, path: Path) -> object:
        """Return an entry where the mapping has a key of the table, tables by name otherwise."""
        keys = (
            [key.value for key, _ in node.value if isinstance(key, ScalarNode)] if isinstance(node, MappingNode) else []
        )
        is_one = not isinstance(node, MappingNode) or any(key in self.single.fields for key in keys)
        return self.single.read(node, source, path) if is_one else self.several.read(node, source, path)


SPACES = OneOrSeveral(SPACE, Named(SPACE, most=MOST_SPACES))


def read_spaces(pipework: PipeworkReader, job: Entry) -> tuple[Space, ...]:
    """Return the spaces of a job; what is missing in one is noted.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems.
    job : Entry
        The whole job file.

    Returns
    -------
    tuple of Space
        The only one has no name.
    """
    single = job.table("space")
    if single is not None:
        spaces = [_space(pipework, "", single)]
    else:
        spaces = [_space(pipework, name, entry) for name, (entry, _) in job.named_tables("space").items() if entry]
    for name, (_, node) in job.named_tables("space").items():
        if name in (INSIDE, OUTSIDE):
            pipework.problem(node, ("space", name), f"`{name}` has a meaning of its own", "choose another name")
    return tuple(space for space in spaces if space is not None)


def _space(pipework: PipeworkReader, name: str, entry: Entry) -> Space | None:
    holds_bottles = entry.flag("bottles")
    if "bottles" not in entry.nodes:
        for key in ("berths", "vents"):
            if key not in entry.nodes:
                about = SPACE.fields[key].about
                pipework.source.add_missing(entry.node, entry.path, key, f"write `{key}:` and {about}")
    if "drain" in entry.nodes and not holds_bottles:
        pipework.problem(
            entry.at("drain"), (*entry.path, "drain"), "goes with a locker", "write `bottles: yes` beside it"
        )
    levels, total_m2 = entry.table("vents"), entry.quantity("vents")
    high_m2, low_m2 = (levels.quantity("high"), levels.quantity("low")) if levels is not None else (None, None)
    if high_m2 is not None and low_m2 is not None:
        total_m2 = high_m2 + low_m2
    if "vents" in entry.nodes and total_m2 is None:
        return None  # noted already
    return Space(
        berths=entry.count("berths", 0),
        vents_m2=total_m2 or 0.0,
        name=name,
        high_m2=high_m2,
        low_m2=low_m2,
        floor_m2=entry.quantity("floor"),
        holds_bottles=holds_bottles,
        drain_m2=entry.quantity("drain"),
    )


def used_in(pipework: PipeworkReader, job: Entry, appliance: Entry) -> str | None:
    """Return where an appliance is used: the name of a space, INSIDE, OUTSIDE, or None where the job does not say."""
    where = appliance.text("used")
    named = [
        name for name, (entry, _) in job.named_tables("space").items() if entry is None or not entry.flag("bottles")
    ]
    known = [*(named or [INSIDE]), OUTSIDE]
    if where is not None and where not in known:
        fit = close_to(where, known) or f"write one of {', '.join(known)}"
        pipework.problem(
            appliance.at("used"), (*appliance.path, "used"), f"{shown(where)} is not a space of the job", fit
        )
    return where
