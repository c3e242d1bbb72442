"""The outlets and hoses of a job file, and the run that something is at the end of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.job import ROOT, Hose, Outlet
from drawbar.jobfile.device_fields import typical_drop
from drawbar.jobfile.runs import at_its_run
from drawbar.problems import close_to, shown

if TYPE_CHECKING:
    from drawbar.jobfile.pipework import PipeworkReader, Sections, Tables
    from drawbar.yamlfile.entry import Entry


_OUTLET = "bayonet"  # what an outlet usually is, whose typical drop is told where a job does not say


def read_outlets(pipework: PipeworkReader, sections: Sections) -> tuple[Outlet, ...]:
    """Return the outlets; those that could not be read are left out."""
    outlets = []
    for name, (entry, _) in sections.outlets.items():
        if entry is not None:
            at = run_named(pipework, sections, entry)
            fittings, devices = pipework.fittings(entry), pipework.devices(entry)
            if at is not None:
                is_known = "devices" in entry.nodes
                typical = None if is_known else typical_drop(pipework, _OUTLET)
                outlets.append(Outlet(name, at, fittings, devices, is_known, typical))
    return tuple(outlets)


def run_named(pipework: PipeworkReader, sections: Sections, entry: Entry) -> str | None:
    """Return the run of a table's `at`; None if it has none, or, with a problem noted, if there is no such run."""
    at, runs = entry.text("at"), sections.runs
    if at is None or at in runs:
        return at
    if runs:  # else what is wrong with them is noted already
        if at == ROOT:
            fit = f"put a run from `{ROOT}` in between, and write its name"
        elif at in sections.outlets and entry.path[0] == "appliances":
            fit = f"that is an outlet: write `plugs-into: {at}`"
        else:
            fit = at_its_run(sections, at) or close_to(at, runs)
        pipework.problem(entry.at("at"), (*entry.path, "at"), f"there is no run {shown(at)}", fit)
    return None


def read_hoses(pipework: PipeworkReader, tables: Tables) -> tuple[Hose, ...]:
    """Return the hoses; those that could not be read are left out."""
    hoses = []
    for name, (entry, _) in tables.items():
        if entry is None:
            continue
        pipes, fittings, devices = pipework.pipes(entry), pipework.fittings(entry), pipework.devices(entry)
        if len(pipes) > 1:
            fit = "a hose has one: give it a name each"
            pipework.problem(entry.at("pipe"), (*entry.path, "pipe"), "gives several bores", fit)
        length_m, rise_m = pipework.length_and_rise_m(entry, "hose", "outlet to appliance")
        if pipes and length_m is not None:
            hoses.append(Hose(name, pipes[0], length_m, rise_m, entry.count("count"), fittings, devices))
    return tuple(hoses)
