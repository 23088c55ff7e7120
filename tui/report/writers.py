"""Which writer makes which kind of file."""

from __future__ import annotations

from pathlib import Path

from tui.report.document import Report

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
