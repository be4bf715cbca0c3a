"""An arithmetic expression as a short list of steps. It is read, checked and bounded here; nothing is ever evaluated
that is not in the lists of `arithmetic.py`.
"""

import ast
import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from pydantic_core import PydanticCustomError

from node_agent.render.arithmetic import ADD, DIVIDE, FUNCTIONS, MULTIPLY, NEGATE, REMAINDER, SUBTRACT, Operation

MAX_CHARACTERS: Final = 200
MAX_STEPS: Final = 64
MAX_NESTING: Final = 64
MAX_POWER: Final = 8

PLACES: Final = ("x", "y", "s")
TIMES: Final = ("t", "turn")
CONSTANTS: Final = ("width", "height", "length", "pi")
NAMES: Final = (*PLACES, *TIMES, *CONSTANTS)

_TOKEN: Final = re.compile(r"(?P<name>[A-Za-z_]\w*)|[\d.]+(?:[eE][+-]?\d+)?|[-+*/%(), \n]", re.ASCII)
_BINARY: Final[Mapping[type[ast.operator], Operation]] = MappingProxyType(
    {ast.Add: ADD, ast.Sub: SUBTRACT, ast.Mult: MULTIPLY, ast.Div: DIVIDE, ast.Mod: REMAINDER}
)
_NAMES_REMEDY: Final = f"use {', '.join(NAMES)}, or the functions {', '.join(FUNCTIONS)}"


@dataclass(frozen=True, slots=True)
class Step:
    """A number, a name, or an operation on earlier steps. `of_place`, `of_time`: whether its value depends on them."""

    number: float | None = None
    name: str | None = None
    operation: Operation | None = None
    arguments: tuple[int, ...] = ()
    of_place: bool = False
    of_time: bool = False


@lru_cache(maxsize=256)
def parse(text: str) -> tuple[Step, ...]:
    """The steps of an expression, whose value is that of the last; equal parts are one step.

    Raises PydanticCustomError, which names the character where it cannot go on, and the remedy.
    """
    _check_tokens(text)
    flat = text.replace("\n", " ")
    lead = len(flat) - len(flat.lstrip())
    try:
        tree = ast.parse(flat.strip(), mode="eval")
    except SyntaxError as error:
        at = lead + (error.offset or 1) - 1
        remedy = "look for a missing sign, comma or bracket"
        raise _refused(text, min(at, len(text)), "it does not go on as arithmetic", remedy) from error
    except (ValueError, MemoryError, RecursionError) as error:
        raise _refused(text, 0, "it cannot be read", "write it shorter") from error
    reader = _Reader(text, lead)
    reader.read(tree.body, 0)
    return tuple(reader.steps)


def _check_tokens(text: str) -> None:
    """Only signs and names that may occur: what is left for Python's parser holds no keyword and no text."""
    if len(text) > MAX_CHARACTERS:
        raise _refused(text, MAX_CHARACTERS, f"it has more than {MAX_CHARACTERS} characters", "write it shorter")
    at = 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            remedy = "write step(edge, value) for a comparison" if text[at] in "<>=!" else "use + - * / % ** ( ) and ,"
            raise _refused(text, at, f"{text[at]!a} has no meaning here", remedy)
        name = token["name"]
        if name and name not in NAMES and name not in FUNCTIONS:
            guesses = difflib.get_close_matches(name[:20], (*NAMES, *FUNCTIONS), n=1)
            raise _refused(
                text, at, f"there is no {name[:20]}", f"did you mean {guesses[0]}?" if guesses else _NAMES_REMEDY
            )
        at = token.end()


@dataclass(slots=True)
class _Reader:
    text: str
    lead: int
    steps: list[Step] = field(default_factory=list)
    _known: dict[Step, int] = field(default_factory=dict)

    def read(self, node: ast.expr, depth: int) -> int:
        """Adds the steps of a part of the expression; answers which one holds its value."""
        if depth > MAX_NESTING:
            raise self._refused(node, f"more than {MAX_NESTING} things stand inside one another", "write it flatter")
        match node:
            case ast.Constant(value=int() | float() as number):
                if not abs(number) <= 1e9:
                    raise self._refused(node, "the number is too large", "use numbers up to 1e9")
                return self._add(Step(number=float(number)), node)
            case ast.Name(id=name) if name in NAMES:
                return self._add(Step(name=name, of_place=name in PLACES, of_time=name in TIMES), node)
            case ast.Name(id=name):
                raise self._refused(node, f"{name} is a function", f"write {name}(...)")
            case ast.UnaryOp(op=ast.UAdd(), operand=operand):
                return self.read(operand, depth + 1)
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return self._apply(NEGATE, (self.read(operand, depth + 1),), node)
            case ast.BinOp(left=left, op=ast.Pow(), right=right):
                return self._power(self.read(left, depth + 1), right)
            case ast.BinOp(left=left, op=operator, right=right) if type(operator) in _BINARY:
                arguments = (self.read(left, depth + 1), self.read(right, depth + 1))
                return self._apply(_BINARY[type(operator)], arguments, node)
            case ast.Call(func=ast.Name(id=name), args=given, keywords=[]) if name in FUNCTIONS:
                function = FUNCTIONS[name]
                if len(given) != function.arguments:
                    plural = "" if function.arguments == 1 else "s"
                    raise self._refused(node, f"{name} has {len(given)}", f"give it {function.arguments} value{plural}")
                return self._apply(function, tuple(self.read(one, depth + 1) for one in given), node)
        raise self._refused(
            node, "it does not go on as arithmetic", "use + - * / % **, brackets, and functions of values"
        )

    def _power(self, base: int, exponent: ast.expr) -> int:
        if not (isinstance(exponent, ast.Constant) and type(exponent.value) is int and exponent.value <= MAX_POWER):
            raise self._refused(
                exponent,
                "a power must be a whole number",
                f"write one from 0 to {MAX_POWER} after **, or use sqrt, exp",
            )
        if exponent.value == 0:
            return self._add(Step(number=1.0), exponent)
        power = base
        for _ in range(exponent.value - 1):
            power = self._apply(MULTIPLY, (power, base), exponent)
        return power

    def _apply(self, operation: Operation, arguments: tuple[int, ...], node: ast.expr) -> int:
        of_place = any(self.steps[one].of_place for one in arguments)
        of_time = any(self.steps[one].of_time for one in arguments)
        return self._add(Step(None, None, operation, arguments, of_place, of_time), node)

    def _add(self, step: Step, node: ast.expr) -> int:
        if step not in self._known:
            if len(self.steps) >= MAX_STEPS:
                raise self._refused(node, f"it has more than {MAX_STEPS} steps", "write it shorter")
            self._known[step] = len(self.steps)
            self.steps.append(step)
        return self._known[step]

    def _refused(self, node: ast.expr, reason: str, remedy: str) -> PydanticCustomError:
        return _refused(self.text, self.lead + node.col_offset, reason, remedy)


def _refused(text: str, at: int, reason: str, remedy: str) -> PydanticCustomError:
    where = f"at character {at + 1}: " if text.strip() else ""
    return PydanticCustomError("formula", "{reason}", {"reason": where + reason, "remedy": remedy})
