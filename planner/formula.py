"""A formula shown as it is worked: in symbols, with the numbers put in, and the value that it gives.

It works itself out when it is made and refuses a value that its own symbols do not give, so that what a trainee follows with
a calculator can't drift from what the program reckoned.
"""

from __future__ import annotations

import ast
import cmath
import math
import operator
import re
from collections.abc import Callable, Iterable, Iterator, Mapping

from planner.records import dataclass

_NEAR = 1e-5
_BINARY: dict[type, Callable[[complex, complex], complex]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
# a calculator's tan is of degrees here, as drill points and slopes are stated; sin, cos and acos are of radians
_FUNCTIONS: dict[str, Callable[[complex], complex]] = {
    "abs": abs,
    "sqrt": lambda value: math.sqrt(value.real),
    "tan": lambda degrees: math.tan(math.radians(degrees.real)),
    "sin": lambda angle: math.sin(angle.real),
    "cos": lambda angle: math.cos(angle.real),
    "acos": lambda value: math.acos(value.real),
}


@dataclass(frozen=True)
class Formula:
    """``name = symbols`` with the numbers ``of`` put in comes to ``value`` [``unit``].

    Attributes
    ----------
    name : str
        What it gives: ``V``, ``centroid radius``.
    symbols : str
        With ``+ - * / ^``, brackets, numbers, ``pi``, ``abs``, ``sqrt``, ``tan`` (of degrees), ``sin``, ``cos``, ``acos``
        (radians) and the keys of ``of``, which may have blanks in them.
    of : mapping of str to float or complex
        The numbers, those of other formulas of the same working among them; a complex one is a vector, shown as
        ``amount at angle``.
    value : float or complex
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
    of: Mapping[str, complex]
    value: complex
    unit: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        found = self.worked_out()
        if not cmath.isclose(found, self.value, rel_tol=_NEAR, abs_tol=1e-9):
            raise ArithmeticError(f"{self.name} = {self.symbols} is {found:.9g}, not {self.value:.9g}")

    def worked_out(self) -> complex:
        """Return what the symbols give with the numbers put in."""
        text = self._filled(lambda _, value: f"({value!r})").replace("^", "**")
        return _worth(ast.parse(text, mode="eval").body)

    def lines(self) -> tuple[str, str]:
        """Return it in symbols, and below that with the numbers put in."""
        remark = f"      ({self.remark})" if self.remark else ""
        unit = f" {self.unit}" if self.unit else ""
        value = _vector(self.value) if _is_vector(self.value) else f"{self.value:.6g}"
        put_in = self._filled(lambda _, value: shown(value))
        return f"{self.name} = {self.symbols}{remark}", f"  = {put_in} = {value}{unit}"

    def in_line(self, write: Callable[[str, complex], str]) -> str:
        """Return it in one line with the numbers put in as ``write`` writes a name's number; its own value has no name."""
        return f"{self._filled(write)} = {write('', self.value)}"

    def _filled(self, write: Callable[[str, complex], str]) -> str:
        if not self.of:
            return self.symbols
        names = sorted(self.of, key=len, reverse=True)
        pattern = "|".join(rf"(?<![\w.]){re.escape(name)}(?!\w)" for name in names)
        return re.sub(pattern, lambda found: write(found[0], self.of[found[0]]), self.symbols)


def shown(value: complex) -> str:
    """Return a number with the digits that a calculator needs; a negative one, or a vector, in brackets."""
    if _is_vector(value):
        return f"({_vector(value)})"
    text = f"{value:.8g}"
    return f"({text})" if value.real < 0.0 else text


def _is_vector(value: complex) -> bool:
    return isinstance(value, complex)


def _vector(value: complex) -> str:
    return f"{abs(value):.6g} at {math.degrees(cmath.phase(value)) % 360.0:.2f}"


def working_lines(working: Iterable[Formula | str]) -> Iterator[str]:
    """Yield a working line by line: formulas in two lines each, remarks as they are."""
    for each in working:
        yield from each.lines() if isinstance(each, Formula) else (each,)


def _worth(node: ast.expr) -> complex:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float | complex):
        return node.value
    if isinstance(node, ast.Name) and node.id == "pi":
        return math.pi
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        return -_worth(node.operand)
    if isinstance(node, ast.BinOp):
        return _BINARY[type(node.op)](_worth(node.left), _worth(node.right))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and len(node.args) == 1:
        return _FUNCTIONS[node.func.id](_worth(node.args[0]))
    raise ValueError(f"`{ast.unparse(node)}` is no part of a formula")
