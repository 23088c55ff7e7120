"""README, DEVELOPERS, CHANGELOG and .ci/run say what is true: commands, outputs, files, links."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest

from tui.cli import run, soakbox

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CHANGELOG = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
DOCUMENTS = {"README.md": README, "DEVELOPERS.md": DEVELOPERS, "CHANGELOG.md": CHANGELOG}
SCENARIOS = sorted(p.name for p in (ROOT / "scenarios").glob("*.toml"))
LEFT_OUT = re.compile(r"^\.\.\.$", re.MULTILINE)
NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?![\w.]*\d)")


@dataclass(frozen=True)
class Shown:
    """A command of the README, its stated exit status and the output printed under it."""

    command: str
    status: int
    output: tuple[str, ...]


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def set_up_commands() -> list[str]:
    return [b.strip() for b in blocks("sh") if "-m venv" in b]


def console() -> list[Shown]:
    shown = []
    for block in blocks("console"):
        first, *output = block.rstrip("\n").split("\n")
        command, _, comment = first.removeprefix("$ ").partition("    # ")
        stated = re.fullmatch(r"exit status (\d)", comment)
        shown.append(Shown(command, int(stated[1]) if stated else 0, tuple(output)))
    return shown


def table(header: str) -> list[list[str]]:
    """Return the rows under a table header of the README, cells without backticks."""
    rows: list[list[str]] = []
    lines = README.split("\n")
    for line in lines[lines.index(header) + 2 :]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip().strip("`") for cell in line.strip("|").split("|")])
    return rows


def same(told: str, got: str) -> bool:
    """Say whether two words agree: letters exactly, figures nearly.

    Other releases of CoolProp and numpy move the last digit: 0.2 %, or one in the last digit
    told, is let pass. Whole numbers below 20 are counts and limits, and must be equal.
    """
    if NUMBER.sub("#", told) != NUMBER.sub("#", got):
        return False
    for a, b in zip(NUMBER.findall(told), NUMBER.findall(got), strict=True):
        decimals = len(a.partition(".")[2])
        apart = abs(float(a) - float(b))
        if decimals == 0 and abs(float(a)) < 20.0:
            if apart > 0.0:
                return False
        elif apart > 1.001 * max(10.0**-decimals, 0.002 * abs(float(a))):
            return False
    return True


def place_of(told: list[str], got: list[str], start: int) -> int:
    """Return where the words `told` stand in a row in `got` from `start` on, or -1."""
    for at in range(start, len(got) - len(told) + 1):
        if all(same(a, b) for a, b in zip(told, got[at : at + len(told)], strict=True)):
            return at
    return -1


@pytest.mark.parametrize(
    ("told", "got", "agree"),
    [
        ("2.78", "2.79", True), ("-3.41", "-3.4", True), ("8560", "8562", True),
        ("(8.51", "(8.5", True), ("2.78", "2.80", False), ("2.78", "-2.78", False),
        ("8", "9", False), ("kPa", "Pa", False), ("8.51", "8.51,", False),
    ],
)
def test_words_agree_in_letters_and_nearly_in_figures(told: str, got: str, agree: bool) -> None:
    assert same(told, got) is agree


@dataclass(frozen=True)
class Done:
    """What a command printed and how it ended."""

    status: int
    out: str
    err: str


class Place:
    """A directory with the shipped scenarios, as the root of a clone, in which to run commands."""

    def __init__(
        self, folder: Path, patch: pytest.MonkeyPatch, capture: pytest.CaptureFixture[str]
    ) -> None:
        shutil.copytree(ROOT / "scenarios", folder / "scenarios")
        patch.chdir(folder)
        self.patch, self.capture = patch, capture

    def soakbox(self, *words: str) -> Done:
        self.patch.setattr(sys, "argv", ["soakbox", *words])
        with pytest.raises(SystemExit) as end:
            run()
        told = self.capture.readouterr()
        return Done(int(end.value.code or 0), told.out, told.err)


@pytest.fixture
def place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Place:
    return Place(tmp_path, monkeypatch, capsys)


def test_the_two_set_up_commands_are_those_of_the_checks() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    run = [m[1] for m in re.finditer(r'^(?:first|second)="(.*)"$', script, re.MULTILINE)]
    assert run == set_up_commands()
    assert 'bash -c "$first"' in script
    assert 'bash -c "$second"' in script


def test_set_up_commands_name_extras_and_files_that_exist() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    first, second = set_up_commands()
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    for extra in re.findall(r"'\.\[(\w+)\]'", f"{first} {second} {script} {DEVELOPERS}"):
        assert extra in project["optional-dependencies"]
    assert (ROOT / first.split()[-1]).is_file()
    assert "soakbox" in project["scripts"]
    assert f"Python {project['requires-python'].removeprefix('>=')}" in README


@pytest.mark.parametrize("shown", console(), ids=lambda s: s.command)
def test_printed_output_is_what_the_command_prints(shown: Shown, place: Place) -> None:
    program, *words = shlex.split(shown.command)
    assert program == "soakbox"
    done = place.soakbox(*words)
    assert done.status == shown.status, done.err
    printed = (done.out or done.err).split()
    parts = [part.split() for part in LEFT_OUT.split("\n".join(shown.output))]
    at = 0
    for number, part in enumerate(parts):
        found = place_of(part, printed, at)
        assert found >= 0, f"not printed, in this order: {' '.join(part)}"
        assert number > 0 or found == 0, "the beginning is left out without dots"
        at = found + len(part)
    assert parts[-1] == [] or at == len(printed), "the end is left out without dots"


@pytest.mark.parametrize("row", table("| scenario | verdict | exit status | shows |"),
                         ids=lambda r: r[0])
def test_shipped_scenarios_end_as_the_table_says(row: list[str], place: Place) -> None:
    file, verdict, status, _ = row
    done = place.soakbox("check", file)
    assert done.status == int(status), done.err
    assert f"VERDICT: {verdict.upper()} - " in done.out


def test_every_shipped_scenario_is_in_the_table() -> None:
    named = [row[0] for row in table("| scenario | verdict | exit status | shows |")]
    assert sorted(named) == [f"scenarios/{name}" for name in SCENARIOS]


@pytest.mark.parametrize("row", table("| changed | boil margin | shut off at the finish |"),
                         ids=lambda r: r[0])
def test_what_guesses_move_is_as_told(row: list[str], place: Place) -> None:
    changed, margin, finish = row
    words = [] if changed == "nothing" else ["--set", changed.replace('"', "")]
    done = place.soakbox("check", "scenarios/hot_day.toml", *words)
    text = " ".join(done.out.split())
    got = re.search(
        r" boil margin (?:\* )?(\S+ K) left after hot spots .*? stopped at the finish (\S+ K) ",
        text,
    )
    assert got is not None
    assert same(margin, got[1]), f"{margin}, but {got[1]}"
    assert same(finish, got[2]), f"{finish}, but {got[2]}"


def test_the_starter_is_written_and_solved_as_told(place: Place) -> None:
    commands = next(b for b in blocks("sh") if "soakbox new" in b).strip().split("\n")
    assert len(commands) == 2
    for command in commands:
        program, *words = shlex.split(command)
        assert program == "soakbox"
        done = place.soakbox(*words)
        assert done.status == 0, done.err
    assert "VERDICT" in done.out


def test_a_table_shown_in_toml_is_accepted(place: Place) -> None:
    (block,) = blocks("toml")
    ((name, keys),) = tomllib.loads(block).items()
    words = [w for k, v in keys.items() for w in ("--set", f"{name}.{k}={v}")]
    done = place.soakbox("check", "scenarios/base.toml", *words)
    assert done.status in (0, 1), done.err


def test_the_verbs_told_are_the_verbs_there_are() -> None:
    calls = [row[0].split() for row in table("| verb | does |")]
    assert ["soakbox"] in calls  # without a verb: the terminal UI
    assert sorted(words[1] for words in calls if len(words) > 1) == sorted(soakbox.commands)


def test_options_told_exist() -> None:
    known = {o for verb in soakbox.commands.values() for p in verb.params for o in p.opts}
    own = README.split("## What it answers")[1]
    for option in re.findall(r"(?<![\w-])--[a-z]+(?:-[a-z]+)*", own):
        assert option in known, option


def tracked() -> list[Path]:
    """Return every file that git tracks; without git, those of a source archive."""
    if shutil.which("git") and (ROOT / ".git").exists():
        done = subprocess.run(
            ["git", "ls-files", "-z"],
            cwd=ROOT, capture_output=True, check=True,
        )
        files = [ROOT / os.fsdecode(name) for name in done.stdout.split(b"\0") if name]
    else:
        folders = ("thermo", "tui", "tests", "scenarios")
        files = [p for f in folders for p in (ROOT / f).rglob("*") if "__pycache__" not in p.parts]
        files += [ROOT / name for name in DOCUMENTS]
    return [f for f in files if f.is_file()]


def modules() -> set[str]:
    """Return the engine's and the command's modules that git tracks."""
    names = {p.relative_to(ROOT).as_posix() for p in tracked() if p.suffix == ".py"}
    return {n for n in names if n.startswith(("thermo/", "tui/")) and "/__init__" not in n}


def test_the_map_holds_every_module_once_and_no_other() -> None:
    listed = re.findall(r"^- `((?:thermo|tui)/[\w/]+\.py)`: \S", DEVELOPERS, re.MULTILINE)
    assert len(listed) == len(set(listed))
    assert modules() - set(listed) == set(), "modules missing from the map of DEVELOPERS.md"
    gone = [name for name in listed if not (ROOT / name).is_file()]
    assert gone == [], "modules on the map that do not exist"


def test_files_and_names_in_the_guide_exist() -> None:
    tokens = re.findall(r"`([^`\n]+)`", DEVELOPERS)
    for token in tokens:
        if re.fullmatch(r"[\w./-]+/", token):
            assert (ROOT / token).is_dir(), token
        elif re.fullmatch(r"[\w/.-]+\.(?:py|toml|md)", token):
            places = [ROOT / token, ROOT / "thermo" / token]
            assert any(p.is_file() for p in places), token
    for name, file in re.findall(r"`([A-Za-z_]+)` (?:in|of) `(thermo/\w+\.py)`", DEVELOPERS):
        text = (ROOT / file).read_text(encoding="utf-8")
        assert re.search(rf"^(?:def |class )?{name}\b", text, re.MULTILINE), f"{name} in {file}"


def test_commands_of_the_guide_name_files_that_exist() -> None:
    for file in re.findall(r"-m pytest (tests/[\w/]+\.py)", DEVELOPERS):
        assert (ROOT / file).is_file(), file
    for name in re.findall(r"-m (tests\.[\w.]+)", DEVELOPERS):
        assert (ROOT / (name.replace(".", "/") + ".py")).is_file(), name


def anchors(text: str) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in heads}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_internal_links_resolve(name: str) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", DOCUMENTS[name]):
        if re.match(r"https?:", target):
            continue
        file, _, anchor = target.partition("#")
        there = ROOT / (file or name)
        assert there.is_file(), target
        if anchor:
            assert anchor in anchors(there.read_text(encoding="utf-8")), target


def test_the_version_is_in_the_changelog() -> None:
    from thermo import __version__

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == __version__
    assert f"## {__version__}" in CHANGELOG
    assert CHANGELOG.index("## Unreleased") < CHANGELOG.index(f"## {__version__}")


def test_number_of_hazards_in_the_changelog() -> None:
    from thermo.flags import HAZARDS

    told = re.search(r"(\d+) hazards", CHANGELOG)
    assert told is not None
    assert int(told[1]) == len(HAZARDS)


def test_no_file_holds_a_path_of_some_machine() -> None:
    machine = re.compile(
        r"(?<![\w.~$}/-])/(?:home|root|Users|work|tmp|var|opt|mnt|srv|private)/[\w.]"
        r"|\b[A-Za-z]:\\(?:Users|Windows)\b"
    )
    files = tracked()
    assert len(files) > 100
    held = []
    for file in files:
        try:
            text = file.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        held += [
            f"{file.relative_to(ROOT)}:{n}: {line.strip()[:80]}"
            for n, line in enumerate(text.splitlines(), start=1)
            if machine.search(line)
        ]
    assert held == []
