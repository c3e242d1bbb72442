"""The appliances of a job file: where each is connected, what it burns, and the water that it heats."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar import units
from drawbar.job import Appliance, Regulator, WaterDuty
from drawbar.jobfile.model import MOST_PLACES
from drawbar.jobfile.outlets_and_hoses import run_named
from drawbar.jobfile.space_fields import used_in
from drawbar.problems import close_to, shown

if TYPE_CHECKING:
    from drawbar.jobfile.pipework import PipeworkReader, Sections
    from drawbar.yamlfile.entry import Entry

ANY = "any"
NO_HOSE = "none"

_ROUNDED = 1.001  # an input that is more by so much is the same, rounded


def read_appliances(
    pipework: PipeworkReader, job: Entry, sections: Sections, regulator: Regulator | None
) -> tuple[Appliance, ...]:
    """Return the appliances; those that could not be read are left out.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems.
    job : Entry
        The whole job file.
    sections : Sections
        The tables of the file that carry names.
    regulator : Regulator or None
        The first regulator, None where it could not be read.

    Returns
    -------
    tuple of Appliance
    """
    reader = _ApplianceReader(pipework, job, sections, regulator)
    read = [reader.appliance(name, entry) for name, (entry, _) in sections.appliances.items() if entry is not None]
    appliances = tuple(appliance for appliance in read if appliance is not None)
    places = sum(appliance.place_count for appliance in appliances)
    if places > MOST_PLACES:
        what = f"can be plugged in in {places:,} places of outlet and hose; up to {MOST_PLACES:,} can be looked at"
        pipework.problem(job.at("appliances"), ("appliances",), what, "name fewer outlets or hoses for each")
    return appliances


class _ApplianceReader:
    def __init__(self, pipework: PipeworkReader, job: Entry, sections: Sections, regulator: Regulator | None) -> None:
        self.pipework = pipework
        self.problem = pipework.problem
        self.catalogue = pipework.catalogue
        self.job = job
        self.sections = sections
        self.regulator = regulator
        self.is_staged = any(run is not None and run.table("regulator") for run, _ in sections.runs.values())

    def appliance(self, name: str, entry: Entry) -> Appliance | None:
        at = run_named(self.pipework, self.sections, entry)
        outlets, hoses = self._outlets(entry), self._hoses(entry)
        self._check_connection(entry)
        burns, like = self._input(entry)
        min_gauge_pa = self._min_gauge_pa(entry)
        if burns is None:
            return None
        input_w, flow_kg_s = burns
        return Appliance(
            name=name,
            input_w=input_w,
            flow_kg_s=flow_kg_s,
            at=at,
            plugs_into=outlets,
            hoses=hoses,
            hose_known="at" in entry.nodes or "hose" in entry.nodes,
            min_gauge_pa=min_gauge_pa,
            max_gauge_pa=self._max_gauge_pa(entry, min_gauge_pa),
            never_full=entry.flag("never-full"),
            room_sealed=entry.flag("room-sealed"),
            heats=_water_duty(entry),
            like=like,
            smallest_burner_kg_s=self._smallest_burner_kg_s(entry, flow_kg_s),
            basis_known=self._basis_known(entry),
            used=used_in(self.pipework, self.job, entry),
        )

    def _smallest_burner_kg_s(self, entry: Entry, flow_kg_s: float) -> float | None:
        """Return what the smallest burner takes [kg/s]; one that takes more than the appliance is noted."""
        burns = self.pipework.rate(entry, "smallest-burner")
        if burns is not None and burns[1] > flow_kg_s * _ROUNDED:
            path = (*entry.path, "smallest-burner")
            self.problem(
                entry.at("smallest-burner"), path, "is more than the input", "one burner of several takes less"
            )
        return burns[1] if burns is not None else None

    def _outlets(self, entry: Entry) -> tuple[str, ...]:
        """Return the outlets that `plugs-into` lists."""
        known = self.sections.outlets
        names: list[str] = []
        for name, node in entry.names("plugs-into"):
            if name == ANY and known:
                names.extend(known)
            elif name in known or (not known and "outlets" in self.job.nodes):
                names.append(name)  # if there are none, what is wrong with them is noted already
            else:
                fit = close_to(name, known) or "the file has no `outlets:`"
                if name in self.sections.runs:
                    fit = f"that is a run: write `at: {name}` if it is fixed there, else one of the `outlets:`"
                what = f"{shown(name)} is not an outlet of this job"
                self.problem(node, (*entry.path, "plugs-into"), what, fit)
        return tuple(dict.fromkeys(names))

    def _hoses(self, entry: Entry) -> tuple[str, ...]:
        """Return the hoses that `hose` lists."""
        known = self.sections.hoses
        names: list[str] = []
        listed = entry.names("hose")
        if [name for name, _ in listed] == [NO_HOSE]:
            return ()
        for name, node in listed:
            if name == NO_HOSE:
                fit = f"leave it out, or write `hose: {NO_HOSE}` alone"
                self.problem(node, (*entry.path, "hose"), f"`{NO_HOSE}` can't stand beside a hose", fit)
            elif name == ANY and known:
                names.extend(known)
            elif name in known or (not known and "hoses" in self.job.nodes):
                names.append(name)  # if there are none, what is wrong with them is noted already
            else:
                fit = close_to(name, known) or "the file has no `hoses:`"
                if "/" in name and self.catalogue.sizes(name.partition("/")[0]):
                    example = f", as `{next(iter(known))}`" if known else ""
                    fit = f"that is a pipe: write the name of one of the `hoses:`{example}"
                self.problem(node, (*entry.path, "hose"), f"{shown(name)} is not a hose of this job", fit)
        return tuple(dict.fromkeys(names))

    def _check_connection(self, entry: Entry) -> None:
        """Note an appliance that is not either fixed or portable, and a hose of a fixed one."""
        is_fixed = "at" in entry.nodes
        if is_fixed == ("plugs-into" in entry.nodes):
            what = "has both `at` and `plugs-into`" if is_fixed else "is connected to nothing"
            fit = "write `at: RUN` if it is fixed, `plugs-into: OUTLET` if it is portable"
            self.problem(entry.node, entry.path, what, fit)
        elif is_fixed and "hose" in entry.nodes and entry.text("at") not in self.sections.outlets:
            self.problem(entry.at("hose"), (*entry.path, "hose"), "goes with `plugs-into` alone", "leave it out")

    def _min_gauge_pa(self, entry: Entry) -> float:
        """Return the least pressure that an appliance works at [Pa gauge]; one that no line can give is noted."""
        min_gauge_pa = entry.quantity("min-pressure", 0.0)
        outlet_pa = self.regulator.outlet_gauge_pa if self.regulator is not None else 0.0
        if min_gauge_pa >= outlet_pa > 0.0 and not self.is_staged:
            what = f"is not below the regulator's {outlet_pa / 1000:g} kPa"
            path = (*entry.path, "min-pressure")
            self.problem(entry.at("min-pressure"), path, what, "no line can give it that")
        return min_gauge_pa

    def _max_gauge_pa(self, entry: Entry, min_gauge_pa: float) -> float | None:
        """Return the greatest inlet pressure of an appliance [Pa gauge]; one that is not above the least is noted."""
        max_gauge_pa = entry.quantity("max-pressure")
        if max_gauge_pa is not None and max_gauge_pa <= min_gauge_pa:
            what = f"is not above the {min_gauge_pa / 1000:g} kPa of `min-pressure`"
            path = (*entry.path, "max-pressure")
            self.problem(entry.at("max-pressure"), path, what, "see the data plate for both")
        return max_gauge_pa

    def _basis_known(self, entry: Entry) -> bool:
        """Tell whether it is clear that an input is gross; one in kW under a rule of European plates may be net."""
        rate = entry.rate("input")
        if rate is None or rate.basis is not None or not self.pipework.asks_basis:
            return True
        return units.unit_of(rate.written) not in ("kW", "W")

    def _input(self, entry: Entry) -> tuple[tuple[float, float] | None, str | None]:
        """Return what an appliance burns, gross heat [W] and mass flow [kg/s], and the listed type that it is like."""
        by_type = entry.table("input")
        if by_type is None:
            return self.pipework.rate(entry, "input"), None
        like = by_type.text("like")
        if like is None:
            return None, None
        path = (*by_type.path, "like")
        listed = self.catalogue.appliance(like)
        if listed is None:
            fit = close_to(like, self.catalogue.names("appliances"))
            self.problem(by_type.at("like"), path, f"{shown(like)} is not an appliance of the catalogue", fit)
            return None, None
        if "basis" in entry.nodes:
            fit = "leave it out: the catalogue says it"
            self.problem(entry.at("basis"), (*entry.path, "basis"), "goes with an input of your own alone", fit)
        return self.pipework.flow_of(listed.input, by_type.at("like"), path), like


def _water_duty(entry: Entry) -> WaterDuty | None:
    """Return what a water heater heats, None where it is none or could not be read."""
    heats = entry.table("heats")
    if heats is None:
        return None
    flow_m3_s, inlet_k, efficiency = heats.quantity("flow"), heats.quantity("inlet"), heats.quantity("efficiency")
    if flow_m3_s is None or inlet_k is None or efficiency is None:
        return None
    pipe = heats.table("pipe")
    bore_m, length_m = (pipe.quantity("bore"), pipe.quantity("length")) if pipe is not None else (None, None)
    return WaterDuty(flow_m3_s, inlet_k, efficiency, bore_m, length_m)
