"""A program killed while it saves leaves the old file or the new one, never a mix."""

from __future__ import annotations

import pytest

from tests.faults.killing import build_trial, cache_trial, save_trial


@pytest.mark.parametrize("after", [0.0, 0.003, 0.011, 0.02, 0.037])
@pytest.mark.parametrize("trial", [save_trial, cache_trial], ids=["save", "cache"])
def test_killed_at_some_moment(trial, after, tmp_path):
    assert trial(tmp_path, after) == ""


@pytest.mark.parametrize("after", [0.1, 0.7])
def test_a_first_start_killed_while_it_builds_spoils_no_later_one(after, tmp_path):
    assert build_trial(tmp_path, after) == ""
