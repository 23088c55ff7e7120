"""Samples, chances, intervals and drivers against closed forms of known distributions."""

import math

import numpy as np
import pytest
from scipy import stats

from thermo.doubt_chances import (
    BINOMIAL,
    STUDENT,
    chance_of,
    drivers_of,
    interval,
    percentiles,
    rank_correlation,
)
from thermo.doubt_ranges import Range
from thermo.doubt_sampling import (
    REPLICATES,
    cut_off,
    draw,
    normal_of,
    quantile,
    sobol,
    whole_samples,
)
from thermo.errors import RangeError

SIZE = 4096
WIDE = (-1e9, 1e9)


def between(low, high, shape="uniform", mode=None, bounds=WIDE):
    middle = 0.5 * (low + high) if mode is None else mode
    return Range(("x",), "number", middle, low, high, middle, shape, bounds, "test")


def normals(seed, count=2):
    return stats.norm.ppf(sobol(count, SIZE, seed))


def test_samples_are_taken_up_to_a_power_of_two():
    assert [whole_samples(n) for n in (256, 257, 1000, 4096, 131072)] == [
        256, 512, 1024, 4096, 131072]
    for wrong in (0, 255, 131073):
        with pytest.raises(RangeError, match="number of samples"):
            whole_samples(wrong)


