"""Streams that are closed, full or left, and terminals that show little; other locales.

Exit status 1 says danger, so no fault of a stream may end with it.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.faults.command import MAIN, ROOT, command, surroundings

BASE, OVERREACH = (ROOT / "scenarios" / f"{name}.toml" for name in ("base", "overreach"))
QUICK = (("check", BASE), ("schema",), ("--help",), ("working", BASE))
ASCII = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"}


def redirected(words, *argv):
    """Run the command from a shell with redirections, as a user would type them."""
    line = f'"$0" -c "$1" "${{@:2}}" {words}'
    return subprocess.run(["bash", "-c", line, sys.executable, MAIN, *map(str, argv)],
                          capture_output=True, encoding="utf-8", timeout=120, check=False,
                          env=surroundings(), cwd=ROOT)


@pytest.mark.parametrize("argv", QUICK, ids=lambda argv: str(argv[0]))
def test_a_reader_that_stops_after_one_line_is_no_fault(argv):
    ran = redirected("| head -n 1; exit ${PIPESTATUS[0]}", *argv)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert len(ran.stdout.splitlines()) == 1


def test_danger_is_told_by_the_status_when_nobody_reads_on():
    ran = redirected("| true; exit ${PIPESTATUS[0]}", "check", OVERREACH)
    assert (ran.returncode, ran.stdout, ran.stderr) == (1, "", "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has /dev/full")
@pytest.mark.parametrize("argv", [*QUICK, ("selftest",)], ids=lambda argv: str(argv[0]))
def test_a_full_disk_under_the_output_is_told_in_a_line(argv):
    ran = redirected(">/dev/full", *argv)
    assert ran.returncode == 2
    assert re.fullmatch(r"soakbox: (cannot write the result: )?No space left on device\n",
                        ran.stderr)


ALL_CLOSED = ">&- 2>&- <&-"


@pytest.mark.parametrize(("argv", "status", "closed"), [
    (("check", OVERREACH), 1, ">&-"), (("check", BASE), 0, "2>&- <&-"),
    (("selftest",), 0, ALL_CLOSED), ((), 2, ALL_CLOSED),
    (("check", "there is no such file"), 2, ">&-"), (("open", BASE), 2, "<&-")])
def test_a_closed_stream_is_as_if_led_to_nowhere(argv, status, closed):
    nowhere = closed.replace("<&-", "</dev/null").replace("&-", "/dev/null")
    ran, same = (redirected(words, *argv) for words in (closed, nowhere))
    assert ran.returncode == status, ran.stderr
    assert figures_off(ran) == figures_off(same)
    assert "Traceback" not in ran.stderr


def figures_off(ran):
    """Return the output without what takes its time, and the two names of nowhere."""
    return re.sub(r"\(\d+\.\d s\)|\s+", " ", ran.stdout + ran.stderr)


@pytest.mark.parametrize("full", ["2>/dev/full", "2>&-"])
def test_a_message_that_cannot_be_told_leaves_the_status(full, tmp_path):
    assert redirected(full, "check", "there is no such file").returncode == 2
    assert redirected(full, "check").returncode == 2
    assert redirected(full, "new", tmp_path / "car.toml").returncode == 0
    assert (tmp_path / "car.toml").read_text(encoding="utf-8").startswith("schema = 1")


def test_a_fault_of_the_program_itself_is_not_taken_for_danger(tmp_path):
    code = "import tui.text_check as t\ndef broken(*a): raise LookupError('within')\n" \
           "t.check_text = broken\n" + MAIN
    ran = command("check", BASE, code=code, env=surroundings())
    assert (ran.returncode, ran.stdout) == (3, "")
    assert "Traceback" in ran.stderr
    assert "LookupError: within" in ran.stderr


WIDE = (("check", "{}"), ("check", "{}", "--units", "us"), ("stock",),
        ("working", "{}", "boil_margin_K"), ("compare", "{}", BASE), ("check", "{}x"),
        ("map", "{}", "--x", "tank.volume=40 L:60 L:2", "--y", "tank.fill=0.8:0.9:2"))


@pytest.mark.parametrize("argv", WIDE, ids=lambda argv: "-".join(map(str, argv[:1] + argv[2:3])))
def test_without_utf_8_everything_is_told_in_ascii(argv, tmp_path):
    """A title and a file name outside ASCII, and our own signs, come out as something readable."""
    file = tmp_path / "ré.toml"
    text = BASE.read_text(encoding="utf-8")
    file.write_text(re.sub(r'(?m)^title = ".*"$', 'title = "Zölle – 5 °C"', text), encoding="utf-8")
    ran = command(*(str(word).format(file) for word in argv), env=surroundings(**ASCII))
    assert ran.returncode == (2 if argv[1:] == ("{}x",) else 0), ran.stderr
    assert (ran.stdout + ran.stderr).isascii()
    assert "Traceback" not in ran.stderr
    assert (ran.stderr == "") is (ran.returncode == 0)


@pytest.mark.long
def test_a_poor_terminal_changes_no_word_of_a_verb():
    terms = ("xterm-256color", "dumb", "no-such-terminal")
    told = {command("check", BASE, env=surroundings(TERM=term)).stdout for term in terms}
    assert len(told) == 1
    assert "\x1b" not in told.pop()


@pytest.fixture(scope="module")
def comma(tmp_path_factory):
    """Return variables of a locale with a decimal comma, made here if the system has none."""
    told = subprocess.run(["locale", "-a"], capture_output=True, encoding="utf-8", check=False)
    for name in told.stdout.split():
        if re.fullmatch(r"(de_DE|fr_FR|es_ES|it_IT|nl_NL)\.utf-?8", name, re.IGNORECASE):
            return {"LC_ALL": name}
    if shutil.which("localedef") is None:
        pytest.skip("no locale with a decimal comma, and none can be made")
    folder = tmp_path_factory.mktemp("locale")
    subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", str(folder / "de_DE.UTF-8")],
                   capture_output=True, check=False)
    if not (folder / "de_DE.UTF-8").is_dir():
        pytest.skip("no locale with a decimal comma, and none can be made")
    return {"LC_ALL": "de_DE.UTF-8", "LOCPATH": str(folder)}


SWITCHED = "import locale; locale.setlocale(locale.LC_ALL, '')\n" \
           "assert locale.localeconv()['decimal_point'] == ',', locale.localeconv()\n"


@pytest.mark.parametrize("argv", [
    ("check", BASE, "--json", "--set", "tank.volume=46.5 L"), ("working", BASE, "boil_margin_K"),
    ("report", BASE, "--without",
     "sizes,weather,doubt,assumptions,working", "--out", "{}.html"),
    ("check", BASE, "--series", "{}.csv")],
    ids=["json", "working", "report", "series"])
def test_a_decimal_comma_of_the_locale_gets_into_no_output(argv, comma, tmp_path):
    """Even where a library has switched the whole process to the user's locale."""
    told = []
    for name, code, more in (("plain", MAIN, {"LC_ALL": "C"}), ("comma", SWITCHED + MAIN, comma)):
        (tmp_path / name).mkdir()
        out = tmp_path / name / "out"
        ran = command(*(str(word).format(out) for word in argv), code=code,
                      env=surroundings(PYTHONUTF8="1", **more))
        assert ran.returncode == 0, ran.stderr
        files = [path.read_text(encoding="utf-8") for path in out.parent.iterdir()]
        told.append([ran.stdout, *files])
    assert told[0] == told[1]
