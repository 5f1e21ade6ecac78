"""Simple arithmetic on named values: ``throw * 2 + 10 mm``, with access to nothing else."""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Mapping
from typing import Any

import pint
import simpleeval

from simprop.errors import nearest
from simprop.quantities import LITERAL, QuantityError, is_unit, literal, not_a_unit, registry, whole_literal

_OPERATORS: dict[type[ast.AST], Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: simpleeval.safe_power,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}
_LONGEST = 200
DEPENDS = "depends on"
"""How a fault begins that only follows from another one."""


def _angle(value: Any) -> float:
    return float(value.to("rad").magnitude) if isinstance(value, pint.Quantity) else float(value)


def _root(value: Any) -> Any:
    return value**0.5


_FUNCTIONS: dict[str, Callable[..., Any]] = {
    "sin": lambda v: math.sin(_angle(v)),
    "cos": lambda v: math.cos(_angle(v)),
    "tan": lambda v: math.tan(_angle(v)),
    "asin": lambda v: registry().Quantity(math.asin(_angle(v)), "rad"),
    "acos": lambda v: registry().Quantity(math.acos(_angle(v)), "rad"),
    "atan": lambda v: registry().Quantity(math.atan(_angle(v)), "rad"),
    "sqrt": _root,
    "abs": abs,
    "min": min,
    "max": max,
}


def evaluate(value: Any, names: Mapping[str, Any]) -> Any:
    """A value as written, as a pint quantity or a float.

    Args:
        value: a number, or text that is a literal (``3/4 in``) or an expression of `names` with
            ``+ - * / **``, brackets and sin, cos, tan, asin, acos, atan, sqrt, abs, min, max.
        names: what names stand for; None for one that couldn't be read.

    Raises:
        QuantityError: when it can't be read.

    Example:
        >>> evaluate("2 * throw + 1 mm", {"throw": literal("50", "mm")}).to("mm").magnitude
        101.0
    """
    if isinstance(value, bool) or value is None or isinstance(value, (list, dict)):
        raise QuantityError("a single value is wanted")
    if isinstance(value, (int, float)):
        return float(value)
    if isinstance(value, pint.Quantity):
        return value
    text = str(value).strip()
    for name in re.findall(r"[A-Za-z_]\w*", text):
        if name in names and names[name] is None:
            raise QuantityError(f"{DEPENDS} {name!r}, which can't be read")
    if text in names:
        return names[text]
    whole = whole_literal(text)
    if whole is not None:
        return whole
    return _expression(text, names)


def _expression(text: str, names: Mapping[str, Any]) -> Any:
    if len(text) > _LONGEST:
        raise QuantityError(f"longer than {_LONGEST} characters")
    known = dict(names)

    def replace(match: re.Match[str]) -> str:
        number, unit = match[1], match[2]
        if unit is not None and (unit in names or not is_unit(unit)):
            if unit in names:
                raise QuantityError(f"write {number} * {unit}")
            raise not_a_unit(unit)
        name = f"_literal{len(known)}"
        known[name] = literal(number, unit)
        return name

    code = re.sub(rf"(?<![\w.]){LITERAL.pattern}", replace, text)
    reader = simpleeval.SimpleEval(operators=_OPERATORS, functions=_FUNCTIONS, names=known)
    allowed = (ast.Expr, ast.BinOp, ast.UnaryOp, ast.Call, ast.Name, ast.Constant)
    reader.nodes = {kind: visit for kind, visit in reader.nodes.items() if issubclass(kind, allowed)}
    try:
        return reader.eval(code)
    except QuantityError:
        raise
    except simpleeval.NameNotDefined as error:
        near = nearest(str(error.name), [*names, *_FUNCTIONS])
        hint = f"; did you mean {near!r}?" if near else ""
        raise QuantityError(f"{error.name!r} is not a named value of this file{hint}", _what(names)) from None
    except ZeroDivisionError:
        raise QuantityError("divides by zero") from None
    except pint.DimensionalityError as error:
        raise QuantityError(f"units don't go together: {error}") from None
    except Exception:
        raise QuantityError("not a value with its unit, nor an expression of named values") from None


def _what(names: Mapping[str, Any]) -> str | None:
    return ", ".join(names) if names else None
