"""Bad input: one message of one screen, the right exit status, nothing on standard output."""

from __future__ import annotations

import pytest

SCREEN = 24
PASS = '[[leg]]\nkind = "full-power"\ndistance = "3200 m"\nstart_speed = "13 m/s"\n'


def refused(ran):
    """Check that a run was refused with a message and return the message."""
    assert ran.status == 2, ran
    assert ran.out == ""
    assert ran.err.strip()
    assert len(ran.err.strip().splitlines()) <= SCREEN
    assert "Traceback" not in ran.err
    assert all(len(line) < 2000 for line in ran.err.splitlines())
    return ran.err


@pytest.mark.parametrize(("setting", "words"), [
    ("tank.volume=3 degC", ("tank.volume", "temperature", "volume")),
    ("tank.volume=3 blips", ("tank.volume", "blips")),
    ("tank.volume=-3 L", ("tank.volume", "1 L", "2000 L")),
    ("tank.volume=0 L", ("tank.volume", "1 L")),
    ("tank.volume=12", ("tank.volume", "unit")),
    ("tank.volume=nan L", ("tank.volume",)),
    ("tank.volume=inf L", ("tank.volume",)),
    ("tank.fill=nan", ("tank.fill", "finite")),
    ("tank.fill=inf", ("tank.fill", "finite")),
    ("tank.fill=1.01", ("tank.fill", "1.0")),
    ("tank.volum=3 L", ("tank.volum", "Did you mean volume?")),
    ("tnak.volume=3 L", ("tnak", "Did you mean tank?")),
    ("leg[9].duration=3 s", ("leg[9]",)),
    ("tank.volume", ("KEY=VALUE",)),
    ("=3", ("KEY=VALUE",)),
    ("tank.closure=open", ("tank.closure", "vented")),
    ("engine.cylinders=2.5", ("engine.cylinders",)),
    ("tank.ice_form=dry-ice", ("dry ice is refused", "bursts the tank")),
    ("exchanger.arrangement=backwards", ("exchanger.arrangement", "counterflow")),
    ("coolant.glycol_fraction=0.3", ("glycol",)),
    ("loop.supply.fittings=[\"elbow-91\"]", ("elbow-91", "elbow-90", "loop.supply.fittings")),
    ("coolant.start_temperature=-25 degC", ("coolant.start_temperature", "degC")),
    ("tank.start_temperature=-5 degC", ("tank.start_temperature", "degC")),
    ("tank.ice_mass=40 kg", ("ice_mass", "fit")),
])
def test_a_bad_setting_is_told(soakbox, shipped, setting, words):
    message = refused(soakbox("check", shipped("base"), "--set", setting))
    for word in words:
        assert word in message
    assert len(message.splitlines()) <= 3


@pytest.mark.parametrize("verb", ["check", "size"])
def test_glycol_with_ice(soakbox, shipped, verb):
    message = refused(soakbox(
        verb, shipped("base"), "--set", "tank.glycol=ethylene", "--set",
        "tank.glycol_fraction=0.3", "--set", "tank.ice_mass=2 kg"))
    assert "ice in a tank with glycol is not modelled" in message


def test_all_problems_are_told_at_once(soakbox, shipped):
    message = refused(soakbox(
        "check", shipped("base"), "--set", "tank.volume=-1 L", "--set", "car.mass=3 L", "--set",
        "engine.powr=3 kW"))
    for key in ("tank.volume", "car.mass", "engine.powr"):
        assert key in message


def write(path, data):
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


@pytest.mark.parametrize(("name", "data", "words"), [
    ("empty", "", "the file is empty"),
    ("blank", "\n \n# only a comment\n", "schema"),
    ("binary", bytes(range(256)) * 20, "UTF-8"),
    ("latin", "schema = 1\ntitle = \"caf\u00e9\"\n".encode("latin-1"), "UTF-8"),
    ("utf16", "schema = 1\n".encode("utf-16"), "UTF-8"),
    ("huge", b"#" * 10_000_000, "1000 kB"),
    ("prose", "Tank of 30 litres, please.\n", ":1:"),
    ("unclosed", "schema = 1\ntitle = \"x\n", ":2:"),
    ("newer", "schema = 2\n", "schema = 1"),
    ("json", "{\"schema\": 1}\n", ":1:"),
    ("deep", "x = " + "[" * 5000 + "]" * 5000, "deep"),
])
def test_a_file_that_is_no_scenario(soakbox, tmp_path, name, data, words):
    path = write(tmp_path / f"{name}.toml", data)
    message = refused(soakbox("check", path))
    assert words in message
    assert path.name in message


