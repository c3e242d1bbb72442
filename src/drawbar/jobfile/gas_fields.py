"""The gas of a job file: a pure gas, or a mixture, which may say whether it is liquid or vapour."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from yaml.nodes import MappingNode, ScalarNode

from drawbar.yamlfile.fields import Named
from drawbar.yamlfile.scalars import Choice, Path

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.yamlfile.nodes import Source

OF = "of"
"""The key of a mixture beside its gases: what its shares are of."""
LIQUID, VAPOUR = "liquid", "vapour"
STATES = Choice({LIQUID: LIQUID, VAPOUR: VAPOUR})


class Mixture(NamedTuple):
    """Shares by the name of a gas, and under `of` whether they are of the liquid or the vapour.

    Reads as {name: (share, key node)}, with the word under `of` where there is one.
    """

    shares: Named

    def read(self, node: Node, source: Source, path: Path) -> dict[str, tuple[Any, Node]] | None:
        """Return the shares by name, and the word."""
        if not isinstance(node, MappingNode):
            return self.shares.read(node, source, path)
        of = [pair for pair in node.value if isinstance(pair[0], ScalarNode) and pair[0].value == OF]
        rest = [pair for pair in node.value if pair not in of]
        only = MappingNode(node.tag, rest, node.start_mark, node.end_mark, node.flow_style)
        read = self.shares.read(only, source, path)
        for key, value in of[:1]:
            word = STATES.read(value, source, (*path, OF))
            if read is not None:
                read[OF] = (word, key)
        for key, _ in of[1:]:
            source.add(key, (*path, OF), "stands here a second time", "write it once")
        return read
