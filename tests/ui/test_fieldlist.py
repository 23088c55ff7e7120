"""The rows of the form: every input of the model, as typed or at its default, in either system."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from thermo.fields import quantity_of
from thermo.inputs.air import NEEDS
from thermo.inputs.event import ENGINE
from thermo.scenario import Scenario
from thermo.unit_table import ATOMS
from tui import fieldlist
from tui.field_words import GROUPS, LABELS, LEG_USES, PART_USES, US_NAMES
from tui.session import Session

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"


@pytest.fixture(scope="module")
def session():
    return Session.open(SCENARIOS / "base.toml")


@pytest.fixture(scope="module")
def rows(session):
    return session.rows


def row_of(rows, key):
    found = fieldlist.find(rows, key)
    assert found is not None, key
    return found


def test_groups_come_in_order_and_all_are_there(rows):
    seen = list(dict.fromkeys(row.group for row in rows))
    assert seen == [name for name, _ in GROUPS]
    assert seen[0] == "The day"
    assert seen[-1] == "Limits"
    keys = [row.key for row in rows]
    assert len(keys) == len(set(keys))


def test_every_table_of_the_model_but_doubt_and_schema_is_in_a_group():
    members = {name for _, names in GROUPS for name in names}
    written = {info.alias or name for name, info in Scenario.model_fields.items()}
    assert members == written - {"schema", "doubt"}


def test_every_value_in_the_file_has_a_row(session, rows):
    given = {row.key for row in rows if row.given}
    assert given == set(session.texts) - {"schema"}


def test_a_row_says_what_the_model_says(rows):
    row = row_of(rows, "tank.volume")
    assert (row.group, row.label, row.text, row.given) == ("Tank", "Volume", "38 L", True)
    assert (row.kind, row.unit, row.allowed, row.required) == (
        "quantity", "L", "from 1 L to 2000 L", True,
    )
    assert row.help == "Inside volume of the tank."
    default = row_of(rows, "tank.precharge")
    assert (default.text, default.given, default.required) == ("0 kPa", False, False)
    assert row_of(rows, "tank.relief_pressure").basis == (
        "common practice on a flat-sided tank 20-70 kPa"
    )
    assert row_of(rows, "tank.height").text == "0.30 m"  # digits as typed


def test_kinds_and_their_choices(rows):
    closure = row_of(rows, "tank.closure")
    assert closure.kind == "choice"
    assert closure.options == ("sealed-relief", "sealed", "overflow-bottle", "vented", "bladder")
    assert row_of(rows, "engine.strokes").options == ("2", "4")
    assert row_of(rows, "tank.mixing").options == ("mixed", "plug", "adverse")
    ram = row_of(rows, "engine.ram_to_power")
    assert (ram.kind, ram.text) == ("yes-no", "no")
    cells = row_of(rows, "tank.cells")
    assert (cells.kind, cells.text, cells.allowed) == (
        "quantity", "12", "a whole number from 1 to 200",
    )
    assert row_of(rows, "leg[0].name").kind == "text"
    gears = row_of(rows, "engine.gears")
    assert (gears.kind, gears.text) == ("list", "[1]")
    assert row_of(rows, "engine.power_curve").allowed == (
        "a list of pairs: a rotational speed from 100 rpm to 25000 rpm and a power from 0 kW to"
        " 5000 kW"
    )


def test_defaults_are_those_the_scenario_takes(session, rows):
    checked = 0
    for row in rows:
        if row.given or not row.text or row.kind != "quantity" or row.field.quantity is None:
            continue
        value = session.scenario
        for part in row.key.replace("[", ".").replace("]", "").split("."):
            name = {"return": "return_"}.get(part, part)
            value = value[int(part)] if part.isdigit() else getattr(value, name)
        assert row.field.quantity.parse(row.text) == pytest.approx(value, rel=5e-4, abs=1e-12), (
            row.key
        )
        checked += 1
    assert checked > 60


def test_a_table_left_out_shows_the_defaults_of_the_table_as_a_whole(session, rows):
    bore = row_of(rows, "coolant.line.bore")
    assert bore.field.quantity.parse(bore.text) == session.scenario.coolant.line.bore
    assert (bore.text, bore.section, bore.removable) == ("32 mm", "Hot line", "")


def test_an_optional_table_is_one_row_until_it_is_there(session, rows):
    row = row_of(rows, "coolant.thermostat")
    assert (row.kind, row.text, row.given) == ("table", "", False)
    assert row.help.startswith("A wax thermostat")
    assert fieldlist.find(rows, "coolant.thermostat.opens") is None
    blank = fieldlist.blank_rows("coolant.thermostat")
    assert [r.field.name for r in blank] == ["opens", "full_open", "bleed", "lag", "stuck"]
    assert blank[0].key == "coolant.thermostat.opens"
    assert blank[0].text == "82 degC"
    with_it = Session(session.text)
    with_it.edit("coolant.thermostat.opens", "80 degC")
    opens = row_of(with_it.rows, "coolant.thermostat.opens")
    assert (opens.text, opens.section, opens.removable) == (
        "80 degC", "Thermostat", "coolant.thermostat",
    )
    assert fieldlist.find(with_it.rows, "coolant.thermostat") is None


def test_blank_rows_name_what_is_required():
    required = [row.key for row in fieldlist.blank_rows("exchanger.rated") if row.required]
    assert required == [
        f"exchanger.rated.{name}"
        for name in ("hot_flow", "cold_flow", "hot_inlet", "cold_inlet", "heat")
    ]
    assert fieldlist.blank_rows("leg[3]")[0].key == "leg[3].kind"
    assert fieldlist.blank_rows("tank.volume") == ()
    assert fieldlist.blank_rows("nothing.here") == ()


def test_list_entries_have_headings_and_can_be_removed(rows):
    assert row_of(rows, "leg[1].duration").section == "Leg 2: coast"
    part = row_of(rows, "intake.part.1.length")
    assert (part.section, part.removable) == ("Part 2: frame tube", "intake.part[1]")
    assert row_of(rows, "loop.return.bore").section == "Return line"


def test_parts_and_legs_show_what_their_kind_takes(rows):
    names = {row.field.name for row in rows if row.key.startswith("intake.part[1]")}
    assert names == {"kind", "name", "path", "bore", "length", "roughness", "friction"}
    coast = {row.field.name for row in rows if row.key.startswith("leg[1]")}
    assert "parachute_area" in coast
    assert not coast & {"swap_fraction", "power_share"}
    assert set(PART_USES) == set(NEEDS)
    assert all(set(NEEDS[kind]) <= PART_USES[kind] for kind in NEEDS)
    assert set(LEG_USES) == set(ENGINE)
    for place, uses in (("intake.part", PART_USES), ("leg", LEG_USES)):
        names = {row.field.name for row in fieldlist.blank_rows(f"{place}[0]")}
        assert set().union(*uses.values()) <= names
        assert names - {"kind", "name", "path"} == (
            set().union(*uses.values()) - {"kind", "name", "path"}
        )


def test_a_value_its_kind_does_not_take_still_shows_when_it_is_in_the_file(session):
    with_it = Session(session.text)
    with_it.edit("intake.part[1].angle", "10 deg")
    assert row_of(with_it.rows, "intake.part[1].angle").text == "10 deg"
    assert fieldlist.find(session.rows, "intake.part[1].angle") is None


def test_labels_belong_to_keys_that_exist(rows):
    places = {".".join(row.field.place) for row in rows}
    for kind in ("coolant.thermostat", "loop.pump", "exchanger.rated", "exchanger.plate",
                 "exchanger.double_pipe", "leg[0]", "intake.part[0]"):
        places |= {".".join(row.field.place) for row in fieldlist.blank_rows(kind)}
    tables = {place.rsplit(".", 1)[0] for place in places}
    names = {place.rsplit(".", 1)[-1] for place in places}
    for key in LABELS:
        assert key in places | tables or ("." not in key and key in names), key


def test_every_label_reads_as_words(rows):
    assert all(row.label and "_" not in row.label and row.label[0].isupper() for row in rows)


def test_all_words_must_match_wherever_they_stand(rows):
    keys = [row.key for row in fieldlist.matching(rows, "supply BORE diameter")]
    assert keys == ["loop.supply.bore"]
    assert "tank.sealing_temperature" in [r.key for r in fieldlist.matching(rows, "lid shut")]
    assert [r.key for r in fieldlist.matching(rows, "coast duration")] == ["leg[1].duration"]
    assert fieldlist.matching(rows, "no such thing") == ()
    assert fieldlist.matching(rows, "  ") == rows


@pytest.mark.parametrize(
    ("key", "text", "si", "us"),
    [
        ("tank.volume", "38 L", "38 L", "10.04 gal"),
        ("tank.volume", "7.5 gal", "28.39 L", "7.5 gal"),
        ("tank.volume", "38000 mL", "38000 mL", "1285 floz"),
        ("tank.start_temperature", "18 degC", "18 degC", "64.4 degF"),
        ("tank.start_temperature", "64 °F", "17.78 degC", "64 °F"),
        ("engine.metal_excess", "35 K", "35 K", "63 degF"),
        ("coolant.cap_pressure", "15 psi", "103.4 kPa", "15 psi"),
        ("coolant.cap_pressure", "90 kPa", "90 kPa", "13.05 psig"),
        ("loop.supply.bore", "25 mm", "25 mm", "0.9843 in"),
        ("loop.supply.bore", '1"', "25.4 mm", '1"'),
        ("engine.displacement", "998 cc", "998 cc", "60.9 in^3"),
        ("leg[0].distance", "3200 m", "3200 m", "1.988 mi"),
        ("leg[0].start_speed", "13 m/s", "13 m/s", "29.08 mph"),
        ("leg[1].duration", "1.5 min", "1.5 min", "1.5 min"),
        ("engine.rated_speed", "8500 rpm", "8500 rpm", "8500 rpm"),
        ("tank.fill", "85 %", "85 %", "85 %"),
        ("exchanger.ua", "2000 BTU/(h degF)", "1055 W/K", "2000 BTU/(h degF)"),
    ],
)
def test_the_system_changes_the_display_only(session, key, text, si, us):
    edited = Session(session.text)
    edited.edit(key, text)
    row = row_of(edited.rows, key)
    assert fieldlist.shown(row, "si") == si
    assert fieldlist.shown(row, "us") == us
    assert row.text == text
    quantity = quantity_of(Scenario, key)
    for shown in (si, us):
        assert quantity.parse(shown) == pytest.approx(quantity.parse(text), rel=1e-3)


def test_ranges_and_unit_hints_follow_the_system(rows):
    row = row_of(rows, "tank.volume")
    assert (fieldlist.unit_hint(row, "si"), fieldlist.unit_hint(row, "us")) == ("L", "gal")
    assert fieldlist.allowed(row, "si") == "from 1 L to 2000 L"
    assert fieldlist.allowed(row, "us") == "from 0.2642 gal to 528.3 gal"
    assert fieldlist.allowed(row_of(rows, "leg[1].duration"), "us") == "from 0.1 s to 24 h"
    assert fieldlist.unit_hint(row_of(rows, "tank.fill"), "us") == ""
    assert fieldlist.allowed(row_of(rows, "tank.closure"), "us").startswith("one of sealed-relief")


def test_every_row_can_be_shown_in_both_systems(rows):
    for row in rows:
        for system in ("si", "us"):
            assert bool(fieldlist.shown(row, system)) == bool(row.text)
            if row.field.quantity is not None and row.kind == "quantity":
                assert fieldlist.allowed(row, system)


def test_no_metric_unit_counts_as_a_us_one():
    metric = {"m", "mm", "cm", "km", "L", "mL", "kg", "g", "kPa", "Pa", "bar", "mbar", "kW", "W",
              "degC", "K", "kph", "kmh", "lpm", "J", "kJ", "N", "cc", "PS"}
    assert metric <= set(ATOMS)
    assert not {name.casefold() for name in metric} & US_NAMES


@pytest.mark.parametrize("name", sorted(p.name for p in SCENARIOS.glob("*.toml")))
def test_rows_are_made_quickly(name):
    session = Session.open(SCENARIOS / name)
    best = 1.0
    for _ in range(5):
        start = time.perf_counter()
        rows = fieldlist.rows(session.tables, session.texts)
        fieldlist.matching(rows, "tank volume")
        best = min(best, time.perf_counter() - start)
    assert len(rows) > 150
    assert best < 0.020
