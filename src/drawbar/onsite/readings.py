"""A file of manometer readings, read to what was measured where, or to all that is wrong with it."""

from __future__ import annotations

import os
from collections.abc import Iterable, KeysView, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from yaml.nodes import Node

from drawbar import units
from drawbar.catalogue.catalogue import shipped_catalogue
from drawbar.job import Appliance, Job, decided
from drawbar.jobfile.gas_named import read_gas
from drawbar.jobfile.model import GAS, SHARE_OFF
from drawbar.line.plugging import places
from drawbar.onsite.fault_fitting import DEFAULT_NOISE_PA, TOLERANCE, Reading, noise_at_pa
from drawbar.onsite.gas_of_day import AS_IN_THE_JOB, Day
from drawbar.onsite.spread import Allowances, allowances_of
from drawbar.onsite.taken import with_taken
from drawbar.onsite.testpoints import LOCK_UP, NOTHING_ON, Model, Pluggings, Setup, pluggings
from drawbar.problems import close_to, shown
from drawbar.yamlfile import nodes
from drawbar.yamlfile.entry import Entry
from drawbar.yamlfile.fields import Either, Field, ListOf, Named, Record
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import Choice, Name, Path, TextLine, of

BURNERS = {"rated": False, "orifice": True}
_MOST_READINGS = 500

_PLUGGED = Record(
    {
        "outlet": Field(Name(), "the outlet", required=True),
        "hose": Field(Name(), "the hose"),
    }
)
_READING = Record(
    {
        "state": Field(Name(), "the state of the job that it was read in, or `lock-up` with all appliances off"),
        "plugged": Field(
            Named(Either(Name(), _PLUGGED)), "how the portable appliances were plugged in, as `{griddle: rear-bayonet}`"
        ),
        "at": Field(Name(), "where: an appliance's inlet, the end of a run, an outlet, `regulator`", required=True),
        "pressure": Field(of(units.PRESSURE, "0 Pa", "1000 kPa"), "what it showed, as `2.61 kPa`", required=True),
    }
)
READINGS_FILE = Record(
    {
        "job": Field(TextLine(), "the job's ref or title"),
        "noise": Field(of(units.PRESSURE, "0.1 Pa", "10 kPa"), "the manometer's standard deviation, as `10 Pa`"),
        "burners": Field(Choice(BURNERS), "`orifice` or `rated`"),
        "site": Field(
            Record(
                {
                    "temperature": Field(
                        of(units.TEMPERATURE, "-40 degC", "60 degC"), "of the gas in the pipe, as `31 degC`"
                    ),
                    "altitude": Field(of(units.LENGTH, "-400 m", "5000 m"), "of the place, as `1200 m`"),
                }
            ),
            "the site on the day, where it is not that of the job",
        ),
        "gas": Field(GAS, "the gas of the day, as `{propane: 60 %, n-butane: 40 %}`"),
        "as-built": Field(
            Record(
                {
                    "length": Field(SHARE_OFF, "how far lengths are from the job's, as `5 %`"),
                    "input": Field(SHARE_OFF, "how far rates are from the plates', as `3 %`"),
                }
            ),
            "how well the line as built is known: standard deviations; 10 % and 5 % where nothing is said",
        ),
        "readings": Field(ListOf(_READING, most=_MOST_READINGS), "the list of readings", required=True),
    }
)


@dataclass(frozen=True, slots=True)
class Readings:
    """What a file of readings says.

    Attributes
    ----------
    file : str
        Its name.
    noise_pa : float
        The manometer's standard deviation [Pa].
    fixed_orifice : bool or None
        Whether burners are taken as fixed orifices, None where the file does not say.
    measured : tuple of Reading
        The readings, in the order of the file.
    day : Day
        The gas and the air that they were taken in.
    allowances : Allowances or None
        How far the line as built may be from the job file; None for `allowances_of` the job.
    """

    file: str
    noise_pa: float
    fixed_orifice: bool | None
    measured: tuple[Reading, ...]
    day: Day = AS_IN_THE_JOB
    allowances: Allowances | None = None


