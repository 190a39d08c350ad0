"""Small mistakes that somebody could make in a module, found in its syntax.

Words are left alone (sentences have tests of their own wording), and so is what only a reader or
a type checker sees: documentation, annotations, decorators, messages of exceptions.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from types import CodeType

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One mistake: in this file, from here to there of its text, ``was`` is written ``now``."""

    path: str
    line: int
    column: int
    start: int
    end: int
    was: str
    now: str
    nth: int
    """Of those alike in this file."""

    @property
    def name(self) -> str:
        """The same wherever it stands in its file."""
        nth = f" ({self.nth})" if self.nth > 1 else ""
        return f"{self.path}: {_short(self.was)} -> {_short(self.now)}{nth}"

    @property
    def place(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"

    def drawn(self, seed: int) -> str:
        """Its lot: the same as long as its code reads so, whatever stands elsewhere."""
        return sha256(f"{seed} {self.path} {self.was} {self.now} {self.nth}".encode()).hexdigest()

    def made(self, text: bytes) -> bytes:
        """The file with this mistake."""
        return text[: self.start] + self.now.encode() + text[self.end :]


def _short(code: str) -> str:
    one_line = " ".join(code.split())
    return one_line if len(one_line) <= 70 else f"{one_line[:67]}..."


def mutants_of(path: str, text: str) -> list[Mutant]:
    """Every mistake that is tried in this file, in the order of its lines.

    >>> [one.now for one in mutants_of("a.py", "def f(a):\\n    return a < 3")]
    ['return None', 'a <= 3', '4']
    """
    found, data, alike = [], text.encode(), Counter[tuple[str, str]]()
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line.encode()))
    for node, made in _mistakes(ast.parse(text)):
        assert node.end_lineno is not None and node.end_col_offset is not None
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        was = data[start:end].decode()
        found.append((start, -end, made, was, node.lineno, node.col_offset))
    mutants = []
    for start, end, made, was, line, column in sorted(found):
        words = _short(was), _short(made)
        alike[words] += 1
        mutants.append(Mutant(path, line, column, start, -end, was, made, alike[words]))
    return mutants


def function_of(text: str, line: int) -> tuple[str, int] | None:
    """Name and first line (of code) of the outermost function whose body has this line.

    >>> function_of("class A:\\n  @property\\n  def f(self, a=1):\\n    return 1", 4)
    ('f', 2)
    >>> function_of("class A:\\n  def f(self, a=1):\\n    return 1", 2)
    """
    waiting: list[ast.AST] = [ast.parse(text)]
    while waiting:
        node = waiting.pop()
        if not isinstance(node, ast.FunctionDef):
            waiting += ast.iter_child_nodes(node)
        elif node.body[0].lineno <= line <= (node.end_lineno or 0):
            return node.name, min([node.lineno, *(one.lineno for one in node.decorator_list)])
    return None


def code_of(code: CodeType, function: tuple[str, int]) -> CodeType | None:
    """The code of this function in that of its module."""
    for one in code.co_consts:
        if isinstance(one, CodeType):
            if (one.co_name, one.co_firstlineno) == function:
                return one
            if found := code_of(one, function):
                return found
    return None


def _mistakes(tree: ast.AST) -> Iterator[tuple[ast.expr | ast.stmt, str]]:
    for node in _looked_at(tree):
        for made in _of(node):
            yield node, made


def _looked_at(node: ast.AST) -> Iterator[ast.expr | ast.stmt]:
    """Each expression and statement that a program runs."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or _only_read(child):
                continue
            if isinstance(child, (ast.expr, ast.stmt)):
                yield child
            yield from _looked_at(child)


def _only_read(node: ast.AST) -> bool:
    """Documentation, text, what is raised, and what only a type checker reads."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    if isinstance(node, (ast.JoinedStr, ast.Raise, ast.Import, ast.ImportFrom, ast.Assert)):
        return True
    is_if = isinstance(node, ast.If) and isinstance(node.test, ast.Name)
    return is_if and node.test.id == "TYPE_CHECKING"  # type: ignore[attr-defined]


def _of(node: ast.expr | ast.stmt) -> Iterator[str]:
    for kind, mistake in MISTAKES.items():
        if isinstance(node, kind):
            for made in mistake(node):
                # An expression in brackets: what stands around it binds as before.
                yield made if isinstance(node, (ast.Return, ast.Constant)) else _around(node, made)


def _around(node: ast.AST, made: str) -> str:
    return f"({made})" if isinstance(node, (ast.BoolOp, ast.BinOp, ast.UnaryOp)) else made


def _compared(node: ast.Compare) -> Iterator[str]:
    for at, operator in enumerate(node.ops):
        ops = [*node.ops]
        ops[at] = COMPARED[type(operator)]()
        yield ast.unparse(ast.Compare(node.left, ops, node.comparators))


def _reckoned(node: ast.BinOp) -> Iterator[str]:
    if (other := RECKONED.get(type(node.op))) and not _is_text(node) and not _is_type(node):
        yield ast.unparse(ast.BinOp(node.left, other(), node.right))


def _is_text(node: ast.BinOp) -> bool:
    return any(isinstance(one, ast.JoinedStr) or _word(one) for one in (node.left, node.right))


def _is_type(node: ast.BinOp) -> bool:
    """``int | None``, or several classes: that breaks as the module is read."""
    last = node.right
    return (isinstance(last, ast.Constant) and last.value is None) or (
        isinstance(last, ast.Name) and (last.id[0].isupper() or last.id in ("int", "str", "float"))
    )


def _word(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, (str, bytes))


def _joined(node: ast.BoolOp) -> Iterator[str]:
    other = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
    yield ast.unparse(ast.BoolOp(other, node.values))


def _turned(node: ast.UnaryOp) -> Iterator[str]:
    if isinstance(node.op, (ast.Not, ast.USub)):
        yield ast.unparse(node.operand)


def _constant(node: ast.Constant) -> Iterator[str]:
    if isinstance(node.value, bool):
        yield str(not node.value)
    elif isinstance(node.value, (int, float)):
        yield repr(node.value + 1)


def _returned(node: ast.Return) -> Iterator[str]:
    if node.value is None or (isinstance(node.value, ast.Constant) and node.value.value is None):
        return
    yield "return None"


def _chosen(node: ast.IfExp) -> Iterator[str]:
    yield ast.unparse(ast.IfExp(ast.UnaryOp(ast.Not(), node.test), node.body, node.orelse))


def _called(node: ast.Call) -> Iterator[str]:
    if isinstance(node.func, ast.Name) and (other := CALLED.get(node.func.id)):
        yield ast.unparse(ast.Call(ast.Name(other), node.args, node.keywords))


MISTAKES: dict[type[ast.AST], Callable[..., Iterator[str]]] = {
    ast.Compare: _compared, ast.BinOp: _reckoned, ast.BoolOp: _joined, ast.UnaryOp: _turned,
    ast.Constant: _constant, ast.Return: _returned, ast.IfExp: _chosen, ast.Call: _called,
}  # fmt: skip
