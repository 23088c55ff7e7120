"""Scenario files: everything wrong is named at once, and nothing is lost or half-written."""

from __future__ import annotations

import errno
import os
import re
import stat
from pathlib import Path
from typing import Annotated, Any

import pytest
from pydantic import BaseModel, ValidationError

from thermo.errors import Problem, ScenarioError
from thermo.fields import Quantity, quantity_of
from thermo.keys import annotation_at
from thermo.scenario import Scenario
from thermo.scenario_io import (
    ScenarioFileError,
    from_text,
    json_schema,
    read_scenario,
    remove_value,
    save,
    set_value,
    to_toml,
)
from thermo.toml_text import lines_of

GOOD = """\
schema = 1  # format of this file
title = "Bench car"

[site]
air_temperature = "20 degC"

[car]
mass = "430 kg"
drag_area = "0.17 m^2"

[engine]
displacement = "1.0 L"
power = "55 kW"

[coolant]
start_temperature = "75 degC"

[tank]
volume = "38 L"   # measured with a bucket
fill = 0.85
start_temperature = "18 degC"

[loop.pump]
curve = [
  ["0 L/min", "9 m"],
  ["40 L/min", "5 m"],
]

[[leg]]
kind = "queue"
duration = "5 min"

[[leg]]  # the run
kind = "full-power"
name = "pass"
distance = "3200 m"
"""


def problems(text: str, overrides: tuple[str, ...] = ()) -> list[Problem]:
    with pytest.raises(ScenarioError, match=r"\S") as caught:
        from_text(text, "car.toml", overrides)
    assert all(line.isprintable() for line in str(caught.value).split("\n"))
    return caught.value.problems


def only(text: str, overrides: tuple[str, ...] = ()) -> Problem:
    found = problems(text, overrides)
    assert len(found) == 1, found
    return found[0]


def test_good_text_is_read_in_si() -> None:
    loaded = from_text(GOOD)
    assert loaded.scenario.tank.volume == pytest.approx(0.038)
    assert loaded.scenario.site.air_temperature == pytest.approx(293.15)
    assert loaded.scenario.leg[1].distance == pytest.approx(3200.0)
    assert loaded.scenario.loop.pump is not None
    assert loaded.scenario.loop.pump.curve[1] == pytest.approx((40e-3 / 60, 5.0))


