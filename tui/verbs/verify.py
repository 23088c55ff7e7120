"""``soakbox verify``: the published cases run on this machine."""

from __future__ import annotations

import json

import click

from tui.options import say

UNTRUSTED = 3
"""Exit status when a published number is missed."""


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.option("--brief", is_flag=True, help="Leave out the cases that hold.")
@click.pass_context
def verify(context: click.Context, as_json: bool, brief: bool) -> None:
    """Run the published cases on this machine, against the libraries installed here.

    Each number is told with its source, what is expected, what was got and the tolerance. Exit
    status: 0 all hold, 3 a number is missed, so that no other can be trusted.
    """
    from thermo.published import verification
    from tui.text_verify import verify_text

    checked = verification.verify()
    if as_json:
        say(json.dumps(verification.to_data(checked), indent=2, allow_nan=False))
    else:
        say(verify_text(checked, verification.versions(), brief))
    context.exit(0 if all(c.holds for c in checked) else UNTRUSTED)
