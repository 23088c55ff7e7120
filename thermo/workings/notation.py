"""Equations in plain notation: ``q = eps * Cmin * (Th - Tc)``, evaluated without eval."""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping

FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "atan": math.atan,
    "min": min,
    "max": max,
    "abs": abs,
}
"""Functions that an equation may use."""

CONSTANTS = {"pi": math.pi}

_BINARY: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


class NotationError(ValueError):
    """An equation cannot be read: unknown name or sign."""


def sides(equation: str) -> tuple[str, str]:
    """Return the name on the left of an equation, and the expression on its right."""
    left, sign, right = equation.partition("=")
    if not sign or not left.strip().isidentifier():
        raise NotationError(f"not an equation for one symbol: {equation}")
    return left.strip(), right.strip()


def names_in(equation: str) -> set[str]:
    """Return the symbols on the right of an equation, functions and pi left out."""
    tree = ast.parse(sides(equation)[1].replace("^", "**"), mode="eval")
    found = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return found - set(FUNCTIONS) - set(CONSTANTS)


def evaluate(equation: str, values: Mapping[str, float]) -> float:
    """Return what the right side of an equation comes to.

    Parameters
    ----------
    equation : str
        ``name = expression``, with ``+ - * / ^``, brackets, `FUNCTIONS` and ``pi``.
    values : mapping of str to float
        Number of each symbol.

    Returns
    -------
    float

    Raises
    ------
    NotationError
        A name or sign is not known.
    ArithmeticError, ValueError
        The numbers leave what the operations can do.
    """
    return _value(ast.parse(sides(equation)[1].replace("^", "**"), mode="eval").body, values)


def _value(node: ast.expr, values: Mapping[str, float]) -> float:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return float(node.value)
    if isinstance(node, ast.Name):
        found = CONSTANTS.get(node.id, values.get(node.id))
        if found is None:
            raise NotationError(f"no number for {node.id}")
        return found
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_value(node.operand, values)
    if isinstance(node, ast.BinOp) and type(node.op) in _BINARY:
        return _BINARY[type(node.op)](_value(node.left, values), _value(node.right, values))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        function = FUNCTIONS.get(node.func.id)
        if function is not None and not node.keywords:
            return float(function(*(_value(a, values) for a in node.args)))
    raise NotationError(f"not in the notation: {ast.unparse(node)}")
