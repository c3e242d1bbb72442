"""What jobs take of materials: the pipe that is bought for what they need, and the parts and joints that go with it.

Lengths are whole micrometres [um] and then decimals, so that what is priced comes out the same by hand.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drawbar.materials.cutting import CuttingList, Piece, cut, split
from drawbar.materials.needs import UM_PER_M, Needs, Part, Stretch, size_order, sorted_parts

COUPLING = "coupling"

_MILLIMETRE = Decimal("0.001")
_COUPLING_JOINTS = 2  # common practice


@dataclass(frozen=True, slots=True)
class PipeTaken:
    """One size of pipe.

    Attributes
    ----------
    pipe : str
        The size, as `family/size`.
    runs : int
        How many runs are of it.
    length_m, with_waste_m : Decimal
        What is laid, and that with the waste allowance, each to the millimetre [m].
    bought_m : Decimal
        What is to be bought: whole stock lengths, or without a stock length the length with waste [m].
    full : int
        The stock lengths that go in whole, 0 without a stock length.
    cutting : CuttingList or None
        How the rest is cut, None without a stock length.
    extra : int
        Stock lengths beyond the cutting list, where its offcuts are less than the waste allowance.
    couplings : int
        What joins the stretches that are longer than a stock length.
    """

    pipe: str
    runs: int
    length_m: Decimal
    with_waste_m: Decimal
    bought_m: Decimal
    full: int = 0
    cutting: CuttingList | None = None
    extra: int = 0
    couplings: int = 0

    @property
    def lengths(self) -> int:
        """How many stock lengths are to be bought."""
        return self.full + self.extra + (len(self.cutting.bars) if self.cutting else 0)


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The materials of jobs.

    Attributes
    ----------
    needs : Needs
        What the jobs need as they stand.
    waste : Decimal
        The share that is added to the pipe, 1 for 100 %.
    stock_m : Decimal or None
        The stock length that pipe is bought in [m], None where it is bought by the metre.
    pipes : tuple of PipeTaken
        The pipe by size.
    parts : tuple of (Part, int)
        The parts by number, the couplings of the pipe among them.
    joints : int
        How many joints there are to make.
    kerf_m : Decimal
        What a cut takes [m].
    waste_is_given : bool
        Whether the waste was asked for; where not, a quote takes that of its price list.
    """

    needs: Needs
    waste: Decimal
    stock_m: Decimal | None
    pipes: tuple[PipeTaken, ...]
    parts: tuple[tuple[Part, int], ...]
    joints: int
    kerf_m: Decimal = Decimal(0)
    waste_is_given: bool = True

    @property
    def length_m(self) -> Decimal:
        """The pipe that is laid, all sizes together [m]."""
        return sum((pipe.length_m for pipe in self.pipes), Decimal(0))


def takeoff_of(
    needs: Needs,
    waste: Decimal | float | None = None,
    *,
    stock_m: Decimal | float | None = None,
    kerf_m: Decimal | float = 0,
) -> Takeoff:
    """Return the materials for what jobs need.

    A float is taken as the decimal that it is written as: 0.05 is 5 % exactly.

    Parameters
    ----------
    needs : Needs
        What a job needs, or several together.
    waste : Decimal or float or None
        The share that is added to the pipe, 1 for 100 %. None leaves it to the price list of a quote; without a quote
        nothing is added.
    stock_m : Decimal or float or None
        The stock length that pipe is bought in [m], None where it is bought by the metre.
    kerf_m : Decimal or float
        What a cut takes [m].

    Returns
    -------
    Takeoff
        Pipe by size, parts and joints.

    Raises
    ------
    ValueError
        If a figure is below zero or not finite, the waste is over 100 %, or the stock length under a micrometre.

    Examples
    --------
    >>> from drawbar.materials.needs import Needs, Stretch
    >>> needs = Needs((), (Stretch("as1432-b/12.70", 4_250_000, "main"),), (), 0, (), "m")
    >>> takeoff_of(needs, 0.05, stock_m=6).pipes[0].with_waste_m
    Decimal('4.463')
    """
    share = Decimal(0) if waste is None else _decimal("waste", waste)
    if share > 1:
        raise ValueError(f"waste is {waste}: it takes a share up to 1, as 0.05 for 5 %")
    stock_um = None if stock_m is None else round(_decimal("stock_m", stock_m) * UM_PER_M)
    if stock_um == 0:
        raise ValueError(f"stock_m is {stock_m}: a stock length is longer than nothing")
    kerf_um = round(_decimal("kerf_m", kerf_m) * UM_PER_M)
    by_size: dict[str, list[Stretch]] = {}
    for stretch in needs.stretches:
        by_size.setdefault(stretch.pipe, []).append(stretch)
    pipes = [
        _by_the_metre(label, by_size[label], share)
        if stock_um is None
        else _in_stock_lengths(label, by_size[label], share, stock_um, kerf_um)
        for label in sorted(by_size, key=size_order)
    ]
    parts = Counter(dict(needs.parts))
    for pipe in pipes:
        if pipe.couplings:
            parts[Part("fitting", COUPLING, pipe.pipe)] += pipe.couplings
    return Takeoff(
        needs=needs,
        waste=share,
        stock_m=None if stock_um is None else _metres(stock_um),
        pipes=tuple(pipes),
        parts=sorted_parts(parts),
        joints=needs.joints + _COUPLING_JOINTS * sum(pipe.couplings for pipe in pipes),
        kerf_m=_metres(kerf_um),
        waste_is_given=waste is not None,
    )


def _decimal(name: str, figure: Decimal | float) -> Decimal:
    """Return a figure as a decimal, a float by its shortest text. Raises ValueError below zero and if not finite."""
    decimal = figure if isinstance(figure, Decimal) else Decimal(repr(float(figure)))
    if not decimal.is_finite() or decimal < 0:
        raise ValueError(f"{name} is {figure}: it takes a number from zero up")
    return decimal


def _by_the_metre(label: str, stretches: Sequence[Stretch], waste: Decimal) -> PipeTaken:
    total_m = sum((_metres(stretch.length_um) for stretch in stretches), Decimal(0))
    with_waste_m = _to_mm(total_m * (1 + waste))
    return PipeTaken(label, len(stretches), _to_mm(total_m), with_waste_m, with_waste_m)


def _in_stock_lengths(
    label: str, stretches: Sequence[Stretch], waste: Decimal, stock_um: int, kerf_um: int
) -> PipeTaken:
    metred = _by_the_metre(label, stretches, waste)
    pieces: list[Piece] = []
    full = couplings = 0
    for stretch in stretches:
        lengths_um = split(stretch.length_um, stock_um)
        full += lengths_um.count(stock_um)
        couplings += len(lengths_um) - 1
        pieces.extend(Piece(length_um, stretch.run) for length_um in lengths_um if length_um != stock_um)
    cutting = cut(pieces, stock_um, kerf_um)
    lengths = full + len(cutting.bars)
    with_waste_um = int(metred.with_waste_m * UM_PER_M)
    extra = max(0, -(-with_waste_um // stock_um) - lengths)
    bought_m = _to_mm((lengths + extra) * _metres(stock_um))
    return PipeTaken(
        label, len(stretches), metred.length_m, metred.with_waste_m, bought_m, full, cutting, extra, couplings
    )


def _metres(length_um: int) -> Decimal:
    return Decimal(length_um) / UM_PER_M


def _to_mm(length_m: Decimal) -> Decimal:
    return length_m.quantize(_MILLIMETRE, ROUND_HALF_UP)
