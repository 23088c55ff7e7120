"""Stock sizes of tube: the table, the next size up, and a user's own file."""

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.errors import InfeasibleError, RangeError, ScenarioError
from thermo.stock import STOCK, StockTube, next_stock_size, read_stock, stock_as_toml


def test_a_known_tube() -> None:
    tube = next(t for t in STOCK if t.name == "round 2 x 0.065 in")
    assert tube.bore == pytest.approx(0.047498)  # 1.870 in
    assert tube.section.area == pytest.approx(math.pi / 4.0 * 0.047498**2)
    square = next(t for t in STOCK if t.name == "square 60 x 2 mm")
    assert square.section.area == pytest.approx(0.056**2)


def test_names_are_unique() -> None:
    assert len({t.name for t in STOCK}) == len(STOCK)


@given(st.floats(0.01, 0.1), st.sampled_from(["round", "square"]))
def test_the_next_size_is_the_smallest_that_fits(bore: float, shape: str) -> None:
    chosen = next_stock_size(bore, shape)
    assert chosen.shape == shape
    assert chosen.bore >= bore * (1.0 - 1e-9)
    assert not [t for t in STOCK if t.shape == shape and bore <= t.bore < chosen.bore]


def test_a_size_fits_itself() -> None:
    for tube in STOCK:
        assert next_stock_size(tube.bore, tube.shape).bore == pytest.approx(tube.bore)


def test_too_large_says_the_largest() -> None:
    with pytest.raises(InfeasibleError, match=r"largest bore is 150\.0 mm") as caught:
        next_stock_size(0.3)
    assert caught.value.best == pytest.approx(0.150)
    with pytest.raises(InfeasibleError, match="none of that shape"):
        next_stock_size(0.02, "square", tuple(t for t in STOCK if t.shape == "round"))


def test_the_table_survives_a_file(tmp_path: Path) -> None:
    file = tmp_path / "stock.toml"
    file.write_text(stock_as_toml(), encoding="utf-8")
    again = read_stock(file)
    assert [t.name for t in again] == [t.name for t in STOCK]
    for a, b in zip(again, STOCK, strict=True):
        assert a.outside == pytest.approx(b.outside, rel=1e-9)
        assert a.wall == pytest.approx(b.wall, rel=1e-9)


def test_a_file_in_the_users_units(tmp_path: Path) -> None:
    file = tmp_path / "stock.toml"
    file.write_text('[[tube]]\nshape = "round"\noutside = "2 1/2 in"\nwall = "1.5 mm"\n')
    (tube,) = read_stock(file)
    assert tube.bore == pytest.approx(0.0635 - 0.003)
    assert tube.name == "round 2 1/2 in x 1.5 mm"


def test_every_problem_of_a_file_is_reported_with_its_line(tmp_path: Path) -> None:
    file = tmp_path / "stock.toml"
    file.write_text(
        '[[tube]]\nshape = "oval"\noutside = "2 in"\nwal = "1 mm"\n\n'
        '[[tube]]\nshape = "round"\noutside = "20 mm"\nwall = "15 mm"\n'
    )
    with pytest.raises(ScenarioError, match=r"tube\[0\]\.shape") as caught:
        read_stock(file)
    problems = caught.value.problems
    assert {p.key for p in problems} == {
        "tube[0].shape", "tube[0].wal", "tube[0].wall", "tube[1]",
    }
    assert {p.line for p in problems} == {1, 6}
    assert next(p.suggestion for p in problems if p.key == "tube[0].wal") == "wall"


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"tube = 3\n", r"\[\[tube\]\]"),
        (b"[[pipe]]\nshape = 'round'\n", r"\[\[tube\]\]"),
        (b"tube = [1, 2]\n", "expected a table"),
        (b"[[tube]\n", "stock.toml"),
        (b"\xff\xfe", "UTF-8"),
    ],
)
def test_a_file_that_is_no_table_of_sizes(tmp_path: Path, content: bytes, match: str) -> None:
    file = tmp_path / "stock.toml"
    file.write_bytes(content)
    with pytest.raises(ScenarioError, match=match):
        read_stock(file)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="cannot be read"):
        read_stock(tmp_path / "none.toml")


def test_impossible_tubes() -> None:
    with pytest.raises(RangeError, match="wall of a tube"):
        StockTube("round", 0.02, 0.01, "solid")
    with pytest.raises(RangeError, match="outside size"):
        StockTube("round", 2.0, 0.01, "culvert")
    with pytest.raises(ValueError, match="not 'oval'"):
        StockTube("oval", 0.02, 0.001, "oval")
