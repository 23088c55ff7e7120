"""A program killed while it saves leaves the old file or the new one whole, and no process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from tests.faults.command import ROOT, surroundings
from tests.faults.killing import build_trial, cache_trial, save_trial

HELPED = """
import time
from thermo.ensemble_workers import Workers
workers = Workers(2)
workers.ready()
print(*(process.pid for process in workers._processes), flush=True)
time.sleep(600)
"""


@pytest.mark.parametrize("after", [0.0, 0.011, 0.037])
@pytest.mark.parametrize("trial", [save_trial, cache_trial], ids=["save", "cache"])
def test_killed_at_some_moment(trial, after, tmp_path):
    assert trial(tmp_path, after) == ""


def test_a_first_start_killed_while_it_builds_spoils_no_later_one(tmp_path):
    assert build_trial(tmp_path, 0.7) == ""


def test_the_processes_of_a_killed_program_end_with_it():
    running = subprocess.Popen([sys.executable, "-c", HELPED], stdout=subprocess.PIPE, cwd=ROOT,
                               env=surroundings(), text=True)
    processes = [int(number) for number in running.stdout.readline().split()]
    assert len(processes) == 2
    running.send_signal(signal.SIGKILL)
    try:
        running.communicate(timeout=60)  # which lasts until the last has let go of the output
    except subprocess.TimeoutExpired:
        for process in processes:
            os.kill(process, signal.SIGKILL)
        raise
