"""The gas that a file names or mixes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.jobfile.gas_fields import OF
from drawbar.problems import close_to, shown

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.physics.gas import Gas
    from drawbar.yamlfile.entry import Entry
    from drawbar.yamlfile.nodes import Source

_ANY_LPG = ("lpg", "lp", "lp gas", "lp-gas", "gas", "autogas", "bottled gas")
_SAY_WHICH = "which is it: `propane`, or a mixture by mole as `{propane: 70 %, n-butane: 30 %}`?"
_ROUNDED_SHARES = 1e-4  # of a mixture's shares, by which they may miss 100 %


def read_gas(entry: Entry, catalogue: Catalogue, source: Source) -> Gas | None:
    """Return the gas that a table names or mixes, None with a problem noted where it can't be made.

    Parameters
    ----------
    entry : Entry
        A table with the key `gas`.
    catalogue : Catalogue
        The gases that there are.
    source : Source
        The file, on which problems are noted.

    Returns
    -------
    Gas or None
    """
    path = (*entry.path, "gas")
    names: dict[str, tuple[float | None, Node]] = dict(entry.named_quantities("gas"))
    pure = entry.text("gas")
    if pure is not None:
        names = {pure: (1.0, entry.at("gas"))}
    names.pop(OF, None)
    unknown = [(name, node) for name, (_, node) in names.items() if name not in catalogue.gas_names]
    for name, node in unknown:
        what, fit = f"{shown(name)} is not a gas of the catalogue", close_to(name, catalogue.gas_names)
        if name.casefold() in _ANY_LPG:
            what, fit = f"{shown(name)} may be propane, butane or a mixture of them", _SAY_WHICH
        source.add(node, path, what, fit)
    shares = [(name, share) for name, (share, _) in names.items() if share is not None]
    if unknown or not shares or len(shares) < len(names):
        return None
    total = sum(share for _, share in shares)
    if abs(total - 1.0) > _ROUNDED_SHARES:
        source.add(entry.at("gas"), path, f"the shares add up to {total * 100:g} %", "make them 100 % by mole")
        return None
    return catalogue.gas(tuple((name, share / total) for name, share in shares if share > 0.0))