def test_each_scramble_has_one_point_in_each_equal_part_of_every_input():
    """What makes the points evenly spread: a digital net is stratified in each dimension."""
    points = sobol(5, SIZE, 7).reshape(REPLICATES, SIZE // REPLICATES, 5)
    parts = np.sort((points * (SIZE // REPLICATES)).astype(int), axis=1)
    assert np.all(parts == np.arange(SIZE // REPLICATES)[None, :, None])


def test_scrambles_differ_and_seeds_repeat():
    points = sobol(3, 512, 1)
    assert not np.array_equal(points[:32], points[32:64])
    assert np.array_equal(points, sobol(3, 512, 1))
    assert not np.array_equal(points, sobol(3, 512, 2))


@pytest.mark.parametrize("shape", ["uniform", "triangular", "normal"])
@pytest.mark.parametrize("share", [1e-6, 0.05, 0.3, 0.5, 0.95, 1 - 1e-6])
def test_quantiles_are_the_inverse_of_the_closed_form(shape, share):
    low, high, mode = 2.0, 5.0, 3.0
    x = float(quantile(between(low, high, shape, mode), share))
    if shape == "uniform":
        back = (x - low) / (high - low)
    elif shape == "triangular":
        back = ((x - low) ** 2 / (3.0 * 1.0) if x < mode else 1.0 - (high - x) ** 2 / (3.0 * 2.0))
    else:
        back = 0.5 * math.erfc(-(x - 3.5) / (3.0 / (2 * 1.6448536269514722)) / math.sqrt(2.0))
    assert back == pytest.approx(share, rel=1e-6)


@pytest.mark.parametrize("mode", [2.0, 5.0])
def test_a_triangle_may_have_its_likeliest_at_an_end(mode):
    x = quantile(between(2.0, 5.0, "triangular", mode), np.array([0.0, 0.5, 1.0]))
    assert (x[0], x[2]) == (2.0, 5.0)
    assert x[1] == pytest.approx(2.0 + 3.0 * (1 - math.sqrt(0.5) if mode == 2.0
                                             else math.sqrt(0.5)))


def test_a_normal_is_cut_off_where_the_input_ends():
    r = between(0.9, 1.0, "normal", bounds=(0.3, 1.0))
    middle, spread = normal_of(r)
    x = quantile(r, np.linspace(1e-9, 1 - 1e-9, 10001))
    assert x.max() <= 1.0
    assert cut_off(r) == pytest.approx(0.05, rel=1e-6)
    below = np.mean(x < middle)
    assert below == pytest.approx(0.5 / 0.95, abs=1e-3)
    assert spread == pytest.approx(0.05 / 1.6448536269514722)
    assert cut_off(between(0.9, 1.0)) == 0.0


def test_inputs_that_share_a_range_share_each_draw_and_steps_are_equally_likely():
    r = Range(("a", "b"), "number", 0.5, 0.0, 1.0, 0.5, "uniform", WIDE, "test")
    draws = draw([r], 1024, 0, {"a": 4})
    assert np.array_equal(draws.columns["a"], draws.columns["b"])
    values, counts = np.unique(draws.columns["a"], return_counts=True)
    assert values == pytest.approx([0.125, 0.375, 0.625, 0.875])
    assert set(counts) == {256}


@pytest.mark.parametrize("chance", [0.3, 0.05, 0.001])
def test_the_chance_that_two_normals_together_pass_a_limit(chance):
    limit = math.sqrt(1.0 + 4.0) * stats.norm.ppf(1.0 - chance)
    z = normals(11)
    found = chance_of(z[:, 0] + 2.0 * z[:, 1] > limit, np.zeros(SIZE, dtype=bool), REPLICATES)
    # 2.2 half-widths of a 95 % Student interval: missed by chance once in 5,000 seeds.
    assert abs(found.least - chance) < 2.2 * 0.5 * (found.high - found.low)
    assert found.least == found.most
    assert found.method == (BINOMIAL if chance == 0.001 else STUDENT)


@pytest.mark.parametrize(
    ("chance", "least"), [(0.5, 0.92), (0.16, 0.92), (0.02, 0.92), (0.004, 0.95), (0.0004, 0.95)]
)
def test_intervals_hold_the_closed_form_as_often_as_they_say(chance, least):
    """200 seeds: a share of 0.95 is found within 0.03 (two standard errors); no seed is chosen."""
    limit = math.sqrt(1.25) * stats.norm.ppf(1.0 - chance)
    held = 0
    for seed in range(200):
        z = normals(seed)
        low, high, _ = interval(z[:, 0] + 0.5 * z[:, 1] > limit, REPLICATES)
        held += low <= chance <= high
    assert held / 200 >= least


def test_scrambled_points_tell_a_chance_more_closely_than_random_ones():
    """For a sum of two inputs the scrambles scatter less than the same number of coin tosses."""
    hits = normals(5).sum(axis=1) > 0.5
    low, high, method = interval(hits, REPLICATES)
    p = hits.mean()
    assert method == STUDENT
    assert high - low < 2 * 1.96 * math.sqrt(p * (1 - p) / SIZE)


@pytest.mark.parametrize("count", [0, 1, 29])
def test_few_crossings_take_the_exact_binomial_interval(count):
    hits = np.zeros(SIZE, dtype=bool)
    hits[:count] = True
    low, high, method = interval(hits, REPLICATES)
    want = stats.binomtest(count, SIZE).proportion_ci(0.95, "exact")
    assert method == BINOMIAL
    assert (low, high) == (pytest.approx(want.low), pytest.approx(want.high))
    mirrored = interval(~hits, REPLICATES)
    assert mirrored[:2] == (pytest.approx(1 - high), pytest.approx(1 - low))


def test_scrambles_that_agree_to_the_last_point_still_leave_doubt():
    hits = np.tile(np.arange(256) < 128, REPLICATES)
    low, high, _ = interval(hits, REPLICATES)
    assert (low, high) == (pytest.approx(0.5 - 3 / SIZE), pytest.approx(0.5 + 3 / SIZE))


def test_failed_variants_are_counted_for_and_against():
    hits, failed = np.zeros(SIZE, dtype=bool), np.zeros(SIZE, dtype=bool)
    hits[::4], failed[1::8] = True, True
    found = chance_of(hits, failed, REPLICATES)
    assert found.least == 0.25
    assert found.most == 0.375
    assert found.low < 0.25 < 0.375 < found.high
    assert not found.certain


@pytest.mark.parametrize("rho", [-0.9, 0.2, 0.6, 0.95])
def test_rank_correlation_of_a_linear_gaussian_pair(rho):
    """Spearman's rho of a bivariate normal is 6/pi asin(rho/2) (Pearson 1907)."""
    z = normals(3)
    y = rho * z[:, 0] + math.sqrt(1.0 - rho * rho) * z[:, 1]
    assert rank_correlation(z[:, 0], y) == pytest.approx(
        6.0 / math.pi * math.asin(rho / 2.0), abs=0.01)


def test_rank_correlation_shares_ranks_among_ties_as_the_reference_does():
    rng = np.random.default_rng(1)
    a, b = rng.integers(0, 5, 300).astype(float), rng.integers(0, 9, 300) + 0.0
    assert rank_correlation(a, a + b) == pytest.approx(stats.spearmanr(a, a + b).statistic)
    assert math.isnan(rank_correlation(a, np.ones(300)))


def test_drivers_are_ranked_by_their_share_and_noise_is_left_out():
    z = normals(4, 5)
    y = 3.0 * z[:, 2] - 2.0 * z[:, 0] + 0.5 * z[:, 4]
    found = drivers_of({f"x{i}": z[:, i] for i in range(5)}, y)
    assert [d.key for d in found] == ["x2", "x0", "x4"]
    whole = math.sqrt(9.0 + 4.0 + 0.25)
    for d, weight in zip(found, (3.0, -2.0, 0.5), strict=True):
        want = 6.0 / math.pi * math.asin(weight / whole / 2.0)
        assert d.correlation == pytest.approx(want, abs=0.01)
        assert d.low < want < d.high


def test_noise_is_named_at_most_as_often_as_said():
    """Pure noise: a list names something in at most 5 % of cases, 0.05 + 2 standard errors."""
    rng = np.random.default_rng(0)
    named = sum(
        bool(drivers_of({f"x{i}": rng.random(500) for i in range(10)}, rng.random(500)))
        for _ in range(200)
    )
    assert named / 200 <= 0.08


def test_failed_variants_are_in_no_correlation_and_no_percentile():
    x = np.linspace(0.0, 1.0, 1000)
    y = np.where(x > 0.9, np.nan, -x)
    (driver,) = drivers_of({"x": x}, y)
    assert driver.correlation == pytest.approx(-1.0)
    assert percentiles(y, (0.0, 1.0)) == (pytest.approx(-0.9, abs=2e-3), 0.0)
    assert all(math.isnan(v) for v in percentiles(np.full(5, np.nan), (0.1, 0.9)))
    assert percentiles(np.array([1.0, math.inf, 2.0]), (0.5, 0.95)) == (2.0, math.inf)
