"""How a state of a job file is written as a mapping: shares by appliance, and beside them how the state is used."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from yaml.nodes import MappingNode, Node, ScalarNode

from drawbar import units
from drawbar.yamlfile.fields import Field, Named, Record
from drawbar.yamlfile.scalars import Path, of

if TYPE_CHECKING:
    from drawbar.yamlfile.entry import Entry
    from drawbar.yamlfile.nodes import Source

SHORTEST_USE, LONGEST_USE = "10 s", "72 h"
"""Between which bounds a time that a state is on, or from one start to the next, can be right."""
_TIME = of(units.TIME, SHORTEST_USE, LONGEST_USE)

USE = {
    "for": Field(_TIME, "how long it is on in one go, as `20 min`"),
    "every": Field(_TIME, "from one start to the next, as `1 h`"),
}
"""The keys of a state that are not appliances."""


class StateAsRead(NamedTuple):
    """A state written as a mapping.

    Attributes
    ----------
    shares : dict of str to tuple
        By appliance the share of its input [-], None if it could not be read, and the node of its name.
    use : Entry or None
        How the state is used, None where it does not say.
    """

    shares: dict[str, tuple[float | None, Node]]
    use: Entry | None


class SharesAndUse(NamedTuple):
    """A mapping from the names of appliances to shares, in which the keys of USE say how the state is used."""

    shares: Named

    def read(self, node: Node, source: Source, path: Path) -> StateAsRead | None:
        """Return shares and use; what could not be read is left out."""
        use = [pair for pair in node.value if _is_use(pair[0])] if isinstance(node, MappingNode) else []
        if not use:
            shares = self.shares.read(node, source, path)
            return None if shares is None else StateAsRead(shares, None)

        def part(pairs: list[tuple[Node, Node]]) -> MappingNode:
            return MappingNode(node.tag, pairs, node.start_mark, node.end_mark)

        rest = [pair for pair in node.value if not _is_use(pair[0])]
        shares = self.shares.read(part(rest), source, path) if rest else {}
        if shares is None:
            return None
        return StateAsRead(shares, Record(USE).read(part(use), source, path))


def _is_use(key: Node) -> bool:
    return isinstance(key, ScalarNode) and key.value in USE
