"""Two programs on one file: neither writes over what the other saved without being told."""

from __future__ import annotations

import os
import re
import subprocess
import sys

from tests.faults.command import ROOT
from thermo.scenario_io import read_scenario

COUNTING = """
import sys
from thermo.scenario_io import ScenarioFileError, read_scenario, save, set_value
print("ready", flush=True)
sys.stdin.readline()
saved = 0
while saved < 25:
    loaded = read_scenario(sys.argv[1])
    set_value(loaded.document, "title", str(int(loaded.scenario.title) + 1))
    try:
        save(sys.argv[1], loaded.document, expected=loaded.text)
    except ScenarioFileError as error:
        assert "changed since it was read" in str(error), error
        continue
    saved += 1
"""


def test_no_save_is_lost_when_programs_save_over_and_over(tmp_path):
    """Each adds one to the number in the title: every save that was told to hold must count."""
    file = tmp_path / "car.toml"
    base = (ROOT / "scenarios" / "base.toml").read_text(encoding="utf-8")
    file.write_text(re.sub(r'(?m)^title = ".*"$', 'title = "0"', base), encoding="utf-8")
    running = [
        subprocess.Popen([sys.executable, "-c", COUNTING, str(file)], stdin=subprocess.PIPE,
                         stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)})
        for _ in range(3)
    ]
    for program in running:
        assert program.stdout.readline() == b"ready\n"
    for program in running:
        program.stdin.write(b"\n")
        program.stdin.flush()
    for program in running:
        program.communicate(timeout=120)
    assert [program.returncode for program in running] == [0, 0, 0]
    assert read_scenario(file).scenario.title == "75"
    assert [path.name for path in tmp_path.iterdir()] == ["car.toml"]
