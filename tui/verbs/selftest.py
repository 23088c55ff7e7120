"""``soakbox selftest``: whether this installation can be trusted, and what to send when not."""

from __future__ import annotations

import json
import textwrap
from dataclasses import asdict

import click

from tui.options import say

UNTRUSTED = 3
"""Exit status when a check fails."""
SEND = (
    "When you report a fault, send all of the above with the command you gave, what it printed, "
    "and the scenario file if you may. Nothing is sent by itself; your home folder stands as ~, "
    "but read it before you send it: another folder may carry a name."
)


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_context
def selftest(context: click.Context, as_json: bool) -> None:
    """Look at this installation: versions, folders, terminal, and a short run.

    Exit status: 0 all checks hold, 3 one fails, so that no number can be trusted.
    """
    from tui.selftest import selftest as look

    found = look()
    failed = any(f.holds is False for f in found)
    if as_json:
        say(json.dumps({"schema": 1, "holds": not failed, "found": [asdict(f) for f in found]},
                       indent=2))
    else:
        lines: list[str] = []
        group = ""
        for f in found:
            if f.group != group:
                lines += ["", f.group.upper()]
                group = f.group
            mark = {None: "  ", True: "ok", False: "XX"}[f.holds]
            lines += textwrap.wrap(f"{mark} {f.what:16} {f.found}", 79, initial_indent="  ",
                                   subsequent_indent=" " * 22, drop_whitespace=True)
        verdict = "A CHECK FAILS: trust no number" if failed else "all checks hold"
        lines += ["", verdict, "", *textwrap.wrap(SEND, 79)]
        say("\n".join(lines[1:]))
    context.exit(UNTRUSTED if failed else 0)
