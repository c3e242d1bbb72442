"""Cutting pieces of pipe from stock lengths so that the fewest lengths, and so the least offcuts, are needed.

Lengths are whole micrometres [um], so that sums are exact. A cut takes the kerf of the saw: n pieces fit a length if
their sum and n - 1 kerfs do; the cut that frees the last piece may eat up the offcut.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

_MOST_EXACT = 100  # pieces; more are cut by the heuristics alone
_MOST_IMPROVED = 1000  # pieces; more are cut by first-fit and best-fit alone
_STEPS = 100_000  # of the exact search; the same on every machine, so that a list comes out the same everywhere
# A stub shorter than this can't be held in a coupling's sockets and a fitting's; common practice.
LEAST_STUB_UM = 100_000

_Bars = list[list[int]]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece to cut [um], and what it is for."""

    length_um: int
    name: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A stock length: the pieces cut from it, and what is left of it [um]."""

    pieces: tuple[Piece, ...]
    offcut_um: int


@dataclass(frozen=True, slots=True)
class CuttingList:
    """How to cut the pieces.

    Attributes
    ----------
    stock_um, kerf_um : int
        The stock length, and what a cut takes [um].
    bars : tuple of Bar
        The stock lengths, each with its pieces.
    least_bars : int
        No way of cutting needs fewer lengths.
    """

    stock_um: int
    kerf_um: int
    bars: tuple[Bar, ...]
    least_bars: int

    @property
    def is_least(self) -> bool:
        """Whether it is proven that no way of cutting needs fewer lengths."""
        return len(self.bars) == self.least_bars

    @property
    def offcuts_um(self) -> int:
        """The sum of what is left of the lengths [um]."""
        return sum(bar.offcut_um for bar in self.bars)


def split(length_um: int, stock_um: int) -> list[int]:
    """Return the pieces [um] of a stretch of pipe: full stock lengths and a remainder, a coupling between each two.

    A remainder too short to be joined is made longer, and one of the full lengths before it shorter by as much.

    Parameters
    ----------
    length_um, stock_um : int
        The stretch, and the stock length [um].

    Returns
    -------
    list of int
        The pieces, which add up to the stretch [um].

    Examples
    --------
    >>> split(7_300_000, 6_000_000)
    [6000000, 1300000]
    """
    full, remainder_um = divmod(length_um, stock_um)
    if not remainder_um:
        return [stock_um] * full
    if full and remainder_um < LEAST_STUB_UM:
        return [stock_um] * (full - 1) + [stock_um - (LEAST_STUB_UM - remainder_um), LEAST_STUB_UM]
    return [stock_um] * full + [remainder_um]


def cut(pieces: Sequence[Piece], stock_um: int, kerf_um: int = 0, steps: int = _STEPS) -> CuttingList:
    """Return a cutting list: never worse than first-fit-decreasing, and of the fewest lengths wherever that is proven.

    Parameters
    ----------
    pieces : sequence of Piece
        What is to be cut.
    stock_um, kerf_um : int
        The stock length, and what a cut takes [um].
    steps : int
        How far the exact search may go.

    Returns
    -------
    CuttingList
        The pieces of every length, the longest piece first.

    Raises
    ------
    ValueError
        If a piece is longer than the stock length.

    Examples
    --------
    >>> pieces = [Piece(2_500_000, "main"), Piece(3_600_000, "rear"), Piece(2_200_000, "galley")]
    >>> [[piece.name for piece in bar.pieces] for bar in cut(pieces, 6_000_000, kerf_um=2000).bars]
    [['rear', 'galley'], ['main']]
    """
    for piece in pieces:
        if not 0 < piece.length_um <= stock_um:
            raise ValueError(f"{piece.name}: a piece of {piece.length_um} um can't be cut from {stock_um} um")
    ordered = sorted(pieces, key=lambda piece: piece.length_um)
    # With a kerf added to every piece and one to the length, n pieces fit if n - 1 kerfs do.
    sizes = [piece.length_um + kerf_um for piece in ordered]
    bars, least = _fewest(sizes, stock_um + kerf_um, steps)
    waiting: dict[int, list[Piece]] = {}
    for piece in reversed(ordered):
        waiting.setdefault(piece.length_um + kerf_um, []).append(piece)
    cut_bars = []
    for sizes_of_bar in bars:
        taken = tuple(waiting[size].pop() for size in sorted(sizes_of_bar, reverse=True))
        cut_bars.append(Bar(taken, max(0, stock_um - sum(sizes_of_bar))))
    return CuttingList(stock_um, kerf_um, tuple(cut_bars), least)


def _fewest(sizes: Sequence[int], capacity: int, steps: int) -> tuple[_Bars, int]:
    """Return the sizes (ascending) in bars, and a number of bars that is proven to be needed."""
    least = lower_bound(sizes, capacity)
    by_rule = [first_fit_decreasing(sizes, capacity), _best_fit_decreasing(sizes, capacity)]
    if len(sizes) <= _MOST_IMPROVED:
        by_rule.append(_fullest_first(sizes, capacity))
    # Of ways that need as many lengths, the one with the longest single offcut: it is the most use.
    best = min(by_rule, key=lambda bars: (len(bars), min(map(sum, bars), default=0)))
    if len(sizes) > _MOST_EXACT:
        return best, least
    search = _Search(sizes, capacity, steps)
    while least < len(best):
        exact = search.into(least)
        if exact is not None:
            return exact, least
        if search.steps <= 0:
            break
        least += 1
    return best, least


def lower_bound(sizes: Sequence[int], capacity: int) -> int:
    """Return a number of bars that is needed at least: the bound L2 of Martello and Toth.

    For each size a up to half a bar: those over capacity - a are alone in their bars; those over half a bar can't share
    one with each other; what those from a to half a bar need over the room left there is more.

    Parameters
    ----------
    sizes : sequence of int
        The pieces with their cuts, ascending [um].
    capacity : int
        A stock length with a cut [um].

    Returns
    -------
    int
        No way needs fewer bars.

    References
    ----------
    S. Martello and P. Toth, Knapsack Problems (1990), section 8.3.
    """
    sums = [0, *accumulate(sizes)]
    half = bisect_right(sizes, capacity // 2)  # sizes[:half] are up to half a bar
    best = len(sizes) - half
    for first in range(half):
        alone = bisect_right(sizes, capacity - sizes[first])
        middle, small_um = alone - half, sums[half] - sums[first]
        over_um = small_um - (middle * capacity - (sums[alone] - sums[half]))
        best = max(best, len(sizes) - half + max(0, -(-over_um // capacity)))
    return best


def first_fit_decreasing(sizes: Sequence[int], capacity: int) -> _Bars:
    """Return the bars of first-fit-decreasing.

    Made bar by bar: the first bar takes whatever piece, from the longest down, finds room in it; the next of the rest.

    Parameters
    ----------
    sizes : sequence of int
        The pieces with their cuts, ascending [um].
    capacity : int
        A stock length with a cut [um].

    Returns
    -------
    list of list of int
        The sizes in each bar [um].
    """
    left = list(sizes)
    bars = []
    while left:
        bar: list[int] = []
        room, end = capacity, len(left)
        while (end := bisect_right(left, room, 0, end)) > 0:
            end -= 1
            bar.append(left.pop(end))
            room -= bar[-1]
        bars.append(bar)
    return bars


def _best_fit_decreasing(sizes: Sequence[int], capacity: int) -> _Bars:
    """Return the bars where each piece, from the longest down, goes where it leaves the least room."""
    bars: _Bars = []
    rooms: list[tuple[int, int]] = []
    for size in reversed(sizes):
        at = bisect_left(rooms, (size, -1))
        if at < len(rooms):
            room, number = rooms.pop(at)
        else:
            room, number = capacity, len(bars)
            bars.append([])
        bars[number].append(size)
        insort(rooms, (room - size, number))
    return bars


def _fullest_first(sizes: Sequence[int], capacity: int) -> _Bars:
    """Return the bars where each takes the longest piece left and what fills it best beside (Gupta and Ho 1999)."""
    left = list(sizes)
    bars = []
    while left:
        chosen = _fullest(left, capacity)
        bars.append([left[number] for number in chosen])
        for number in sorted(chosen, reverse=True):
            del left[number]
    return bars


def _fullest(sizes: Sequence[int], capacity: int, steps: int = 200) -> list[int]:
    """Return the numbers of the pieces, the longest among them, that fill a bar best of those tried."""
    chosen = [len(sizes) - 1]
    best, best_room = list(chosen), capacity - sizes[-1]

    def fill(end: int, room: int) -> None:
        nonlocal best, best_room, steps
        steps -= 1
        if room < best_room:
            best, best_room = list(chosen), room
        number = bisect_right(sizes, room, 0, end)
        while number > 0 and best_room > 0 and steps > 0:
            number -= 1
            chosen.append(number)
            fill(number, room - sizes[number])
            chosen.pop()
            number = bisect_left(sizes, sizes[number], 0, number)  # another of the same length would only repeat it

    fill(len(sizes) - 1, best_room)
    return best


class _Search:
    """A search for a way to put the sizes into a number of bars: bin completion (Korf 2002). It ends after some steps.

    One bar at a time takes the longest piece left and others beside it, in every way that leaves no room for one more
    and not more room than there is to spare.
    """

    def __init__(self, sizes: Sequence[int], capacity: int, steps: int) -> None:
        self.sizes = tuple(sizes)
        self.capacity = capacity
        self.steps = steps
        self.bars: _Bars = []
        self.dead_ends: set[tuple[int, ...]] = set()

    def into(self, count: int) -> _Bars | None:
        """Return a way with `count` bars. None if there is none; or, once `steps` is used up, if none was found."""
        self.bars, self.dead_ends = [], set()
        return self.bars if self._place(self.sizes, count) else None

    def _place(self, left: tuple[int, ...], count: int) -> bool:
        if not left:
            return True
        if (count, *left) in self.dead_ends or lower_bound(left, self.capacity) > count:
            return False
        spare_um = count * self.capacity - sum(left)
        for bar, rest in self._completions(left, spare_um):
            self.bars.append(bar)
            if self._place(rest, count - 1):
                return True
            self.bars.pop()
            if self.steps <= 0:
                return False
        self.dead_ends.add((count, *left))
        return False

    def _completions(self, left: tuple[int, ...], spare_um: int) -> Iterator[tuple[list[int], tuple[int, ...]]]:
        """Yield (a bar, what is left beside it) for every way to fill the bar of the longest piece."""
        sums = (0, *accumulate(left))
        chosen = [len(left) - 1]

        def fill(end: int, room: int, shortest_out: int) -> Iterator[tuple[list[int], tuple[int, ...]]]:
            # shortest_out : the shortest piece that was passed over; it must not fit in the end
            self.steps -= 1
            number = bisect_right(left, room, 0, end)
            if self.steps <= 0 or room - sums[number] > min(spare_um, shortest_out - 1):
                return
            if number == 0:
                taken = set(chosen)
                yield [left[at] for at in chosen], tuple(size for at, size in enumerate(left) if at not in taken)
                return
            number -= 1
            size = left[number]
            chosen.append(number)
            yield from fill(number, room - size, shortest_out)
            chosen.pop()
            # Passed over is every piece of this length: to take the next of them would be the same again.
            yield from fill(bisect_left(left, size, 0, number + 1), room, min(shortest_out, size))

        yield from fill(len(left) - 1, self.capacity - left[-1], self.capacity + 1)