def read_readings(
    file: str | os.PathLike[str] | None, job: Job, *, taken: Sequence[str] = (), state: str | None = None
) -> Readings:
    """Read manometer readings of a job, which `commission` sets beside what they should be.

    Parameters
    ----------
    file : str, path or None
        The file, `-` for standard input, in the form that `drawbar commission --help` shows; None for those taken.
    job : Job
        The job that they were taken on, with the sizes of its runs decided.
    taken : sequence of str
        Readings as they come: `fryer=2.61 kPa`, or `service/fryer=2.61 kPa` with the state.
    state : str or None
        The state of those that name none.

    Returns
    -------
    Readings
        What was read where.

    Raises
    ------
    Problems
        With all that is wrong with the file, each with its place.
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "readings.yaml")
    ...     _ = file.write_text("readings: [{state: breakfast, at: fryer, pressure: 2.71 kPa}]")
    ...     readings = drawbar.read_readings(file, job)
    >>> readings.measured[0].at, readings.measured[0].gauge_pa
    ('fryer', 2710.0)
    """
    if file is None:
        return readings_of(None, "", decided(job), taken=taken, state=state)
    path = os.fspath(file)
    return readings_of(nodes.read_text(path), path, decided(job), taken=taken, state=state)


def readings_of(
    text: str | None, file: str, job: Job, *, taken: Sequence[str] = (), state: str | None = None
) -> Readings:
    """Return the readings that a YAML text holds, and those taken; `file` is its name in messages. Raises Problems."""
    source = Source(file)
    root = nodes.compose(text, source) if text is not None else None
    names = [each.name for each in job.states]
    entry = READINGS_FILE.read(with_taken(root, source, taken, [*names, LOCK_UP]), source, ())
    assert entry is not None  # compose returns a mapping
    reader = _Reader(source, job, state)
    readings = reader.readings(entry)
    source.raise_if_any()
    return readings


