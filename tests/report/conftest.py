"""Reports made once a session."""

from __future__ import annotations

import datetime
import functools
from pathlib import Path

import pytest

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
DAY = datetime.date(2026, 3, 1)


@pytest.fixture(scope="session")
def report_with(sheet_with):
    """Return the report on a shipped scenario; the build sheet is that of other tests."""

    @functools.cache
    def make(name, *overrides, system="si", without=frozenset()):
        from thermo.event import solve_whole
        from thermo.scenario_io import read_scenario
        from tui.report import build

        loaded = read_scenario(SCENARIOS / f"{name}.toml", overrides)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(build, "build_sheet", lambda *_: sheet_with(name, *overrides))
            return build.report_of(
                loaded, solve_whole(loaded.scenario), system, without=without, day=DAY
            )

    return make


@pytest.fixture(scope="session")
def whole_report(report_with):
    """Return a report with every section."""
    return report_with("base")


@pytest.fixture(scope="session")
def quick():
    """Return the sections that take long."""
    return frozenset({"sizes", "weather", "doubt", "assumptions", "working"})


@pytest.fixture
def soakbox_report(monkeypatch, capsys):
    """Run the verb on a shipped scenario in this process."""
    import sys
    from types import SimpleNamespace

    from tui.cli import run

    def call(name, target, *options):
        file = SCENARIOS / f"{name}.toml"
        argv = ["soakbox", "report", str(file), "--out", str(target), *options]
        monkeypatch.setattr(sys, "argv", argv)
        with pytest.raises(SystemExit) as end:
            run()
        got = capsys.readouterr()
        return SimpleNamespace(status=int(end.value.code or 0), out=got.out, err=got.err)

    return call
