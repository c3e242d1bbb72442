"""Somebody who waits for sizes: told how far the proof is, and free to take the best so far."""

from __future__ import annotations

from collections.abc import Callable


class Watch:
    """Follows a search for sizes. With one, an interrupt ends the search with the best sizes so far, not the call.

    Parameters
    ----------
    tell : callable, optional
        Is called with the cost of the best choice so far and the cost that none goes below; the first is that of sizes
        which may still fail in some state.

    Attributes
    ----------
    is_stopped : bool
        Whether the search was ended by an interrupt.
    """

    def __init__(self, tell: Callable[[float, float], None] | None = None) -> None:
        self._tell = tell
        self.is_stopped = False

    def tell(self, cost: float, least: float) -> None:
        """Tell how far the search is."""
        if self._tell is not None:
            self._tell(cost, least)
