"""The states of a job file: what is on together, at which share of its input, for how long and how often."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.job import ALL_ON, State
from drawbar.jobfile.model import MOST_PLACES_OF_STATES
from drawbar.jobfile.state_fields import USE, StateAsRead
from drawbar.problems import close_to, shown

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from yaml.nodes import Node

    from drawbar.job import Appliance
    from drawbar.jobfile.pipework import PipeworkReader, Sections
    from drawbar.yamlfile.entry import Entry

    # A state as read: a list of appliances, or shares by appliance with its use; None if it could not be read.
    OnTogether = list[tuple[str, Node]] | StateAsRead | None

_LEAST_SHARE = 0.01  # no burner turns down so far; less is a slip, such as 0.6 % for 60 %
_MOST_KNOWN = 12  # appliances that a message lists


def read_states(
    pipework: PipeworkReader, job: Entry, sections: Sections, appliances: Iterable[Appliance]
) -> tuple[State, ...]:
    """Return the states of a job, or all on where it has none; what is wrong with them is noted.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems.
    job : Entry
        The whole job file.
    sections : Sections
        The tables of the file that carry names.
    appliances : iterable of Appliance
        As they were read, for the places that they may be plugged in in.

    Returns
    -------
    tuple of State
    """
    named: Mapping[str, tuple[OnTogether, Node]] | None = job.get("states")
    if named is None:
        return (State(ALL_ON, tuple((name, 1.0) for name in sections.appliances)),)
    states = []
    for name, (on_together, node) in named.items():
        shares = _shares(pipework, sections, name, on_together)
        is_use_alone = isinstance(on_together, StateAsRead) and not on_together.shares
        if is_use_alone or (shares and not any(shares.values())):
            pipework.problem(node, ("states", name), "has nothing on", "write at least one appliance that burns")
        on_s, every_s = _use(pipework, name, on_together)
        states.append(State(name, tuple(pair for pair in shares.items() if pair[1] > 0.0), on_s, every_s))
    _refuse_too_many_places(pipework, job, appliances, states)
    return tuple(states)


def _refuse_too_many_places(
    pipework: PipeworkReader, job: Entry, appliances: Iterable[Appliance], states: Iterable[State]
) -> None:
    """Note a problem where the places of all states together are more than can be looked at."""
    places = {each.name: each.place_count for each in appliances}
    total = sum(places.get(name, 0) for state in states for name, _ in state.shares)
    if total > MOST_PLACES_OF_STATES:
        what = f"have {total:,} places of outlet and hose to plug in in, all states together"
        fit = f"up to {MOST_PLACES_OF_STATES:,} can be looked at; write fewer states or places"
        pipework.problem(job.at("states"), ("states",), what, fit)


def _use(pipework: PipeworkReader, state: str, on_together: OnTogether) -> tuple[float | None, float | None]:
    """Return how long a state is on in one go, and from one start to the next [s]; None where it is not said."""
    use = on_together.use if isinstance(on_together, StateAsRead) else None
    if use is None:
        return None, None
    on_s, every_s = use.quantity("for"), use.quantity("every")
    if "every" in use.nodes and "for" not in use.nodes:
        fit = "write how long it is on as well, as `for: 20 min`"
        pipework.problem(use.at("every"), ("states", state, "every"), "stands without `for`", fit)
    elif on_s is not None and every_s is not None and every_s < on_s:
        what = f"{shown(use.at('every').value)} is shorter than the {shown(use.at('for').value)} it is on for"
        fit = "write the time from one start to the next"
        pipework.problem(use.at("every"), ("states", state, "every"), what, fit)
    return on_s, every_s


def _shares(pipework: PipeworkReader, sections: Sections, state: str, on_together: OnTogether) -> dict[str, float]:
    """Return the share of its input at which each appliance of a state burns [-]."""
    shares: dict[str, float] = {}
    path = ("states", state)
    for appliance, share, node in _listed(on_together):
        if appliance not in sections.appliances:
            if sections.appliances:  # else what is wrong with them is noted already
                what = f"there is no appliance {shown(appliance)}"
                pipework.problem(node, path, what, _in_place_of(appliance, sections))
        elif appliance in shares:
            pipework.problem(node, path, f"{shown(appliance)} stands here a second time", "name it once")
        elif share is not None:
            shares[appliance] = share
            if 0.0 < share < _LEAST_SHARE:
                fit = "write 0 % for off, or from 1 % to 100 %"
                pipework.problem(node, (*path, appliance), f"burns at {share * 100:.2g} %", fit)
    return shares


def _listed(on_together: OnTogether) -> Iterator[tuple[str, float | None, Node]]:
    """Yield each appliance of a state with its share [-] and its node; in a list the share is 1."""
    if on_together is None:
        return
    if isinstance(on_together, StateAsRead):
        for name, (share, node) in on_together.shares.items():
            yield name, share, node
    else:
        for name, node in on_together:
            yield name, 1.0, node


def _in_place_of(name: str, sections: Sections) -> str:
    """Return what would fit in place of a name that no appliance has."""
    known = sections.appliances
    if name in USE:
        return "write the state as `{shower: 100 %, for: 20 min, every: 1 h}`"
    for tables, kind in ((sections.hoses, "a hose"), (sections.runs, "a run"), (sections.outlets, "an outlet")):
        if name in tables:
            return f"that is {kind}: write appliances, known here: {', '.join(list(known)[:_MOST_KNOWN])}"
    return close_to(name, known)
