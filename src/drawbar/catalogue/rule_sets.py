"""Rule sets and tightness tests, as in data/rules.yaml and data/tightness.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.physics.formulas import FORMULAS
from drawbar.rules import CodeMethod, FloorVents, HotLimit, LockerFormula, Rule, TightnessTest, VentFormula
from drawbar.yamlfile.bounds import DROP, GAUGE
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Either, Field, ListOf, Named, Record
from drawbar.yamlfile.nodes import Position
from drawbar.yamlfile.scalars import FLAG, Choice, Name, Number, TextLine, of

_TEST_OF_A_RULE = Record(
    {
        "medium": Field(TextLine(), "what the line is filled with", required=True),
        "pressure": Field(of(units.PRESSURE, "0.1 kPa", "1000 kPa"), "the test pressure", required=True),
        "settle": Field(of(units.TIME, "0 s", "2 h"), "the time to settle"),
        "hold": Field(of(units.TIME, "1 s", "72 h"), "the time of the test"),
        "allowed-fall": Field(of(units.PRESSURE, "0 Pa", "100 kPa"), "the fall that is allowed", required=True),
        "note": Field(TextLine(400), "what to watch for"),
        "source": SOURCE_FIELD,
    }
)
_AREA = of(units.AREA, "0 mm2", "1000000 mm2")
_VENTS = Record(
    {
        "least": Field(_AREA, "the least area, however little burns", required=True),
        "per-mj-h": Field(_AREA, "the area for each MJ/h of appliances that are not room-sealed", required=True),
        "per-berth": Field(_AREA, "the area for each berth", required=True),
        "high-and-low": Field(TextLine(400), "where it stands that there must be vents at high and at low level"),
        "source": SOURCE_FIELD,
    }
)
_FLOOR_ROW = Record(
    {
        "floor": Field(of(units.FLOOR, "0.1 m2", "200 m2"), "the largest floor that the row is for", required=True),
        "high": Field(_AREA, "the free area at high level", required=True),
        "low": Field(_AREA, "the free area at low level", required=True),
    }
)
_FLOOR_VENTS = Record(
    {
        "open": Field(ListOf(_FLOOR_ROW), "with an appliance that is not room-sealed", required=True),
        "sealed": Field(ListOf(_FLOOR_ROW), "where every appliance is room-sealed", required=True),
        "source": SOURCE_FIELD,
    }
)
_LOCKER = Record(
    {
        "least": Field(_AREA, "the least area at the lowest point", required=True),
        "per-floor": Field(of(units.RATIO, "0 %", "100 %"), "the area at the lowest point, as a share of the floor"),
        "low-per-kg": Field(_AREA, "the area at the lowest point for each kg of gas"),
        "high-per-kg": Field(_AREA, "the area at high level for each kg of gas"),
        "source": SOURCE_FIELD,
    }
)
_METHOD = Record(
    {
        "formula": Field(
            Choice({name: name for name in FORMULAS}),
            "the formula that the code's tables were made with",
            required=True,
        ),
        "gas": Field(Name(), "the pure gas that they are for", required=True),
        "relative-density": Field(Number(0.1, 5.0), "its relative density in the code", required=True),
        "viscosity": Field(
            of(units.DYNAMIC_VISCOSITY, "0.001 cP", "0.1 cP"), "its viscosity in the code", required=True
        ),
        "temperature": Field(of(units.TEMPERATURE, "-40 degC", "80 degC"), "its temperature there", required=True),
        "heat": Field(
            of(units.HEAT_BY_VOLUME, "100 Btu/ft3", "10000 Btu/ft3"), "its gross heat by volume there", required=True
        ),
        "capacity": Field(
            of(units.RATIO, "50 %", "100 %"), "the share of the formula's capacity that the tables print", required=True
        ),
        "source": SOURCE_FIELD,
    }
)
_HOT_WATER = Record(
    {
        "most": Field(of(units.TEMPERATURE, "30 degC", "70 degC"), "the temperature", required=True),
        "source": SOURCE_FIELD,
    }
)
_MJ_H_PER_W = 3600.0 / 1e6
RULE_SET = Record(
    {
        "title": TITLE_FIELD,
        "source": SOURCE_FIELD,
        "applies-to": Field(TextLine(), "where the rule set applies"),
        "drop": Field(DROP, "the allowed drop"),
        "no-drop": Field(TextLine(400), "why there is no allowed drop here, so that a job must give `limits`"),
        "nominal": Field(Either(GAUGE, Named(GAUGE)), "the nominal pressure, or one a gas", required=True),
        "nominal-source": Field(TextLine(400), "where the nominal pressure stands"),
        "vents": Field(_VENTS, "the least free area of the vents of a living space"),
        "vents-by-floor": Field(_FLOOR_VENTS, "the vents of a living space by its floor"),
        "locker": Field(_LOCKER, "the openings of the locker that bottles stand in"),
        "method": Field(_METHOD, "the formula and the gas that the code's tables were made with"),
        "asks-basis": Field(FLAG, "yes where data plates give kW net as often as gross"),
        "hot-water": Field(_HOT_WATER, "the hottest water that may reach a basin, bath or shower"),
        "caution": Field(TextLine(600), "what to watch for", required=True),
        "tightness": Field(_TEST_OF_A_RULE, "the figures of the tightness test"),
    }
)
TIGHTNESS_TEST = Record(
    {
        "title": TITLE_FIELD,
        "applies-to": Field(TextLine(), "where the test applies"),
        **_TEST_OF_A_RULE.fields,
        "volume-min": Field(of(units.VOLUME, "0.01 L", "1000 L"), "the least volume under test"),
        "caution": Field(TextLine(600), "what to watch for"),
    }
)


class RuleRow(NamedTuple):
    """A rule set as its row has it, where it applies, and the tightness test that stands with it."""

    rule: Rule
    applies_to: str | None
    test: TightnessTest | None
    place: Position


class TightnessRow(NamedTuple):
    """A tightness test that stands by itself, and where it applies."""

    test: TightnessTest
    applies_to: str | None
    place: Position


def rule_row(name: str, entry: Entry, place: Position) -> RuleRow:
    """Return a rule set from its entry."""
    by_gas = [(gas, required(gauge_pa)) for gas, (gauge_pa, _) in entry.named_quantities("nominal").items()]
    rule = Rule(
        name=name,
        title=required(entry.text("title")),
        source=required(entry.text("source")),
        drop_pa=entry.quantity("drop"),
        nominal_gauge_pa=tuple(by_gas) or (("", required(entry.quantity("nominal"))),),
        caution=required(entry.text("caution")),
        vents=_vents(entry.table("vents")),
        floor_vents=_floor_vents(entry.table("vents-by-floor")),
        locker=_locker(entry.table("locker")),
        method=_method(entry.table("method")),
        asks_basis=entry.flag("asks-basis"),
        hot_water=_hot_water(entry.table("hot-water")),
        no_drop=None if "drop" in entry.nodes else entry.text("no-drop", "its row gives none"),
    )
    figures = entry.table("tightness")
    test = _test(name, rule.title, figures, rule.caution) if figures is not None else None
    return RuleRow(rule, entry.text("applies-to"), test, place)


def _vents(figures: Entry | None) -> VentFormula | None:
    if figures is None:
        return None
    return VentFormula(
        least_m2=required(figures.quantity("least")),
        m2_per_w=required(figures.quantity("per-mj-h")) * _MJ_H_PER_W,
        berth_m2=required(figures.quantity("per-berth")),
        source=required(figures.text("source")),
        levels_source=figures.text("high-and-low"),
    )


def _floor_vents(figures: Entry | None) -> FloorVents | None:
    if figures is None:
        return None

    def rows(key: str) -> tuple[tuple[float, float, float], ...]:
        read = [tuple(required(row.quantity(name)) for name in ("floor", "high", "low")) for row in figures.tables(key)]
        return tuple((floor_m2, high_m2, low_m2) for floor_m2, high_m2, low_m2 in sorted(read))

    return FloorVents(rows("open"), rows("sealed"), required(figures.text("source")))


def _locker(figures: Entry | None) -> LockerFormula | None:
    if figures is None:
        return None
    return LockerFormula(
        least_m2=required(figures.quantity("least")),
        per_floor=figures.quantity("per-floor", 0.0),
        low_m2_per_kg=figures.quantity("low-per-kg", 0.0),
        high_m2_per_kg=figures.quantity("high-per-kg", 0.0),
        source=required(figures.text("source")),
    )


def _hot_water(figures: Entry | None) -> HotLimit | None:
    if figures is None:
        return None
    return HotLimit(required(figures.quantity("most")), required(figures.text("source")))


def _method(figures: Entry | None) -> CodeMethod | None:
    if figures is None:
        return None
    return CodeMethod(
        formula=required(figures.text("formula")),
        gas=required(figures.text("gas")),
        relative_density=required(figures.quantity("relative-density")),
        viscosity_pa_s=required(figures.quantity("viscosity")),
        temperature_k=required(figures.quantity("temperature")),
        gross_j_m3=required(figures.quantity("heat")),
        capacity=required(figures.quantity("capacity")),
        source=required(figures.text("source")),
    )


def tightness_row(name: str, entry: Entry, place: Position) -> TightnessRow:
    """Return a tightness test from its entry."""
    test = _test(name, required(entry.text("title")), entry, entry.text("caution"))
    return TightnessRow(test, entry.text("applies-to"), place)


def _test(name: str, title: str, figures: Entry, caution: str | None) -> TightnessTest:
    return TightnessTest(
        name=name,
        title=title,
        source=required(figures.text("source")),
        medium=required(figures.text("medium")),
        pressure_gauge_pa=required(figures.quantity("pressure")),
        allowed_fall_pa=required(figures.quantity("allowed-fall")),
        settle_s=figures.quantity("settle"),
        hold_s=figures.quantity("hold"),
        volume_min_m3=figures.quantity("volume-min"),
        note=figures.text("note"),
        caution=caution,
    )
