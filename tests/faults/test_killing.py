"""A program killed while it saves leaves the old file or the new one, never a mix."""

from __future__ import annotations

import pytest

from tests.faults.killing import cache_trial, save_trial


@pytest.mark.parametrize("after", [0.0, 0.003, 0.011, 0.02, 0.037])
@pytest.mark.parametrize("trial", [save_trial, cache_trial], ids=["save", "cache"])
def test_killed_at_some_moment(trial, after, tmp_path):
    assert trial(tmp_path, after) == ""