class _Reader:
    def __init__(self, source: Source, job: Job, state: str | None = None) -> None:
        self.source = source
        self.job = job
        self.usual_state = state
        self.model = Model(job, fixed_orifice=False)
        self.states = {ways.state.name: ways for ways in pluggings(job)}
        self.points: dict[Setup, KeysView[str]] = {}
        self.setups: dict[object, Setup | None] = {}  # by state and places, since many readings name the same

    def readings(self, entry: Entry) -> Readings:
        title = entry.get("job")
        names = [name for name in (self.job.ref, self.job.title) if name]
        if title is not None and title not in names:
            what = f"{shown(title)} is not the job of {self.job.file}"
            self.source.add(entry.at("job"), ("job",), what, f"that one is {' or '.join(map(shown, names))}")
        noise_pa = entry.get("noise", DEFAULT_NOISE_PA)
        if noise_pa > self.job.allowed_drop_pa / TOLERANCE:
            allowed, most = (f"{pa:.4g} Pa" for pa in (self.job.allowed_drop_pa, self.job.allowed_drop_pa / TOLERANCE))
            what = f"{shown(entry.at('noise').value)} hides the allowed drop of {allowed}"
            self.source.add(entry.at("noise"), ("noise",), what, f"read with a finer manometer; write up to {most}")
        measured = []
        for row, _ in entry.get("readings", ()):
            reading = self._measured(row, noise_pa)
            if reading is not None:
                measured.append(reading)
        day, allowances = self._day(entry), self._allowances(entry.table("as-built"))
        return Readings(self.source.file, noise_pa, entry.get("burners"), tuple(measured), day, allowances)

    def _day(self, entry: Entry) -> Day:
        """Return the gas and the air that the readings were taken in."""
        site = entry.table("site")
        temperature_k, altitude_m = (site.quantity("temperature"), site.quantity("altitude")) if site else (None, None)
        if "gas" not in entry.nodes:
            return Day(temperature_k, altitude_m)
        return Day(temperature_k, altitude_m, read_gas(entry, shipped_catalogue(), self.source))

    def _allowances(self, entry: Entry | None) -> Allowances | None:
        if entry is None:
            return None
        return allowances_of(self.job, entry.quantity("length"), entry.quantity("input"))

    def _measured(self, entry: Entry, noise_pa: float) -> Reading | None:
        setup = self._setup(entry)
        at, gauge_pa = entry.get("at"), entry.get("pressure")
        if setup is None or at is None:
            return None
        points = self._points_of(setup)
        if at not in points:
            self._refuse_point(entry, at, setup, points)
            return None
        return None if gauge_pa is None else Reading(setup, at, gauge_pa, noise_at_pa(noise_pa, gauge_pa))

    def _points_of(self, setup: Setup) -> KeysView[str]:
        """Return the names of the test points of a setup."""
        if setup not in self.points:
            self.points[setup] = self.model.gauge_pa(setup).keys()
        return self.points[setup]

    def _refuse_point(self, entry: Entry, at: str, setup: Setup, points: Iterable[str]) -> None:
        what, fit = f"{shown(at)} is no test point of this job", close_to(at, points)
        if any(appliance.name == at for appliance in self.job.appliances):
            is_on = at in (name for name, _ in setup.state.shares)
            what = f"{shown(at)} is {'not plugged in' if is_on else 'not on'} in state {setup.state.name}"
            fit = close_to("", points)
        elif any(hose.name == at for hose in self.job.hoses):
            what = f"{shown(at)} is a hose, and no test point"
            fit = "write the outlet before it or the appliance after it"
        self.source.add(entry.at("at"), (*entry.path, "at"), what, fit)

    def _setup(self, entry: Entry) -> Setup | None:
        """Return the state and the combination that a reading was taken in; None with problems noted."""
        if entry.get("state", self.usual_state) == LOCK_UP and LOCK_UP not in self.states:
            return NOTHING_ON
        ways = self._state(entry)
        if ways is None or ("plugged" in entry.nodes and entry.get("plugged") is None):
            return None
        wanted = self._wanted(entry, ways)
        if wanted is None:
            return None
        key = (ways.state.name, tuple(sorted(wanted.items(), key=lambda pair: pair[0])))
        if key not in self.setups:
            self.setups[key] = ways.worst(wanted)
        setup = self.setups[key]
        if setup is None:
            self._refuse_ways(entry, ways)
        return setup

    def _state(self, entry: Entry) -> Pluggings | None:
        """Return the state that a reading names, or the only one there is; None with problems noted."""
        name = entry.get("state", self.usual_state)
        if name is None:
            if "state" in entry.nodes:  # what stands there can't be read, and was told
                return None
            if len(self.states) > 1:
                fit = f"write `state:` and one of {', '.join(list(self.states)[:12])}"
                self.source.add(entry.node, entry.path, "`state` is missing, and the job has several", fit)
                return None
            name = next(iter(self.states))
        if name not in self.states:
            what = f"{shown(name)} is not a state of this job"
            node = entry.nodes.get("state", entry.node)
            self.source.add(node, (*entry.path, "state"), what, close_to(name, [*self.states, LOCK_UP]))
        return self.states.get(name)

    def _refuse_ways(self, entry: Entry, ways: Pluggings) -> None:
        path = (*entry.path, "plugged")
        if ways.are_too_many:
            what = f"state {ways.state.name} has too many combinations to try"
            self.source.add(entry.node, entry.path, what, "write a state of the job with what was on, and no more")
        else:
            what = f"the appliances of state {ways.state.name} can't be plugged in so"
            self.source.add(entry.at("plugged"), path, what, "an outlet takes one appliance, and each its own hoses")

    def _wanted(self, entry: Entry, ways: Pluggings) -> dict[str, tuple[str, str | None]] | None:
        """Return the outlet and hose that a reading names for each appliance; None with problems noted."""
        named: Mapping[str, tuple[Any, Node]] = entry.get("plugged", {})
        portable = ways.portable
        wanted: dict[str, tuple[str, str | None]] = {}
        for name, (place, node) in named.items():
            path = (*entry.path, "plugged", name)
            if place is None:
                return None
            if name not in portable:
                what = f"is no portable appliance of state {ways.state.name}"
                self.source.add(node, path, what, close_to(name, portable))
                return None
            is_table = isinstance(place, Entry)
            outlet, hose = (place.get("outlet"), place.get("hose")) if is_table else (place, None)
            if outlet is None or not self._fits(portable[name], outlet, hose, node, path):
                return None
            wanted[name] = (outlet, hose)
        return wanted

    def _fits(self, appliance: Appliance, outlet: str, hose: str | None, node: Node, path: Path) -> bool:
        fitting = places(self.job, appliance)
        outlets = [place.name for place, _ in fitting]
        hoses = [kind.name for _, kind in fitting if kind is not None]
        for name, known, kind in ((outlet, outlets, "an outlet"), (hose, _once(hoses), "a hose")):
            if name is not None and name not in known:
                self.source.add(node, path, f"{shown(name)} is not {kind} that it fits", close_to(name, _once(known)))
                return False
        return True


def _once(names: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(names))
