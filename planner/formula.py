"""A formula shown as it is worked: in symbols, with the numbers put in, and the value that it gives.

It works itself out when it is made and refuses a value that its own symbols do not give, so that what a trainee follows with
a calculator can't drift from what the program reckoned.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from collections.abc import Callable, Iterator, Mapping, Sequence

from planner.records import dataclass

_NEAR = 1e-5
_BINARY: dict[type, Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
# a calculator's tan is of degrees here, as drill points and slopes are stated; sin, cos and acos are of radians
_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "sqrt": math.sqrt,
    "tan": lambda degrees: math.tan(math.radians(degrees)),
    "sin": math.sin,
    "cos": math.cos,
    "acos": math.acos,
}


@dataclass(frozen=True, kw_only=True)
class Formula:
    """``name = symbols`` with the numbers ``of`` put in comes to ``value`` [``unit``].

    Attributes
    ----------
    name : str
        What it gives: ``V``, ``centroid radius``.
    symbols : str
        With ``+ - * / ^``, brackets, numbers, ``pi``, ``sqrt``, ``tan`` (of degrees), ``sin``, ``cos``, ``acos`` (radians) and
        the keys of ``of``, which may have blanks in them.
    value : float
        What the program reckoned.
    remark : str
        Stands behind the symbols in brackets.

    Raises
    ------
    ArithmeticError
        If the symbols do not give the value.
    """

    name: str
    symbols: str
    of: Mapping[str, float]
    value: float
    unit: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        found = self.worked_out()
        if not math.isclose(found, self.value, rel_tol=_NEAR, abs_tol=1e-9):
            raise ArithmeticError(f"{self.name} = {self.symbols} is {found:.9g}, not {self.value:.9g}")

    def worked_out(self) -> float:
        """Return what the symbols give with the numbers put in."""
        text = self._filled(lambda value: f"({value!r})").replace("^", "**")
        return _worth(ast.parse(text, mode="eval").body)

    def lines(self) -> tuple[str, str]:
        """Return it in symbols, and below that with the numbers put in."""
        remark = f"      ({self.remark})" if self.remark else ""
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"{self.name} = {self.symbols}{remark}",
            f"  = {self._filled(shown)} = {self.value:.6g}{unit}",
        )

    def _filled(self, write: Callable[[float], str]) -> str:
        if not self.of:
            return self.symbols
        names = sorted(self.of, key=len, reverse=True)
        pattern = "|".join(rf"(?<![\w.]){re.escape(name)}(?!\w)" for name in names)
        return re.sub(pattern, lambda found: write(float(self.of[found[0]])), self.symbols)


def shown(value: float) -> str:
    """Return a number with the digits that a calculator needs; a negative one in brackets."""
    text = f"{value:.8g}"
    return f"({text})" if value < 0.0 else text


def working_lines(working: Sequence[Formula | str]) -> Iterator[str]:
    """Yield a working line by line: formulas in two lines each, remarks as they are."""
    for each in working:
        yield from each.lines() if isinstance(each, Formula) else (each,)


def _worth(node: ast.expr) -> float:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return float(node.value)
    if isinstance(node, ast.Name) and node.id == "pi":
        return math.pi
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_worth(node.operand)
    if isinstance(node, ast.BinOp):
        return _BINARY[type(node.op)](_worth(node.left), _worth(node.right))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and len(node.args) == 1:
        return _FUNCTIONS[node.func.id](_worth(node.args[0]))
    raise ValueError(f"`{ast.unparse(node)}` is no part of a formula")
