"""Quantity texts taken apart into a number and a unit text; texts made safe to print.

Nothing is guessed: arithmetic, spaces or commas inside a number and control characters are
refused with a word on how to write it.
"""

from __future__ import annotations

import re

from thermo.errors import UnitError
from thermo.unit_table import Kind

MAX_TEXT = 80
"""Longest accepted text of a quantity [characters]."""

_NUMBER = re.compile(
    r"(?P<sign>[+-]?) ?(?:(?:(?P<whole>[0-9]{1,9}) )?(?P<top>[0-9]{1,9})/(?P<bottom>[0-9]{1,9})"
    r"|(?P<plain>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?))"
)
_UNIT_START = re.compile(r"[A-Za-zµ%°º℃℉\"'″′”’(]|1 ?/ ?[A-Za-zµ(]")
_CHARACTERS = str.maketrans({
    "\u2212": "-", "\u2010": "-", "\u2011": "-", "μ": "µ", "⋅": "·",
    "\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u2002": " ", "\u2003": " ",
})


class QuantityTextError(UnitError):
    """A text cannot be read as a quantity of the kind asked for.

    Parameters
    ----------
    given : str
        The text, safe to print.
    allowed : str
        What is wrong and what would be accepted, in words.
    """

    def __init__(self, given: str, allowed: str) -> None:
        self.given = given
        self.allowed = allowed
        super().__init__(f"{given}: {allowed}")


def printable(text: str, limit: int = 60) -> str:
    """Return `text` safe to print: control characters as escapes, cut to `limit` characters.

    Parameters
    ----------
    text : str
        Any text, such as one from a file or the command line.
    limit : int
        Longest result, before the three dots that mark a cut [characters].

    Returns
    -------
    str
        Text of printable characters only.
    """
    shown = "".join(
        ch if ch.isprintable() else ch.encode("unicode_escape").decode("ascii")
        for ch in text[: limit + 1]
    )
    return shown if len(shown) <= limit else shown[:limit] + "..."


def quoted(text: str) -> str:
    """Return `text` in single quotes, safe to print.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        Printable characters only, at most some 65 of them.
    """
    return f"'{printable(text)}'"


def split_quantity(text: str, what: Kind) -> tuple[float, str]:
    """Split a quantity text into its number and its unit text.

    Parameters
    ----------
    text : str
        What was typed.
    what : Kind
        What the field holds, for the examples in a refusal.

    Returns
    -------
    tuple of (float, str)
        Number and unit text (empty when there is none), look-alike characters replaced.

    Raises
    ------
    QuantityTextError
        There is no single plain number, or what follows cannot be a unit.
    """
    shown = quoted(text)
    if len(text) > MAX_TEXT:
        raise QuantityTextError(shown, f"at most {MAX_TEXT} characters, {example_of(what)}")
    plain = tidy(text)
    if not plain:
        raise QuantityTextError(shown, f"nothing was given; {what.label} is {example_of(what)}")
    if not plain.isprintable():
        raise QuantityTextError(shown, f"control characters are not accepted; {example_of(what)}")
    match = _NUMBER.match(plain)
    if match is None:
        raise QuantityTextError(shown, f"expected a number first, {example_of(what)}")
    rest = plain[match.end() :]
    hint = _rest_hint(rest, plain, match, what)
    if hint:
        raise QuantityTextError(shown, hint)
    if match["plain"]:
        value = float(match["plain"])
    elif int(match["bottom"]) == 0:
        raise QuantityTextError(shown, "a fraction cannot have zero below the line")
    else:
        value = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    return (-value if match["sign"] == "-" else value), rest.strip()


def _rest_hint(rest: str, plain: str, match: re.Match[str], what: Kind) -> str:
    """Say why what follows the number cannot be a unit; empty when it may be one."""
    unit = rest.strip()
    if not unit or (_UNIT_START.match(unit) and not re.match(r" 1 ?/ ?[0-9]", rest)):
        return ""
    if unit[0] == ",":
        point = plain.replace(",", ".", 1)
        joined = re.sub(r"(?<=[0-9]),(?=[0-9]{3}(?![0-9]))", "", plain)
        which = point if joined == plain else f"{joined} for thousands or {point} for decimals"
        return f"a comma is not accepted in a number: write {which}"
    if rest[0] == " " and unit[0] in "0123456789.":
        joined = re.sub(r"(?<=[0-9]) (?=[0-9])", "", plain)
        return f"a space is not accepted inside a number: write {joined}"
    if unit[0] == "_":
        return "an underscore is not accepted in a number"
    if unit[0] == ":":
        return "a clock time is not accepted: write seconds or minutes, such as '90 s'"
    if unit[0] == "-" and re.match(r"[0-9]+/[0-9]", unit[1:]):
        return f"write a mixed number with a space: {match[0]} {unit[1:]}"
    return f"one number and one unit are accepted, no arithmetic or range; {example_of(what)}"


def tidy(text: str) -> str:
    """Return `text` with look-alike characters replaced and single spaces between words.

    Parameters
    ----------
    text : str
        What was typed; control characters other than an outer tab are kept for the caller to see.

    Returns
    -------
    str
        At most one character more than :data:`MAX_TEXT`.
    """
    return re.sub(r" +", " ", text[: MAX_TEXT + 1].translate(_CHARACTERS)).strip(" \t")


def example_of(what: Kind) -> str:
    """Return words that show how a quantity of this kind is written.

    Parameters
    ----------
    what : Kind
        The kind.

    Returns
    -------
    str
        Such as "such as '28 L' or '7.5 gal'".
    """
    return "such as " + " or ".join(f"'{text}'" for text in what.examples)


def show_number(value: float) -> str:
    """Show a number of any size without writing out millions of digits.

    Parameters
    ----------
    value : float
        A float or a whole number.

    Returns
    -------
    str
        Safe to print.
    """
    if isinstance(value, int) and value.bit_length() > 200:
        return f"a whole number of about {int(value.bit_length() * 0.30103)} digits"
    return printable(repr(value))


def show_object(value: object) -> str:
    """Show any value read from a file in a few characters; tables and lists are only named.

    Parameters
    ----------
    value : object
        Anything.

    Returns
    -------
    str
        Safe to print.
    """
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, bool):
        return str(value).lower()
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, (list, tuple)):
        return "a list"
    if isinstance(value, (int, float)):
        return show_number(value)
    return printable(str(value))