def test_a_folder_and_a_missing_file(soakbox, tmp_path):
    assert "folder" in refused(soakbox("check", tmp_path))
    assert "no such file" in refused(soakbox("check", tmp_path / "none.toml"))


def test_missing_table_and_duplicate_key(soakbox, shipped, tmp_path):
    text = shipped("base").read_text(encoding="utf-8")
    start, end = text.index("[tank]"), text.index("[loop]")
    message = refused(soakbox("check", write(tmp_path / "no_tank.toml", text[:start] + text[end:])))
    assert "the table [tank] is required" in message
    double = text.replace("[tank]\n", '[tank]\nvolume = "3 L"\n')
    message = refused(soakbox("check", write(tmp_path / "double.toml", double)))
    assert "given twice" in message
    line = double.splitlines().index('volume = "38 L"') + 1
    assert f":{line}:" in message


def test_a_car_that_never_gets_there(soakbox, shipped):
    message = refused(soakbox(
        "check", shipped("base"), "--set", "car.mass=10000 kg", "--set", "engine.power=1 kW",
        "--set", "car.rolling_resistance=0.3", "--set", "leg[0].start_speed=0 m/s"))
    assert "never covers the leg" in message
    assert "leg[0]" in message
    assert "base.toml" in message


LEGS = {
    "coast up": PASS + '[[leg]]\nkind = "coast"\nuntil_speed = "100 m/s"\n',
    "engine off": '[[leg]]\nkind = "full-power"\nengine = "off"\nduration = "30 s"\n',
    "no pass": '[[leg]]\nkind = "soak"\nduration = "3 s"\n',
    "no length": '[[leg]]\nkind = "full-power"\n',
    "two lengths": '[[leg]]\nkind = "full-power"\nduration = "3 s"\ndistance = "3 m"\n',
}


@pytest.mark.parametrize("name", LEGS)
def test_legs_that_make_no_event(soakbox, shipped, tmp_path, name):
    text = shipped("base").read_text(encoding="utf-8")
    path = write(tmp_path / "legs.toml", text[: text.index("[[leg]]")] + LEGS[name])
    assert "leg" in refused(soakbox("check", path))


STATED = {
    "zero flow": (("loop.flow=0 L/min",), 1),
    "zero coolant flow": (("coolant.flow=0 L/min",), 1),
    "zero conductance": (("exchanger.ua=0 W/K",), 1),
    "brim, relief": (("tank.fill=1.0",), 0),
    "brim, sealed": (("tank.fill=1.0", "tank.closure=sealed"), 1),
    "brim, bladder": (("tank.fill=1.0", "tank.closure=bladder"), 1),
    "brim, bottle": (("tank.fill=1.0", "tank.closure=overflow-bottle"), 0),
    "brim, vented": (("tank.fill=1.0", "tank.closure=vented"), 0),
    "balanced flows": (("coolant.flow=30 L/min",), 0),
    "endless conductance": (("exchanger.ua=200000 W/K",), 0),
    "no lines": (("loop.supply.length=0 m", "loop.return.length=0 m"), 0),
    "a thimble": (("tank.volume=1 L", "tank.fill=0.05", "tank.length=0.1 m", "tank.height=0.1 m",
                   "tank.panel_long=0.1 m", "tank.panel_short=0.1 m"), 0),
    "a pond": (("tank.volume=2000 L", "tank.length=1.3 m", "tank.height=1.2 m"), 0),
    "hottest day": (("site.air_temperature=60 degC", "site.relative_humidity=1.0"), 0),
}


@pytest.mark.parametrize("name", STATED)
def test_extremes_are_stated_results(soakbox, shipped, name):
    overrides, status = STATED[name]
    ran = soakbox("check", shipped("base"), *(x for o in overrides for x in ("--set", o)))
    assert ran.err == ""
    assert ran.status == status
    assert "VERDICT: " in ran.out
    assert "nan" not in ran.out.lower().split()


def test_brim_full_bottle_too_small_is_told(soakbox, shipped):
    """A brim-full tank pushes its expansion into the bottle: none fitted cannot be clear."""
    ran = soakbox("check", shipped("base"), "--set", "tank.fill=1.0", "--set",
                  "tank.closure=overflow-bottle", "--set", "tank.bottle_volume=0 L")
    assert "bottle" in ran.out


@pytest.mark.parametrize("argv", [
    ("chek",), ("check",), ("check", "x.toml", "--units", "metric"), ("check", "x.toml", "--fast"),
    ("size",), ("schema", "extra"), ("--nonsense",)])
def test_usage_errors(soakbox, argv):
    assert "Traceback" not in refused(soakbox(*argv))
