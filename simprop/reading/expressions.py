"""Simple arithmetic on named values: ``throw * 2 + 10 mm``, with access to nothing else."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

import pint

from simprop.errors import meant
from simprop.quantities import LITERAL, QuantityError, is_unit, literal, not_a_unit, registry, whole_literal

_OPERATORS: dict[type[ast.AST], Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: lambda base, power: base ** _exponent(power),
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}
_LONGEST = 200
_LONGEST_ASKED = 1000
"""The same of what measures are asked in."""
_HIGHEST = 12.0
"""Highest power that a value may be raised to."""
DEPENDS = "depends on"
"""How a fault begins that only follows from another one."""


def _angle(value: Any) -> float:
    return float(value.to("rad").magnitude) if isinstance(value, pint.Quantity) else float(value)


def _exponent(value: Any) -> float:
    power = float(value)
    if not abs(power) <= _HIGHEST:
        raise QuantityError(f"a power above {_HIGHEST:g}")
    return power


FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sin": lambda v: math.sin(_angle(v)),
    "cos": lambda v: math.cos(_angle(v)),
    "tan": lambda v: math.tan(_angle(v)),
    "asin": lambda v: registry().Quantity(math.asin(_angle(v)), "rad"),
    "acos": lambda v: registry().Quantity(math.acos(_angle(v)), "rad"),
    "atan": lambda v: registry().Quantity(math.atan(_angle(v)), "rad"),
    "sqrt": lambda v: v**0.5,
    "abs": abs,
    "min": min,
    "max": max,
}


Calls = Mapping[str, Callable[..., Any]]
"""Functions by name that take words and values: ``travel(neck, z)``; one that needs none goes without brackets."""


def evaluate(value: Any, names: Mapping[str, Any], calls: Calls | None = None) -> Any:
    """A value as written, as a pint quantity or a float.

    Args:
        value: a number, or text that is a literal (``3/4 in``) or an expression of `names` with
            ``+ - * / **``, brackets and sin, cos, tan, asin, acos, atan, sqrt, abs, min, max.
        names: what names stand for; None for one that couldn't be read.
        calls: further functions; a word among their arguments that names nothing, and what stands in quotes, is handed
            on as text.

    Raises:
        QuantityError: when it can't be read.

    Example:
        >>> evaluate("2 * throw + 1 mm", {"throw": literal("50", "mm")}).to("mm").magnitude
        101.0
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _real(value)
    if isinstance(value, pint.Quantity):
        return value
    if not isinstance(value, str):
        raise QuantityError("a single value is wanted")
    text = value.strip()
    longest = _LONGEST if calls is None else _LONGEST_ASKED
    if len(text) > longest:
        raise QuantityError(f"longer than {longest} characters")
    for name in re.findall(r"[A-Za-z_]\w*", text):
        if name in names and names[name] is None:
            raise QuantityError(f"{DEPENDS} {name!r}, which can't be read")
    if text in names:
        return names[text]
    whole = whole_literal(text)
    return _real(_expression(text, names, calls or {}) if whole is None else whole)


def _real(value: Any) -> Any:
    """The value if it is a finite real number, with or without a unit; numbers as floats."""
    size = value.magnitude if isinstance(value, pint.Quantity) else value
    try:
        finite = isinstance(size, (int, float)) and math.isfinite(size)
    except OverflowError:
        finite = False
    if not finite:
        raise QuantityError("not a finite number")
    return value if isinstance(value, pint.Quantity) else float(value)


class _UnknownError(Exception):
    """A name in an expression that stands for nothing."""


def _expression(text: str, names: Mapping[str, Any], calls: Calls) -> Any:
    known = dict(names)

    def keep(match: re.Match[str]) -> str:
        name = f"_text{len(known)}"
        known[name] = match[0][1:-1]
        return name

    def replace(match: re.Match[str]) -> str:
        number, unit = match[1], match[2]
        if unit is not None and (unit in names or not is_unit(unit)):
            if unit in names:
                raise QuantityError(f"write {number} * {unit}")
            raise not_a_unit(unit)
        name = f"_literal{len(known)}"
        known[name] = literal(number, unit)
        return name

    code = re.sub(r"\"[^\"]*\"|'[^']*'", keep, text) if calls else text
    code = re.sub(rf"(?<![\w.]){LITERAL.pattern}", replace, code)
    try:
        return _worked_out(ast.parse(code.strip(), mode="eval").body, known, calls)
    except QuantityError:
        raise
    except _UnknownError as error:
        hint = meant(str(error), [*names, *FUNCTIONS, *calls])
        if calls:
            raise QuantityError(f"{str(error)!r} is not a measure{hint}", ", ".join(calls)) from None
        raise QuantityError(f"{str(error)!r} is not a named value of this file{hint}", _what(names)) from None
    except ZeroDivisionError:
        raise QuantityError("divides by zero") from None
    except OverflowError:
        raise QuantityError("not a finite number") from None
    except Exception as error:
        raise _amiss(error) from None


def _amiss(error: Exception) -> QuantityError:
    """What is told where an expression can't be worked out."""
    # of a quantity and a word pint from 0.26 on says no more than that they are of two types
    if isinstance(error, pint.DimensionalityError) or "Quantity" in str(error):
        return QuantityError(f"units don't go together: {error}")
    return QuantityError("not a value with its unit, nor an expression of named values")


def _worked_out(node: ast.expr, known: Mapping[str, Any], calls: Calls) -> Any:
    """The value of an expression of names, operators and functions; anything else in it is a `SyntaxError`."""
    if isinstance(node, ast.BinOp):
        return _OPERATORS[type(node.op)](
            _worked_out(node.left, known, calls), _worked_out(node.right, known, calls)
        )
    if isinstance(node, ast.UnaryOp):
        return _OPERATORS[type(node.op)](_worked_out(node.operand, known, calls))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
        if node.func.id in calls:
            return calls[node.func.id](*(_word_or_value(v, known, calls) for v in node.args))
        if node.func.id not in FUNCTIONS:
            raise _UnknownError(node.func.id)
        return FUNCTIONS[node.func.id](*(_worked_out(v, known, calls) for v in node.args))
    if isinstance(node, ast.Name):
        if node.id in known:
            return known[node.id]
        if node.id not in calls:
            raise _UnknownError(node.id)
        return calls[node.id]()
    raise SyntaxError(ast.dump(node)[:40])


def _word_or_value(node: ast.expr, known: Mapping[str, Any], calls: Calls) -> Any:
    """An argument: a word such as ``hand.palm`` as text, anything else as its value."""
    words = isinstance(node, ast.Attribute) or (isinstance(node, ast.Name) and node.id not in known)
    return ast.unparse(node) if words else _worked_out(node, known, calls)


def _what(names: Mapping[str, Any]) -> str | None:
    return ", ".join(names) if names else None