def test_file_with_byte_order_mark_and_crlf(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_scenario(path).scenario.title == "Bench car"


def test_every_problem_is_reported_at_once_with_its_line() -> None:
    text = (
        GOOD.replace('"38 L"', '"3800 L"').replace("fill", "fil").replace('"430 kg"', "430")
        .replace('"55 kW"', '"55 kWh"').replace('"5 min"', '"5 m"').replace('"40 L/min"', '"4 K"')
        .replace('drag_area = "0.17 m^2"\n', "").replace('"queue"', '"que"')
    )
    lines = text.split("\n")
    found = {p.key: p for p in problems(text)}
    assert set(found) == {
        "car.mass", "car.drag_area", "engine.power", "tank.volume", "tank.fil",
        "loop.pump.curve[1][0]", "leg[0].kind", "leg[0].duration",
    }
    for key, start in (
        ("car.mass", "mass ="), ("car.drag_area", "[car]"), ("engine.power", "power ="),
        ("tank.volume", "volume ="), ("tank.fil", "fil ="), ("loop.pump.curve[1][0]", "curve ="),
        ("leg[0].kind", "kind ="), ("leg[0].duration", "duration ="),
    ):
        line = found[key].line
        assert line is not None
        assert lines[line - 1].startswith(start), key
    assert found["tank.volume"].given == "'3800 L'"
    assert found["tank.volume"].allowed == "a volume from 1 L to 2000 L is expected"
    assert found["tank.fil"].suggestion == "fill"
    assert found["leg[0].kind"].suggestion == "queue"
    assert "unit is missing" in found["car.mass"].allowed
    assert "this key is required: an area from" in found["car.drag_area"].allowed
    assert "measures an energy" in found["engine.power"].allowed


def test_message_names_file_line_key_given_and_allowed() -> None:
    with pytest.raises(ScenarioError, match=r"tank\.volume") as caught:
        from_text(GOOD.replace('"38 L"', '"0.1 L"'), "car.toml")
    assert str(caught.value) == (
        "car.toml:19: tank.volume: given '0.1 L'; a volume from 1 L to 2000 L is expected."
    )


@pytest.mark.parametrize(("change", "key", "words"), [
    (("[site]", "[sites]"), "sites", "no such key at the top of the file"),
    (('[tank]\n', "[tank]\nua = 3\n"), "tank.ua", "no such key in \\[tank\\]"),
    (("fill = 0.85", "fill = true"), "tank.fill", "expected a fraction"),
    (("fill = 0.85", "cells = 2.5"), "tank.cells", "whole number"),
    (("fill = 0.85", "fill = [1]"), "tank.fill", "expected a fraction"),
    (("fill = 0.85", "fill = 1979-05-27"), "tank.fill", "expected a fraction"),
    (("fill = 0.85", "fill = nan"), "tank.fill", "finite number"),
    (("fill = 0.85", "fill = 0x" + "f" * 5000), "tank.fill", "finite number"),
    (("fill = 0.85", 'ice_form = "dry ice"'), "tank.ice_form", "dry ice is refused"),
    (("[[leg]]  # the run", "[[leg]]\nduration = \"9 s\""), "leg[1]", "exactly one of"),
])
def test_one_problem(change: tuple[str, str], key: str, words: str) -> None:
    found = [p for p in problems(GOOD.replace(*change)) if p.key == key]
    assert len(found) == 1
    assert found[0].line is not None
    assert re.search(words, found[0].allowed)


def test_missing_tables_are_named() -> None:
    found = {p.key: p.allowed for p in problems("schema = 1\n")}
    assert found["car"] == "the table [car] is required"
    assert found["leg"] == "the table [[leg]] is required"


def test_hostile_text_in_values_and_keys_is_shown_as_escapes() -> None:
    text = GOOD.replace('"38 L"', r'"38 \u001b[31m L"') + '\n"bad\\u001b]0;x\\u0007" = 1\n'
    found = problems(text)
    assert "\\x1b[31m" in " ".join(p.given for p in found)
    assert any("\\x1b]0;x\\x07" in p.key for p in found)


@pytest.mark.parametrize(("text", "words", "line"), [
    ("", "the file is empty", None),
    ("  \n\n", "the file is empty", None),
    ("schema = 1\nschema = 1\n", "this key is given twice", 2),
    ("schema = 1\n[tank]\n[tank]\n", "this table is given twice", 3),
    ("schema = 1\n[tank]\nvolume = 28 L\n", 'needs quotes, such as "28 L"', 3),
    ("schema = 1\n[tank]\nvolume = gal\n", "text needs quotes", 3),
    ("schema = 1\n[tank\n", "not TOML", 2),
    ("schema = 1\nvolume\n", "expected KEY = VALUE", 2),
    ('schema = 1\nvolume = "28 L\n', "closed with a quote", 2),
    ("schema = 1\na = [1, 2\n", "not closed with \\]", 2),
    ("a = " + "[" * 5000, "nested at most 10 deep", 1),
    ("a = " + "[ 1, " * 5000, "nested at most 10 deep", None),
    ("a = " + "{a = " * 5000, "nested at most 10 deep", None),
    ("a = " + "[[1], " * 12 + "0" + "]" * 12, "nested at most 10 deep", None),
    ("a." * 5000 + "a = 1", "nested at most 10 deep", 1),
    ("a = " + "1" * 999_000, "too many digits", None),
    ("a = [" + "1," * 450_000 + "]", "at most 1000 entries", None),
    ("\n".join(f"a{i} = 1" for i in range(60_000)), "at most 20000 values", None),
    ("#" * 1_000_001, "at most 1000 kB", None),
])
def test_no_toml_or_too_much_of_it(text: str, words: str, line: int | None) -> None:
    found = only(text)
    assert re.search(words, found.allowed)
    assert found.line == line


@pytest.mark.parametrize(("value", "shown"), [
    ("2", "2"), ("0", "0"), ("true", "true"), ('"1"', "'1'"), ("1.0", "1.0"),
])
def test_other_format_numbers_are_refused(value: str, shown: str) -> None:
    found = only(GOOD.replace("schema = 1", f"schema = {value}"))
    assert (found.key, found.given, found.line) == ("schema", shown, 1)
    assert found.allowed.startswith("schema = 1 is required")


def test_missing_format_number_is_one_problem() -> None:
    found = only(GOOD.replace("schema = 1", ""))
    assert (found.key, found.given, found.line) == ("schema", "", None)


def test_many_problems_are_counted_not_listed() -> None:
    text = GOOD + "".join(f"x{i} = 1\n" for i in range(500))
    found = problems(text)
    assert len(found) == 61
    assert found[-1].allowed == "440 further problems are not shown"


# --- the file itself -------------------------------------------------------------------------


def refused(path: Path | str) -> str:
    with pytest.raises(ScenarioError, match=r"\S") as caught:
        read_scenario(path)
    assert str(caught.value).isprintable()
    return str(caught.value)


def test_what_is_no_readable_file(tmp_path: Path) -> None:
    assert "there is no such file" in refused(tmp_path / "none.toml")
    assert "there is no such file" in refused(tmp_path / "a\x1b[31m.toml")
    assert "this is a folder" in refused(tmp_path)
    assert "not the name of a file" in refused("a\0b.toml")
    assert "cannot be read" in refused("a" * 5000)
    fifo = tmp_path / "fifo"
    os.mkfifo(fifo)
    assert "not a regular file" in refused(fifo)
    assert "not a regular file" in refused("/dev/zero")


@pytest.mark.parametrize(("data", "words"), [
    (b"", "the file is empty"),
    (b"\xef\xbb\xbf\n", "the file is empty"),
    (b"schema = 1\n\0", "binary or UTF-16"),
    (GOOD.encode("utf-16"), "binary or UTF-16"),
    (b'schema = 1\ntitle = "\xff"\n', ":2: text in UTF-8 is expected"),
    (b"#" * 10_000_000, "at most 1000 kB"),
], ids=["empty", "mark-alone", "nul", "utf-16", "latin-1", "too-long"])
def test_what_is_no_text(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(data)
    assert words in refused(path)


# --- overrides -------------------------------------------------------------------------------


@pytest.mark.parametrize(("override", "key", "value"), [
    ("tank.volume=9 gal", ("tank", "volume"), 9 * 3.785411784e-3),
    ('tank.volume="9 gal"', ("tank", "volume"), 9 * 3.785411784e-3),
    (" tank.fill = 0.8", ("tank", "fill"), 0.8),
    ("tank.fill=80 %", ("tank", "fill"), 0.8),
    ("tank.fill=7/8", ("tank", "fill"), 0.875),
    ("tank.strainer=true", ("tank", "strainer"), True),
    ("tank.cells=5", ("tank", "cells"), 5),
    ("tank.closure=vented", ("tank", "closure"), "vented"),
    ("title=12", ("title",), "12"),
    ("exchanger.ua=1050 W/K", ("exchanger", "ua"), 1050.0),
    ("loop.return.bore=1 in", ("loop", "return_", "bore"), 0.0254),
    ("leg[1].distance=1 km", ("leg", 1, "distance"), 1000.0),
    ("leg.1.distance=1 km", ("leg", 1, "distance"), 1000.0),
    ("leg[pass].distance=1 km", ("leg", 1, "distance"), 1000.0),
    ("leg[Queue].duration=60 s", ("leg", 0, "duration"), 60.0),
    ("leg.queue.duration=60 s", ("leg", 0, "duration"), 60.0),
    ('loop.pump.curve=[["0 L/min", "3 m"], ["9 L/min", "1 m"]]', ("loop", "pump", "curve", 0, 1),
     3.0),
    ('doubt."engine.heat_share".low=0.7', None, None),
])
def test_overrides(override: str, key: tuple[str | int, ...] | None, value: object) -> None:
    extra = '\n[doubt."engine.heat_share"]\nlow = 0.6\nhigh = 1.05\n'
    loaded = from_text(GOOD + extra, "car.toml", [override])
    if key is None:
        assert loaded.scenario.doubt["engine.heat_share"].low == 0.7
        return
    here: Any = loaded.scenario
    for part in key:
        here = here[part] if isinstance(part, int) else getattr(here, part)
    assert here == (pytest.approx(value) if isinstance(value, float) else value)
    again = from_text(to_toml(loaded.document), "saved")
    assert again.scenario == loaded.scenario
    assert "# measured with a bucket" in again.text or "tank.volume" in override


@pytest.mark.parametrize(("override", "key", "words"), [
    ("tank.volume", "", "KEY=VALUE is expected"),
    ("=9 gal", "", "KEY=VALUE is expected"),
    ("tank..volume=9 gal", "", "is not a key"),
    ("leg[7].duration=9 s", "", r"no entry is called '7'; there are leg\[0\] queue, leg\[1\] pass"),
    ("leg[coast].duration=9 s", "", "no entry is called 'coast'"),
    ("intake.part[0].bore=9 mm", "", r"there is no list intake\.part"),
    ("tank.volume.x=9 mm", "", r"tank\.volume is a value, not a table"),
    ("title=" + "x" * 5000, "", "at most 2000 characters"),
    ('tank={volume = "9 gal"}', "", "tank is a table"),
    ("leg[0]=9 s", "", r"leg\[0\] is a table"),
    ("tank.volume=9", "tank.volume", "unit is missing"),
    ("tank.volume=9 gal\x1b", "tank.volume", "control characters"),
    ("tank.volume=9999 gal", "tank.volume", "from 1 L to 2000 L"),
    ("tank.volum=9 gal", "tank.volum", "no such key"),
    ("tanks.volume=9 gal", "tanks", "no such key"),
    ("site.x.y=3", "site.x", "no such key"),
    ("tank.fill=" + "1" * 1500, "tank.fill", "finite"),
    ("tank.fill=" + "[" * 1500, "tank.fill", "at most 80 characters"),
])
def test_overrides_refused(override: str, key: str, words: str) -> None:
    found = only(GOOD, (override,))
    assert found.key == key
    assert found.given.startswith("--set ")
    assert found.line is None
    assert re.search(words, found.allowed)


def test_overrides_and_file_are_reported_together() -> None:
    found = problems(GOOD.replace("0.85", "1.85"), ("tank.volume=3 kg", "nonsense"))
    assert {p.key for p in found} == {"", "tank.volume", "tank.fill"}


def test_override_can_mend_the_file() -> None:
    loaded = from_text(GOOD.replace("0.85", "1.85"), "car.toml", ["tank.fill=0.9"])
    assert loaded.scenario.tank.fill == 0.9


# --- editing and saving ----------------------------------------------------------------------


def test_edit_keeps_comments_order_and_the_users_own_text() -> None:
    document = from_text(GOOD).document
    set_value(document, "tank.volume", "9 gal")
    set_value(document, "leg[pass].distance", "2 mi")
    set_value(document, "tank.fill", "0.9")
    expected = GOOD.replace('"38 L"', '"9 gal"').replace('"3200 m"', '"2 mi"')
    assert to_toml(document) == expected.replace("0.85", "0.9")


def test_edit_adds_and_removes() -> None:
    document = from_text(GOOD).document
    set_value(document, "exchanger.ua", "1050 W/K")
    set_value(document, "shows", "3")
    set_value(document, "tank.wall_mass", "4 kg")
    changed = from_text(to_toml(document)).scenario
    assert changed.exchanger.ua == pytest.approx(1050.0)
    assert changed.shows == "3"
    assert changed.tank.wall_mass == pytest.approx(4.0)
    for key in ("exchanger.ua", "shows", "tank.wall_mass", "loop.voltage", "intake.recovery"):
        remove_value(document, key)
    assert from_text(to_toml(document)).scenario == from_text(GOOD).scenario
    assert "# measured with a bucket" in to_toml(document)


@pytest.mark.parametrize(("key", "words"), [
    ("tank.volum", "no such key: did you mean volume"),
    ("tank", "is a table"),
    ("leg[1]", "is a table"),
    ("leg", "is a table"),
    ("doubt", "is a table"),
    ("leg[9].distance", "no entry is called '9'"),
    ("intake.part[0].bore", "there is no list intake.part"),
    ("intake.part[x].bore", "there is no list intake.part"),
    ("a b", "is not a key"),
])
def test_edit_refused_leaves_the_document(key: str, words: str) -> None:
    document = from_text(GOOD).document
    with pytest.raises(ScenarioError, match=words):
        set_value(document, key, "9 gal")
    assert to_toml(document) == GOOD


@pytest.mark.parametrize("key", ["leg[9].distance", "tank.volume.x", "leg[0]", "a b"])
def test_remove_refused_leaves_the_document(key: str) -> None:
    document = from_text(GOOD).document
    with pytest.raises(ScenarioError, match="edit: "):
        remove_value(document, key)
    assert to_toml(document) == GOOD


def test_save_round_trip_keeps_permissions_and_follows_links(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_text(GOOD)
    real.chmod(0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(real)
    loaded = read_scenario(link, ["tank.volume=9 gal"])
    save(link, loaded.document, expected=loaded.text)
    assert link.is_symlink()
    assert real.read_text() == GOOD.replace('"38 L"', '"9 gal"')
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert sorted(p.name for p in tmp_path.iterdir()) == ["link.toml", "real.toml"]


def test_save_makes_a_new_file(tmp_path: Path) -> None:
    save(tmp_path / "new.toml", from_text(GOOD).document, expected=GOOD)
    assert (tmp_path / "new.toml").read_text() == GOOD


def test_save_refuses_to_overwrite_what_changed(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(GOOD)
    loaded = read_scenario(path)
    path.write_text(GOOD + "# a note\n")
    with pytest.raises(ScenarioFileError, match="changed since it was read"):
        save(path, loaded.document, expected=loaded.text)
    assert path.read_text() == GOOD + "# a note\n"


def test_save_on_a_full_disk_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "car.toml"
    path.write_text(GOOD)
    loaded = read_scenario(path, ["tank.volume=9 gal"])

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ScenarioFileError, match="not saved: No space left"):
        save(path, loaded.document)
    assert path.read_text() == GOOD
    assert [p.name for p in tmp_path.iterdir()] == ["car.toml"]


@pytest.mark.parametrize("name", ["", "none/car.toml", "car.toml/x", "a\0b"])
def test_save_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "car.toml").write_text(GOOD)
    with pytest.raises(ScenarioFileError, match="not saved"):
        save(os.path.join(tmp_path, name), from_text(GOOD).document)


# --- the model and its schema ----------------------------------------------------------------


def models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        inner = [m for f in annotation.model_fields.values() for m in models(f.annotation)]
        return [annotation, *inner]
    return [m for a in getattr(annotation, "__args__", ()) for m in models(a)]


def test_every_default_lies_in_its_own_range() -> None:
    checked = 0
    for model in dict.fromkeys(models(Scenario)):
        for name, info in model.model_fields.items():
            field = quantity_of(model, info.alias or name)
            if field is None or not isinstance(info.default, float):
                continue
            low, high = field.range_si
            assert low <= info.default <= high, (model, name)
            assert field.parse(field.format(info.default, digits=17)) == pytest.approx(info.default)
            checked += 1
    assert checked > 50


@pytest.mark.parametrize(("key", "kind"), [
    ("tank.volume", "volume"), ("tank.sealing_temperature", "temperature"),
    ("leg[1].duration", "time"), ("leg.duration", "time"), ("leg[pass].distance", "length"),
    ("loop.return.bore", "length"), ("loop.pump.curve[0][0]", "volume_flow"),
    ("loop.pump.curve[0][1]", "length"), ("intake.part[3].bore", "length"),
    ("engine.gears", "number"), ("tank.fill", "fraction"),
])
def test_quantity_of(key: str, kind: str) -> None:
    found = quantity_of(Scenario, key)
    assert found is not None
    assert found.kind == kind


@pytest.mark.parametrize("key", [
    "tank", "tank.closure", "tank.nope", "nope", "a b", "loop.pump.curve", "tank.volume.x",
    "loop.pump.curve[0][2]",
])
def test_no_quantity(key: str) -> None:
    assert quantity_of(Scenario, key) is None


def test_lines_through_long_values_and_lists() -> None:
    text = (
        'a = """\n[b]\nc = 1\n"""\n[[x]]\ny.z = [\n "[[x]]", # ]\n]\n[[x.w]]\nk = 1\n[[x.w]]\n'
        "k = 2\n[[x]]\n\"q\" = '''\nk = 3'''\nlast = 1\n"
    )
    assert lines_of(text) == {
        ("a",): 1, ("x",): 5, ("x", 0): 5, ("x", 0, "y"): 6, ("x", 0, "y", "z"): 6,
        ("x", 0, "w"): 9, ("x", 0, "w", 0): 9, ("x", 0, "w", 0, "k"): 10,
        ("x", 0, "w", 1): 11, ("x", 0, "w", 1, "k"): 12, ("x", 1): 13, ("x", 1, "q"): 14,
        ("x", 1, "last"): 16,
    }


def test_schema_describes_the_file() -> None:
    schema = json_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == "Soakbox scenario"
    tank = schema["$defs"]["Tank"]["properties"]
    assert tank["volume"]["type"] == "string"
    assert "default" not in tank["volume"]
    assert tank["volume"]["x-kind"] == "volume"
    assert tank["volume"]["x-high"] == "2000 L"
    assert "from 1 L to 2000 L" in tank["volume"]["description"]
    assert tank["relief_pressure"]["default"] == "35 kPa"
    assert "default" not in tank["sealing_temperature"]
    assert "null" not in str(schema)
    for example in tank["volume"]["examples"]:
        assert re.search(tank["volume"]["pattern"], example)
    for text in ("3 1/2 in", "-5 degC", ".5 m", "1e3 m", '1/2"', "5°C", "\u22125 K"):
        assert re.search(tank["volume"]["pattern"], text)
    for text in ("", "28", "L 28", "3 1/2"):
        assert not re.search(tank["volume"]["pattern"], text)


def test_field_of_a_small_model() -> None:
    class Pipe(BaseModel):
        bore: Annotated[float, Quantity("length", "1 mm", "1 m", help="Inside.", basis="rule")]
        share: Annotated[float, Quantity("fraction", 0.0, 1.0, open_low=True)] = 0.5
        points: tuple[tuple[Annotated[float, Quantity("time", "0 s", "9 s")], str], ...] = ()

    pipe = Pipe.model_validate({"bore": "1 in", "share": "50 %", "points": [["3 s", "a"]]})
    assert pipe.bore == pytest.approx(0.0254)
    assert pipe.points == ((3.0, "a"),)
    with pytest.raises(ValidationError, match="'2 m': a length from 1 mm to 1 m is expected"):
        Pipe.model_validate({"bore": "2 m"})
    properties = Pipe.model_json_schema()["properties"]
    assert properties["bore"]["description"] == "Inside. A length from 1 mm to 1 m. Basis: rule."
    assert properties["share"]["anyOf"][0] == {
        "type": "number", "exclusiveMinimum": 0.0, "maximum": 1.0,
    }
    assert annotation_at(Pipe, ("points", 3, 1)) is str
