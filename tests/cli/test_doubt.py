"""``soakbox doubt`` as typed: text, JSON, US units, exit statuses, bad input, an interrupt."""

import json
import os
import re
import signal
import subprocess
import sys
import time

import pytest

from tests.cli.conftest import MAIN, ROOT

FEW = ("--samples", "256")
SI_LEFT = re.compile(r"\d (degC|K|kPa|Pa|L|kg|m|mm|m/s|W|kW|kJ|W/K|kJ/K|L/min)\b")


def test_text_names_chances_drivers_figures_inputs_and_methods(soakbox, shipped):
    got = soakbox("doubt", shipped("hot_day"), *FEW)
    assert got.status == 1
    assert got.err == ""
    for words in ("CHANCE OF A DANGER", "coolant-boil", "driven by engine.heat_share +",
                  "boil margin", "Heywood", "Sobol", "Spearman", "not modelled", "Student",
                  "every one has a verdict", "can kill"):
        assert words in got.out
    assert all(len(line) <= 80 for line in got.out.split("\n"))


@pytest.mark.long
def test_us_units_leave_no_si(soakbox, shipped):
    for name in ("hot_day", "cold_paddock"):
        got = soakbox("doubt", shipped(name), *FEW, "--units", "us")
        assert not SI_LEFT.search(got.out), SI_LEFT.search(got.out)
        long = [line for line in got.out.split("\n") if len(line) > 80]
        assert not long


def test_json_is_the_same_for_the_same_seed(soakbox, shipped):
    first = soakbox("doubt", shipped("base"), *FEW, "--json", "--seed", "5")
    assert first.status == 0
    told = json.loads(first.out)
    assert told["seed"] == 5
    assert told["any_danger"]["least"] == 0.0
    assert soakbox("doubt", shipped("base"), *FEW, "--json", "--seed", "5").out == first.out


@pytest.mark.long
def test_the_exit_status_is_by_the_chance_accepted(soakbox, shipped):
    for accepted, status in (("0.5%", 1), ("50%", 0)):
        got = soakbox("doubt", shipped("hot_day"), *FEW, "--json", "--chance", accepted)
        chance = json.loads(got.out)["any_danger"]["least"]
        assert got.status == status
        assert (100.0 * chance > float(accepted[:-1])) == bool(status)


def test_a_range_can_be_set_for_one_run(soakbox, shipped):
    keys = ('doubt."engine.heat_share".low=0.7', 'doubt."engine.heat_share".high=0.8')
    told = json.loads(soakbox("doubt", shipped("base"), *FEW, "--json",
                              *(part for key in keys for part in ("--set", key))).out)
    (share,) = (r for r in told["inputs"] if r["keys"] == ["engine.heat_share"])
    assert (share["low"], share["high"], share["source"]) == (0.7, 0.8, "[doubt]")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--samples", "10"), "256"),
        (("--samples", "many"), "not a valid integer"),
        (("--seed", "-1"), "-1"),
        (("--chance", "90%"), "from 0.1% to 50% is expected"),
        (("--chance", "often"), "often"),
        (("--set", 'doubt."tank.volum".low=1', "--set", 'doubt."tank.volum".high=2'),
         "Did you mean tank.volume?"),
        (("--set", 'doubt."tank.volume".low="30 L"'), "give low and high"),
    ],
)
def test_bad_input_is_refused_in_words(soakbox, shipped, options, words):
    got = soakbox("doubt", shipped("base"), *options)
    assert got.status == 2
    assert words in got.err
    assert "Traceback" not in got.err
    assert got.out == ""


@pytest.mark.skipif(os.name == "nt", reason="process groups of POSIX")
@pytest.mark.parametrize("after", [0.9, 2.5])
def test_an_interrupt_ends_it_quietly(shipped, after):
    running = subprocess.Popen(
        [sys.executable, "-c", MAIN, "doubt", str(shipped("long_course")), "--samples", "131072"],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a job may ignore it
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    time.sleep(after)
    os.killpg(running.pid, signal.SIGINT)
    try:
        out, err = running.communicate(timeout=60)
    except subprocess.TimeoutExpired:
        os.killpg(running.pid, signal.SIGKILL)
        raise
    assert running.returncode == 130
    assert "Traceback" not in err
    assert out == ""
