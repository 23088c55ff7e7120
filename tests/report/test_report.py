"""The report: nothing from outside, the same content in each kind of file, nothing let through."""

from __future__ import annotations

import html.parser
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tui.report import markdown
from tui.report.build import KEPT, OPTIONAL, SECTIONS
from tui.report.document import Figure, signs
from tui.report.html import html_of
from tui.report.markdown import markdown_of
from tui.report.pdf import pdf_of
from tui.wording import amount

HOSTILE = '</title><script>alert(1)</script>&<img src=x onerror="b()"> 水\u202e| * _x_ `y` [a](b)'
SPACELESS = "W" * 120
OUTSIDE = re.compile(r"url\(|@import|expression\(|https?:|//|javascript:", re.IGNORECASE)
LINKS = {"src", "href", "xlink:href", "srcset", "data", "action", "poster", "background"}


class Page(html.parser.HTMLParser):
    """Takes down tags, attributes, styles and words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.styles: list[str] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in ("meta", "col", "path", "rect", "br"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        (self.styles if self.open[-1:] == ["style"] else self.words).append(data)


@pytest.fixture(scope="session")
def page(whole_report):
    return Page(html_of(whole_report))


def told(page: Page) -> str:
    return " ".join(" ".join(page.words).split())


def test_the_page_refers_to_nothing_outside(page):
    assert page.open == []
    for name, value in page.attributes:
        if name in LINKS:
            assert value.startswith("#"), (name, value)
        assert not name.startswith("on"), (name, value)
        assert not OUTSIDE.search(value), (name, value)
    assert page.styles
    assert [text for text in page.styles if OUTSIDE.search(text)] == []
    assert not {"script", "link", "img", "iframe", "object", "base", "image"} & set(page.tags)


def test_links_within_the_page_lead_somewhere(page):
    ids = {value for name, value in page.attributes if name == "id"}
    links = {value[1:] for name, value in page.attributes if name == "href"}
    assert links == ids == set(SECTIONS)


def test_chromium_opens_the_page_and_asks_for_nothing(whole_report, tmp_path):
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    if chromium is None:
        pytest.skip("no Chromium here; the page is checked by its text in other tests")
    page = tmp_path / "report.html"
    page.write_text(html_of(whole_report), encoding="utf-8")
    log = tmp_path / "net.json"
    done = subprocess.run(
        [chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         f"--user-data-dir={tmp_path / 'profile'}", "--enable-logging=stderr", "--v=0",
         f"--log-net-log={log}", "--dump-dom", page.as_uri()],
        capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0
    assert "</html>" in done.stdout
    assert [line for line in done.stderr.splitlines() if "CONSOLE" in line] == []
    asked = set(re.findall(r'"url":"(\w+:[^"]*)"', log.read_text(encoding="utf-8")))
    ours = {url for url in asked if "report" in url or "file:" in url}
    assert [url for url in ours if url != page.as_uri()] == []


def test_what_a_report_holds(page, whole_report):
    text = told(page)
    for words in ("VERDICT: CLEAR", "what binds", "Looked at and found clear", "Build sheet",
                  "Hot-weather table", "Chance of a danger", "By hand 1.", "Source:",
                  "defaults standing", "Pressurised hot water can kill", "Soakbox 0.1.0"):
        assert words in text, words
    names = {figure.name for figure in whole_report.figures}
    assert names >= {"side", "temperatures", "heat", "tank", "duct", "net-speed", "tank-run"}


def test_inputs_are_as_typed_and_defaults_are_marked(whole_report):
    (section,) = (s for s in whole_report.sections if s.name == "inputs")
    rows = {row[3]: row for row in section.blocks[-1].rows if isinstance(row, tuple)}
    assert rows["tank.volume"][1:3] == ("38 L", "")
    assert rows["loop.voltage"][1:3] == ("12 V", "default")
    assert rows["leg[0].start_speed"][1] == "13 m/s"


def test_three_kinds_of_file_have_the_same_sections_in_the_same_order(whole_report, tmp_path):
    titles = [s.title for s in whole_report.sections]
    text, drawings = markdown_of(whole_report, "drawings")
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == titles
    assert [name for name, _ in drawings] == [f"drawings/{f.name}.svg"
                                              for f in whole_report.figures]
    for name, _ in drawings:
        assert f"({name})" in text
    heads = re.findall(r"<h2>(.+?)</h2>", html_of(whole_report))
    assert heads == titles
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext here to read the PDF with")
    path = tmp_path / "report.pdf"
    path.write_bytes(pdf_of(whole_report))
    said = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True,
                          check=True).stdout
    places = [re.search(rf"^\f?{re.escape(t)}$", said, re.MULTILINE) for t in titles]
    assert None not in places
    assert [p.start() for p in places] == sorted(p.start() for p in places)
    pages = said.rstrip("\f").split("\f")
    for number, sheet in enumerate(pages, start=1):
        assert whole_report.foot.split()[-1] in sheet
        assert f"{number} / {len(pages)}" in sheet
    assert "°C" in said


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_is_for_its_paper_and_the_same_each_time(report_with, paper):
    report = report_with("hot_day", without=frozenset(OPTIONAL))
    made = pdf_of(report, paper)
    assert made.startswith(b"%PDF-")
    box = re.search(rb"/MediaBox \[ 0 0 (\S+) (\S+) \]", made)
    assert box is not None
    size = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}[paper]
    assert tuple(float(x) for x in box.groups()) == pytest.approx(size, abs=0.01)
    assert pdf_of(report, paper) == made


@pytest.mark.parametrize("title", [HOSTILE, SPACELESS, ""])
def test_a_hostile_title_is_only_words(report_with, quick, title):
    escaped = title.replace("\\", "\\\\").replace('"', '\\"').replace("\u202e", "\\u202e")
    report = report_with("hot_day", f'title="{escaped}"', without=quick)
    page = Page(html_of(report))
    assert "script" not in page.tags
    assert "img" not in page.tags
    assert "\u202e" not in html_of(report)
    text, drawings = markdown_of(report, "d")
    assert re.search(r"(?<!\\)[<`\[]", re.sub(r"!\[.*|^```.*$|<br>", "", text, flags=re.M)) is None
    assert all("<script" not in svg for _, svg in drawings)
    assert pdf_of(report).startswith(b"%PDF-")


def test_hostile_names_of_legs_and_parts_are_only_words(report_with, quick):
    name = "</text><script>x</script>$a_b$ 水" + "n" * 12
    report = report_with("hot_day", f'leg[0].name="{name}"', f'intake.part[0].name="{name}"',
                         without=quick)
    page = Page(html_of(report))
    assert "script" not in page.tags
    assert pdf_of(report).startswith(b"%PDF-")


def test_words_of_drawings_stay_within_them(report_with, quick):
    for name in ("base", "overreach", "ice", "frame_tubes"):
        report = report_with(name, without=quick) if name != "base" else report_with(name)
        for figure in report.figures:
            for item in figure.picture.items:
                if not hasattr(item, "text") or item.angle:
                    continue
                share = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
                start = item.x - share * item.length
                inside = (-1.0, figure.picture.width + 1.0)
                where = (name, figure.name, item.text)
                assert inside[0] <= start, where
                assert start + item.length <= inside[1], where
                assert 0.0 <= item.y <= figure.picture.height + 1.0, where


def test_drawings_tell_lines_apart_without_colour(whole_report):
    (figure,) = (f for f in whole_report.figures if f.name == "temperatures")
    drawn = [i for i in figure.picture.items if hasattr(i, "ops") and i.width > 1.0]
    assert len({i.dashes for i in drawn}) == 4
    for figure in whole_report.figures:
        for item in figure.picture.items:
            shades = [item.colour, getattr(item, "fill", "")]
            for shade in filter(None, shades):
                assert shade[1:3] == shade[3:5] == shade[5:7], (figure.name, shade)


def test_in_us_units_nothing_is_left_in_si(report_with):
    report = report_with("base", system="us", without=frozenset({"working", "inputs"}))
    page = Page(html_of(report))
    text = re.sub(r"--set \S+=\"[^\"]*\"", "", told(page))
    left = re.findall(r"-?\d[\d.]* (?:kPa|Pa|MPa|L|mm|m|K|°C|degC|m/s|kg|kJ|kW|L/min|W/K)\b", text)
    assert left == []
    assert "°F" in text


def test_sections_are_left_out_but_never_hazards_and_cautions(report_with):
    report = report_with("hot_day", without=frozenset(SECTIONS))
    assert [s.name for s in report.sections] == list(KEPT)
    assert ("left out", ", ".join(OPTIONAL)) in report.facts


@pytest.mark.parametrize(("name", "status", "word"), [
    ("base", 0, "VERDICT: CLEAR"), ("overreach", 1, "VERDICT: DANGER"),
])
def test_the_command_writes_and_ends_as_check_does(soakbox_report, name, status, word, tmp_path):
    target = tmp_path / "report.html"
    ran = soakbox_report(name, target, "--without", ",".join(OPTIONAL))
    assert ran.status == status
    assert ran.out == ""
    assert word in target.read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["report.html"]


def test_markdown_has_its_drawings_beside_it(soakbox_report, tmp_path):
    ran = soakbox_report("base", tmp_path / "plan b.md", "--without", "sizes,weather,doubt")
    assert ran.status == 0
    text = (tmp_path / "plan b.md").read_text(encoding="utf-8")
    links = re.findall(r"\]\((plan%20b_drawings/[\w-]+\.svg)\)", text)
    found = sorted(p.name for p in (tmp_path / "plan b_drawings").iterdir())
    assert sorted(Path(link).name for link in links) == found
    assert "side.svg" in found


@pytest.mark.parametrize(("name", "words"), [
    ("report.txt", "the ending says which"), ("-", "takes the name of a file"),
    (".html", "the ending says which"), ("folder.html", "is not a plain file"),
    ("none/report.html", "cannot write"), ("none/report.md", "cannot make the folder"),
])
def test_what_cannot_be_written_is_refused(soakbox_report, tmp_path, name, words):
    (tmp_path / "folder.html").mkdir()
    ran = soakbox_report("base", name if name == "-" else tmp_path / name, "--without",
                         ",".join(OPTIONAL))
    assert ran.status == 2
    assert words in ran.err
    assert [p.name for p in tmp_path.iterdir()] == ["folder.html"]


def test_an_unknown_section_is_refused(soakbox_report, tmp_path):
    ran = soakbox_report("base", tmp_path / "r.html", "--without", "hazards,plot")
    assert ran.status == 2
    assert "hazards, plot: no section that can be left out" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_every_drawing_has_a_name_of_its_own(whole_report):
    names = [figure.name for figure in whole_report.figures]
    assert len(set(names)) == len(names)
    assert all(isinstance(figure, Figure) for figure in whole_report.figures)


@pytest.mark.parametrize(("words", "shown"), [
    ("1. first", "1\\. first"), ("- 5 K", "\\- 5 K"), ("# a_b", "\\# a\\_b"), ("---", "\\---"),
    ("a\nb", "a b"), ("2 kPa", "2 kPa"), ("a|b <c>", "a\\|b \\<c\\>"),
])
def test_nothing_in_words_is_markup_of_markdown(words, shown):
    assert markdown.told(words) == shown


def test_paper_has_its_signs_but_not_where_something_is_typed():
    assert signs("5 degC over 2 m^2, 3 K (>=10)") == "5 °C over 2 m², 3 K (≥10)"
    line = '--set tank.start_temperature="5 degC"'
    assert signs(f"at 5 degC\n{line}") == f"at 5 °C\n{line}"


def test_each_of_two_passes_is_drawn_by_itself(report_with, quick):
    report = report_with("second_pass", without=quick)
    names = [figure.name for figure in report.figures]
    assert names[:4] == ["side", "temperatures", "temperatures-pass1", "temperatures-pass2"]
    first, second = ({i.text for i in f.picture.items if hasattr(i, "text")}
                     for f in report.figures[2:4])
    assert "1 down run" in first
    assert "7 return run" in second - first


def test_the_build_sheet_on_paper_is_that_of_the_command(report_with, sheet_with):
    said = told(Page(html_of(report_with("base", system="us"))))
    sheet = sheet_with("base")
    for answer in sheet.answers:
        if answer.value is not None:
            shown = amount(answer.value, answer.kind, "us", 4, answer.better)
            assert signs(shown) in said, answer.title
        if answer.value != answer.now:
            for setting in answer.put:
                assert setting.text("us") in said, answer.title
    assert "nine tenths of the relief's setting" in said
