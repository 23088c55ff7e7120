"""Which writer makes which kind of file, and the files written."""

from __future__ import annotations

from pathlib import Path

import click

from tui.options import out_path, shown, write_file
from tui.report.document import Report

ENDINGS = (".html", ".pdf", ".md")
Files = list[tuple[Path, str | bytes]]
"""Files to write with what goes into them; the one that was asked for is last."""


def content_of(report: Report, target: Path, paper: str = "a4") -> Files:
    """Return a report as the kind of file that the ending of a name says.

    Parameters
    ----------
    report : Report
    target : Path
        Ending in ``.html``, ``.pdf`` or ``.md``.
    paper : {'a4', 'letter'}

    Returns
    -------
    list of (Path, str or bytes)
        Markdown has its drawings in files of their own, in a folder beside it.
    """
    ending = target.suffix.lower()
    if ending == ".pdf":
        from tui.report.pdf import pdf_of

        return [(target, pdf_of(report, paper))]
    if ending == ".md":
        from tui.report.markdown import markdown_of

        text, drawings = markdown_of(report, f"{target.stem}_drawings")
        beside = [(target.parent / name, content) for name, content in drawings]
        return [*beside, (target, text)]
    from tui.report.html import html_of

    return [(target, html_of(report, paper))]


def _folder(path: Path) -> None:
    """Make the folder for drawings, unless it is there."""
    try:
        path.mkdir(exist_ok=True)
    except OSError as error:
        words = f"cannot make the folder {shown(path)}: {error.strerror}"
        raise click.ClickException(words) from None


def write(report: Report, out: Path, scenario: Path, paper: str = "a4") -> list[Path]:
    """Write a report.

    Parameters
    ----------
    report : Report
    out : Path
        Ending in one of `ENDINGS`.
    scenario : Path
        The scenario's file, which is not written over.
    paper : {'a4', 'letter'}

    Returns
    -------
    list of Path
        What was written; `out` is first.

    Raises
    ------
    click.ClickException
        If something cannot be written; no file is then left half written.
    """
    files = content_of(report, out_path(out, scenario, endings=ENDINGS), paper)
    for path, _ in files:
        out_path(path, scenario)
    for path, content in files:
        if path.parent != files[-1][0].parent:
            _folder(path.parent)
        write_file(path, content)
    return [path for path, _ in reversed(files)]
