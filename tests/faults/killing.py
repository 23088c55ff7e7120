"""Kill programs that save or build at random points: ``python -m tests.faults.killing 200``.

A file must then hold the old text or the whole new one, and a cache either nothing or a whole
table.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SAVING = """
import sys
from thermo.scenario_io import read_scenario, save, set_value
loaded = read_scenario(sys.argv[1])
print("ready", flush=True)
for turn in range(100000):
    set_value(loaded.document, "title", "x" * 100 if turn % 2 else "y" * 100)
    save(sys.argv[1], loaded.document)
"""
BUILDING = """
import os, sys
from thermo import properties
from thermo.tables import tables_to_data
content = tables_to_data(properties.load_tables())
os.environ["SOAKBOX_CACHE"] = sys.argv[1]
print("ready", flush=True)
while True:
    properties._write(properties.table_path(), content)
"""


def killed(code: str, *argv: str, after: float) -> None:
    """Run code, and kill it so long after it said that it is ready [s]."""
    running = subprocess.Popen(
        [sys.executable, "-c", code, *argv], stdout=subprocess.PIPE, cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert running.stdout is not None
    with running.stdout as told:
        assert told.readline() == b"ready\n"
        time.sleep(after)
        os.kill(running.pid, signal.SIGKILL)
        running.wait()


def save_trial(folder: Path, after: float) -> str:
    """Kill a program that saves; return what is wrong with the file, or an empty text."""
    from thermo.scenario_io import read_scenario

    file = folder / "car.toml"
    base = (ROOT / "scenarios" / "base.toml").read_text(encoding="utf-8")
    file.write_text(base, encoding="utf-8")
    killed(SAVING, str(file), after=after)
    title = read_scenario(file).scenario.title
    whole = title in ("x" * 100, "y" * 100, read_scenario(ROOT / "scenarios/base.toml")
                      .scenario.title)
    length = len(file.read_text(encoding="utf-8")) - len(title)
    same = length == len(base) - len(base.split('title = "')[1].split('"')[0])
    return "" if whole and same else f"a mix: title {title!r}, {length} characters beside it"


def cache_trial(folder: Path, after: float) -> str:
    """Kill a program that writes the property tables; return what is wrong, or an empty text."""
    from thermo import properties

    killed(BUILDING, str(folder), after=after)
    files = list(folder.glob("*.json"))
    whole = all(properties._read(file) is not None for file in files)
    return "" if whole else "a table that is not whole"


def main() -> None:
    """Run so many trials of each kind and count what went wrong."""
    count, chance, wrong = int(sys.argv[1]), random.Random(7), []
    for number in range(count):
        trial = (save_trial, cache_trial)[number % 2]
        with tempfile.TemporaryDirectory() as folder:
            told = trial(Path(folder), chance.uniform(0.0, 0.1))
        wrong += [f"{number}: {told}"] if told else []
    print(f"{count} kills, {len(wrong)} files spoilt", *wrong, sep="\n")


if __name__ == "__main__":
    main()
