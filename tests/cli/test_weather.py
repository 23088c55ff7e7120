"""``soakbox weather`` as typed: text, page, files, and what is refused."""

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from thermo.weather import air_axis, tank_axis, weather_table
from tui.page_weather import HEIGHT, LARGEST, SMALLEST, _height, _size, weather_html

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
SMALL = ("--air", "30degC:40degC:10", "--tank", "30degC:34degC:4")


@pytest.fixture
def typed(soakbox, monkeypatch, tmp_path):
    """Run the command in an empty folder; return its status and what it printed."""
    monkeypatch.chdir(tmp_path)

    def call(*words):
        ran = soakbox(*words)
        return ran.status, ran.out, ran.err

    return call


def test_a_cell_is_what_check_tells(typed):
    file = str(SCENARIOS / "hot_day.toml")
    status, out, err = typed("weather", file, *SMALL, "--json")
    assert (status, err) == (0, "")
    cell = next(c for c in json.loads(out)["cells"]
                if (c["air_temperature_degC"], c["tank_start_degC"]) == (40.0, 30.0))
    _, out, _ = typed("check", file, "--json", "--set", "site.air_temperature=40 degC",
                        "--set", "tank.start_temperature=30 degC")
    told = json.loads(out)
    assert (cell["verdict"], cell["binding"]) == (told["verdict"], told["binding"])
    assert cell["boil_margin_K"] == pytest.approx(told["cooling"]["boil_margin_K"], abs=0.05)
    flag = next(f for f in told["flags"] if f["name"] == cell["binding"])
    assert cell["value"] == pytest.approx(flag["value"], abs=0.05)
    assert (cell["limit"], cell["unit"]) == (flag["limit"], flag["unit"])


@pytest.mark.parametrize(("name", "more"), [
    ("overreach", ("--units", "us")), ("cold_paddock", ("--tank", "-10degC:25degC:5")),
    ("ice", ("--queue", "0min:40min:10"))])
def test_the_text_fits_and_has_one_system_of_units(typed, name, more):
    status, out, err = typed("weather", str(SCENARIOS / f"{name}.toml"), *more)
    assert status == (1 if name == "overreach" else 0)
    assert err == ""
    assert max(map(len, out.splitlines())) <= 80
    assert "Pressurised hot water can kill" in out
    if "us" in more:
        assert not re.search(r"\d (?:K|degC|C|kPa|Pa|MPa|L|mm|kg|m/s)\b", out)


class Reader(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.links, self.open = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [v for k, v in attrs if k in ("src", "href")]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_page_needs_nothing_else(typed, tmp_path):
    status, out, _ = typed("weather", str(SCENARIOS / "hot_day.toml"), *SMALL, "--out", "p.html")
    assert status == 0
    page = (tmp_path / "p.html").read_text(encoding="utf-8")
    reader = Reader()
    reader.feed(page)
    assert reader.open == []
    assert reader.links == []
    assert not {"script", "link", "img", "iframe"} & set(reader.tags)
    assert "url(" not in page
    assert page.count("<td class=") == 4
    digest = re.search(r"scenario ([0-9a-f]{12})", out)
    assert digest is not None
    for words in ("Pelican Flat, the long course at noon", digest[1], "CAUTION", "Date:",
                  "How to read it", "Taken for granted", "Proof-test vessels"):
        assert words in page, words


def test_hostile_words_do_not_reach_the_page(scenario_with):
    scenario = scenario_with(
        "base", edits=[("Pelican Flat, a comfortable pass", "<script>alert(1)</script> &")])
    table = weather_table(
        scenario, airs=air_axis("20degC:20degC:5"), columns=tank_axis("20degC:20degC:5"))
    page = weather_html(table)
    assert "<script>" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize("system", ["si", "us"])
def test_the_type_is_as_large_as_a_sheet_allows(scenario_with, system):
    small, large = (
        weather_table(scenario_with("base"), airs=air_axis(a), columns=tank_axis(t))
        for a, t in (("20degC:25degC:5", "15degC:20degC:5"), ("5degC:60degC:5", "15degC:29degC:2"))
    )
    assert LARGEST >= _size(small, system) > _size(large, system) > SMALLEST
    for table in (small, large):
        assert _height(table, system, _size(table, system)) <= HEIGHT


def test_files_by_their_ending(typed, tmp_path):
    file = str(SCENARIOS / "base.toml")
    _, text, _ = typed("weather", file, *SMALL, "--out", "t.txt")
    assert (tmp_path / "t.txt").read_text(encoding="utf-8") == text
    typed("weather", file, *SMALL, "--out", "t.csv")
    rows = (tmp_path / "t.csv").read_text(encoding="utf-8").splitlines()
    assert rows[0].startswith("air_temperature_degC,tank_start_degC,verdict,binding,")
    assert len(rows) == 5
    typed("weather", file, *SMALL, "--out", "t.json")
    assert json.loads((tmp_path / "t.json").read_text(encoding="utf-8"))["schema"] == 1


@pytest.mark.parametrize(("words", "told"), [
    (("--out", "page.docx"), ".html, .txt, .csv, .json"),
    (("--out", "-"), "name of a file"),
    (("--queue", "0min:10min:5"), "no leg of kind 'queue'"),
    (("--queue", "0min:10min:5", "--tank", "15degC:20degC:5"), "not both"),
    (("--air", "15:20degC:5"), "unit is missing"),
    (("--air", "15degC:20degC"), "LO:HI:STEP"),
    (("--tank", "15degC:200degC:5"), "from -30 degC to 99 degC"),
    (("--air", "15degC:45degC:0.1"), "at most 12"),
])
def test_what_is_refused(typed, words, told):
    status, out, err = typed("weather", str(SCENARIOS / "base.toml"), *words)
    assert status == 2
    assert out == ""
    assert told in " ".join(err.split())


def test_the_scenario_is_never_written_over(typed, tmp_path):
    text = (SCENARIOS / "base.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.txt").write_text(text, encoding="utf-8")
    status, _, err = typed("weather", "mine.txt", "--out", "mine.txt")
    assert status == 2
    assert "would write over it" in err
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == text
