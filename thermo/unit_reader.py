"""Reads a unit expression, name by name: products and quotients with small whole powers.

Nothing is evaluated: the text is cut into names, powers, slashes and parentheses, and each name
is looked up alone by the caller. Towers of powers and arithmetic cannot be written in it.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from thermo.errors import UnitError
from thermo.unit_table import ONE, Dimension

Sized = tuple[float, Dimension]
"""Factor to SI and dimension."""

_TOKEN = re.compile(
    r"(?P<name>(?:in|mm|cm|ft)H2O|[A-Za-zµ][A-Za-z_µ]*)"
    r"(?P<power>\^\(?-?[0-9]\)?|\*\*-?[0-9](?![0-9*.])|-?[0-9](?![0-9.]))?"
    r"|(?P<mark>[()/*]|1(?=/))|(?P<joint>[ .·-])"
)
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")


def read_expression(text: str, lookup: Callable[[str], Sized]) -> Sized:
    """Read a unit text such as "L/min", "BTU/(h ft^2 degF)" or "W/m²·K".

    A space, a dot or a hyphen binds tighter than a slash, so "W/m K" is W/(m K); the check of
    the dimension that follows refuses the text wherever that is not what the field holds.

    Parameters
    ----------
    text : str
        Unit text of at most some 80 characters.
    lookup : callable
        Returns factor and dimension of one name, or raises UnitError.

    Returns
    -------
    tuple of (float, Dimension)
        Factor to SI and dimension.

    Raises
    ------
    UnitError
        The text is no such expression, a power is beyond 4, or a name is unknown.
    """
    return _Reader(text, lookup).read()


def times(left: Sized, right: Sized, power: int) -> Sized:
    """Return left times right to a whole power.

    Parameters
    ----------
    left, right : tuple of (float, Dimension)
        Factors with their dimensions.
    power : int
        Not zero.

    Returns
    -------
    tuple of (float, Dimension)
        The product.
    """
    a, b, c, d, e, f = (x + power * y for x, y in zip(left[1], right[1], strict=True))
    factor = left[0] * right[0] ** power if power > 0 else left[0] / right[0] ** -power
    return factor, (a, b, c, d, e, f)


class _Reader:
    """One pass over the tokens of one unit text."""

    def __init__(self, text: str, lookup: Callable[[str], Sized]) -> None:
        self.lookup = lookup
        self.tokens = _tokens(text)
        self.at = 0

    def read(self) -> Sized:
        result = self._expression()
        if self.at != len(self.tokens):
            raise _unreadable()
        return result

    def _peek(self, group: str) -> str:
        return (self.tokens[self.at][group] or "") if self.at < len(self.tokens) else ""

    def _expression(self) -> Sized:
        result = self._term()
        while (mark := self._peek("mark")) and mark in "/*":
            self.at += 1
            result = times(result, self._term(), -1 if mark == "/" else 1)
        return result

    def _term(self) -> Sized:
        result = self._atom()
        while self._peek("joint") or self._peek("name") or self._peek("mark") == "(":
            if self._peek("joint"):
                self.at += 1
            result = times(result, self._atom(), 1)
        return result

    def _atom(self) -> Sized:
        mark, name, power = self._peek("mark"), self._peek("name"), self._peek("power")
        first = self.at == 0
        self.at += 1
        if mark == "(":
            inner = self._expression()
            if self._peek("mark") != ")":
                raise _unreadable()
            self.at += 1
            return inner
        if mark == "1" and first:
            return 1.0, ONE
        if not name:
            raise _unreadable()
        exponent = int(re.sub(r"[*^()]", "", power)) if power else 1
        if not 1 <= abs(exponent) <= 4:
            raise UnitError("powers of a unit from -4 to 4 are accepted")
        return times((1.0, ONE), self.lookup(name), exponent)


def _tokens(text: str) -> list[re.Match[str]]:
    raised = re.sub(r"[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+", lambda m: "^" + m[0].translate(_SUPERSCRIPTS), text)
    tight = re.sub(r" ?(\*\*|[()/*^·]) ?", r"\1", raised)
    found: list[re.Match[str]] = []
    at = 0
    while at < len(tight):
        match = _TOKEN.match(tight, at)
        if match is None:
            raise _unreadable()
        found.append(match)
        at = match.end()
    return found


def _unreadable() -> UnitError:
    return UnitError("this unit cannot be read")
