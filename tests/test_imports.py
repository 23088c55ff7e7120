"""What an import costs: the engine needs no user interface and no library that builds tables."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
USER_INTERFACE = ("tui", "textual", "rich", "click")
HEAVY = ("CoolProp", "pint", "scipy.optimize")


def modules_after(code, *argv):
    """Run code in a fresh interpreter and return the modules that are loaded at its end."""
    done = subprocess.run(
        [sys.executable, "-c", f"import sys, json\n{code}\n"
         "sys.stderr.write(json.dumps(sorted(sys.modules)))", *map(str, argv)],
        capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stderr.splitlines()[-1]))


def loaded(names, modules):
    return sorted(m for m in modules for n in names if m == n or m.startswith(n + "."))


def test_engine_imports_no_user_interface_and_nothing_heavy():
    modules = modules_after("import thermo.event, thermo.sizing")
    assert loaded((*USER_INTERFACE, *HEAVY), modules) == []


def test_reading_a_scenario_needs_no_properties():
    code = ("from thermo.scenario_io import read_scenario\n"
            f"read_scenario({str(ROOT / 'scenarios' / 'base.toml')!r})")
    modules = modules_after(code)
    assert loaded((*USER_INTERFACE, "CoolProp"), modules) == []


def test_errors_stand_alone():
    modules = modules_after("import thermo.errors, thermo.ops")
    assert loaded(("thermo",), modules) == ["thermo", "thermo.errors", "thermo.ops"]


@pytest.mark.parametrize(("module", "above"), [
    ("thermo.liquids", ("thermo.scenario", "thermo.event", "thermo.inputs")),
    ("thermo.exchanger", ("thermo.scenario", "thermo.inputs", "thermo.cooling")),
    ("thermo.duct", ("thermo.scenario", "thermo.inputs", "thermo.intake")),
    ("thermo.tank", ("thermo.scenario", "thermo.inputs", "thermo.cooling")),
    ("thermo.course", ("thermo.scenario", "thermo.inputs", "thermo.event")),
    ("thermo.cooling", ("thermo.event", "thermo.flags", "thermo.sizing")),
    ("thermo.event", ("thermo.sizing", "thermo.answers", "thermo.trial", "thermo.published")),
    ("thermo.scenario_io", ("thermo.event", "thermo.cooling", "thermo.properties")),
])
def test_imports_run_one_way(module, above):
    assert loaded(above, modules_after(f"import {module}")) == []


def test_check_with_a_good_cache_does_not_import_coolprop():
    base = str(ROOT / "scenarios" / "base.toml")
    code = (
        "from thermo.properties import load_tables\n"
        "load_tables()")  # makes the cache good when it is not
    modules_after(code)
    run = (
        "import contextlib, io\n"
        f"sys.argv = ['soakbox', 'check', {base!r}]\n"
        "from tui.start import main\n"
        "with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):\n"
        "    main()\n")
    modules = modules_after(run)
    assert "thermo.event" in modules
    assert loaded(("CoolProp", "textual", "rich"), modules) == []
