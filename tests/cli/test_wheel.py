"""What is built to be handed on: wheel and sdist hold what they must, and nothing else."""

from __future__ import annotations

import email
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def sources(*folders):
    """Return the files of folders by their name in the checkout, without what Python leaves."""
    return {
        path.relative_to(ROOT).as_posix()
        for folder in folders for path in (ROOT / folder).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Build both once; return the folder."""
    folder = tmp_path_factory.mktemp("dist")
    subprocess.run([sys.executable, "-m", "hatchling", "build", "-d", str(folder)], cwd=ROOT,
                   check=True, capture_output=True, timeout=120)
    return folder


@pytest.fixture(scope="module")
def wheel(built):
    (file,) = built.glob("*.whl")
    with zipfile.ZipFile(file) as archive:
        yield archive


def of_info(wheel, name):
    (file,) = (n for n in wheel.namelist() if n.endswith(f".dist-info/{name}"))
    return wheel.read(file).decode("utf-8")


def test_the_wheel_holds_engine_command_and_scenarios_and_no_more(wheel):
    held = {n for n in wheel.namelist() if ".dist-info/" not in n}
    shipped = {f"tui/{name}" for name in sources("scenarios")}
    assert held == sources("thermo", "tui") | shipped
    assert {"thermo/ops.py", "tui/start.py", "tui/app.tcss", "tui/scenarios/base.toml"} <= held
    suffixes = {Path(name).suffix for name in held - shipped}
    assert suffixes == {".py", ".tcss", ".typed"}


def test_the_wheel_says_what_it_is(wheel):
    about = email.message_from_string(of_info(wheel, "METADATA"))
    assert about["Name"] == "soakbox"
    assert about["Version"] == PROJECT["version"]
    assert about["License-Expression"] == "MIT"
    assert about["License-File"] == "LICENSE"
    assert about["Requires-Python"] == PROJECT["requires-python"]
    assert about["Description-Content-Type"] == "text/markdown"
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert about.get_payload().strip() == readme.strip()
    needed = {text for text in about.get_all("Requires-Dist") if "extra ==" not in text}
    assert {n.lower() for n in needed} == {n.lower() for n in PROJECT["dependencies"]}
    assert of_info(wheel, "licenses/LICENSE") == (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "soakbox = tui.start:main" in of_info(wheel, "entry_points.txt")


def test_the_sdist_holds_all_that_builds_tests_and_explains(built):
    (file,) = built.glob("*.tar.gz")
    with tarfile.open(file) as archive:
        held = {m.name.split("/", 1)[1] for m in archive.getmembers() if m.isfile()}
    told = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
            "constraints.txt", ".ci/run"}
    assert told - held == set()
    assert sources("thermo", "tui", "scenarios", "tests") - held == set()
    outside = {n for n in held if "/" in n} - sources("thermo", "tui", "scenarios", "tests", ".ci")
    assert outside == set()
