"""The text of ``soakbox doubt``."""

from __future__ import annotations

import math

from thermo.doubt import FIGURES, Doubt, LimitChance, Spread
from thermo.doubt_chances import Chance
from thermo.doubt_ranges import Range
from thermo.units import System, format_number
from tui.text_sizes import answer_lines
from tui.wording import CAUTIONS, amount, localised, wrap

TOLD = 4
"""Drivers told of each limit; the others are weaker."""

METHOD = (
    "Scrambled Sobol points, {replicates} independent scrambles, seed {seed}. Inputs are taken as "
    "independent of each other: correlations between them are not modelled. Intervals of chances "
    "hold 95 %: Student's over the scrambles, or Clopper and Pearson's where fewer than 30 samples "
    "lie on one side. Drivers are ranked by Spearman's rank correlation with nearness to the "
    "limit; those that noise could bring (5 %, Bonferroni) are left out."
)


def percent(share: float) -> str:
    """Return a share as a number of per cent, with no digits that samples cannot tell."""
    hundredths = 100.0 * share
    if hundredths in (0.0, 100.0):
        return f"{hundredths:.0f}"
    if 1.0 <= hundredths <= 99.0:
        return f"{hundredths:.1f}"
    return f"{hundredths:.2f}"


def chance_words(chance: Chance) -> str:
    """Return a chance with its interval; as a range where failed variants leave it open."""
    middle = percent(chance.least)
    if chance.most > chance.least:
        middle += f" to {percent(chance.most)}"
    return f"{middle} % ({percent(chance.low)} to {percent(chance.high)})"


def _head(found: Doubt) -> list[str]:
    """Return what the whole comes to."""
    accepted = f"the {format_number(100 * found.chance, 3)} % accepted"
    danger = found.any_danger
    if danger.least > found.chance:
        against = f"more than {accepted}"
    elif danger.most > found.chance:
        against = f"{accepted} may be exceeded: it hangs on the samples without a verdict"
    else:
        against = f"not more than {accepted}"
    count = sum(r.shape != "exact" for r in found.ranges)
    taken = f"{found.samples:,} samples of {count} inputs in doubt"
    if found.samples != found.asked:
        taken += f" ({found.asked:,} asked for: taken up to a power of two)"
    failed = "every one has a verdict"
    if found.failed:
        failed = (
            f"{found.failed:,} have no verdict; each chance is given from all of them "
            "clear to all of them crossing"
        )
    return [
        wrap(found.title or "scenario"),
        "",
        wrap(f"CHANCE OF A DANGER: {chance_words(danger)}, {against}"),
        wrap(f"Chance of a caution or worse: {chance_words(found.any_caution)}"),
        wrap(f"As planned, with every input as it stands: {found.planned.verdict}."),
        wrap(f"{taken}; {failed}."),
        *(wrap(f"  {n:,} times {words}", 4) for words, n in found.failures.items()),
    ]


def _limit_lines(limit: LimitChance) -> list[str]:
    """Return the chances of one limit, and what drives it."""
    row = f"  {limit.name:<16}{chance_words(limit.danger):<29}{chance_words(limit.caution)}"
    if not limit.drivers:
        return [row]
    named = ", ".join(f"{d.key} {d.correlation:+.2f}" for d in limit.drivers[:TOLD])
    weaker = len(limit.drivers) - TOLD
    if weaker > 0:
        named += f", {weaker} weaker"
    return [row, wrap(f"      driven by {named}", 8)]


def _limits(found: Doubt) -> list[str]:
    """Return all limits: those that may go either way, then those that always go one."""
    open_ = [x for x in found.limits if not (x.danger.certain and x.caution.certain)]
    lines = ["CHANCE OF CROSSING EACH LIMIT, in per cent, with its 95 % interval"]
    if open_:
        lines.append(f"  {'':<16}{'danger':<29}caution or worse")
        for limit in sorted(open_, key=lambda x: (-x.danger.most, -x.caution.most)):
            lines += _limit_lines(limit)
        lines.append(
            wrap("  + more of the input is nearer the limit, - less of it is.", 4)
        )
    settled = [x for x in found.limits if x not in open_]
    for words, chosen in (
        ("a danger in every sample", [x for x in settled if x.danger.least == 1.0]),
        ("a caution in every sample",
         [x for x in settled if x.danger.least < 1.0 and x.caution.least == 1.0]),
        ("clear in every sample", [x for x in settled if x.caution.most == 0.0]),
    ):
        if chosen:
            lines.append(wrap(f"  {words}: {', '.join(x.name for x in chosen)}", 4))
    return lines


def _figure(spread: Spread, system: System) -> str:
    """Return what one figure may be."""
    label, kind, offset = FIGURES[spread.name]
    cells = [
        "-" if math.isnan(v) else amount(v + offset, kind, system).replace(" gauge", "")
        for v in (*spread.values, spread.planned)
    ]
    return f"  {label:<24}" + "".join(f"{cell:>13}" for cell in cells)


def _input(of: Range, system: System) -> list[str]:
    """Return the range of one input, and what it rests on."""
    def shown(value: float) -> str:
        return "-" if math.isnan(value) else amount(value, of.kind, system)

    row = f"  {of.key:<32}{shown(of.value):>18}"
    if of.shape == "exact":
        return [f"{row}  exact, as [doubt] says"]
    given = of.source == "[doubt]"
    ends = f"{shown(of.low)} to {shown(of.high)}"
    source = "from [doubt]" if given else localised(of.source, system)
    return [f"{row}  {of.shape if given else 'guess'}", wrap(f"      {ends}: {source}", 6)]


def doubt_text(found: Doubt, system: System = "si") -> str:
    """Return the whole text of ``soakbox doubt``.

    Parameters
    ----------
    found : Doubt
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    lines = [*_head(found), "", *_limits(found), "", "FIGURES"]
    lines.append(f"  {'':<24}{'5 %':>13}{'50 %':>13}{'95 %':>13}{'as planned':>13}")
    lines += [_figure(spread, system) for spread in found.spreads]
    if found.sizes:
        accepted = format_number(100 * found.chance, 3)
        lines += ["", wrap(f"SIZES that hold a chance of {accepted} % on the same samples: the "
                           "tank, of a danger that is the tank's; the duct, of the limits it is "
                           "sized by", 2)]
        for answer in found.sizes:
            lines += answer_lines(answer, system)
    lines += ["", "INPUTS IN DOUBT"]
    lines.append(f"  {'':<32}{'as planned':>18}  shape")
    for of in found.ranges:
        lines += _input(of, system)
    lines.append(
        wrap(
            "  A guess is triangular, likeliest as planned. Measure it and say so with "
            "shape = \"exact\" under [doubt.\"KEY\"], or give low and high there.",
            2,
        )
    )
    lines += [wrap(f"  {localised(note, system)}", 4) for note in found.notes]
    lines += ["", wrap(METHOD.format(replicates=found.replicates, seed=found.seed))]
    return "\n".join([*lines, "", wrap(CAUTIONS)])
