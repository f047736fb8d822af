"""Mistakes drawn mechanically: where one can be made in a file, and what the file reads like with it.

What counts as no mistake, because no result can tell it from the code as it is, and is never drawn:

- words: docstrings, comments, annotations, whatever is said in ``raise``, ``assert`` or to a log, and ``main``;
- how fast or how much is kept, whether it is locked, how it prints: decorators, arguments named in :data:`SPEED`, files
  of :data:`BESIDE`;
- the way to a root, where the root is the same: how often a loop without a counter corrects, halved weights, what chooses
  between halving and secant (:data:`CHOOSING`), when it is close enough, functions that only lead a search
  (:data:`LEADING`);
- a floor below 1e-6 that only keeps a figure from nought (``max(x, 1e-9)``);
- another number that parts the same two values of a flag of the modes ``m``, which are 0 or 1 (2 for 1, ``< 1`` for
  ``< 0.5``); the arguments of a sum of both (:data:`ALIKE`), swapped;
- a boundary between floating-point figures (``<`` for ``<=``): such a comparison is turned round instead;
- in scripts numbers, which are places on a drawing, and lines that only style.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

SPEED = (
    "maxsize",
    "threads",
    "workers",
    "chunksize",
    "progress",
    "should_stop",
    "executor",
    "cache",
    "use_cache",
    "write",
    "repr",
)
CHOOSING = {"side", "step"}
CLOSE = {"CLOSE_ENOUGH"}
LEADING = ("margin",)
ALIKE = ("gas_speed",)
FLOOR = 1e-6
#: Files whose mistakes show only beside the project, or that hold tables of another program.
BESIDE = ("__init__.py", "__main__.py", "labextension", "built", "node_modules", "templates", "tests")
TURNED = {ast.Lt: ">=", ast.LtE: ">", ast.Gt: "<=", ast.GtE: "<", ast.Eq: "!=", ast.NotEq: "=="}
SHIFTED = {ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">"}
SWAPPED = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*"}
SAID = {
    "text",
    "entry",
    "debug",
    "info",
    "warning",
    "exception",
    "error",
    "InputError",
    "RefusedAct",
    "RunFailed",
}


@dataclass(frozen=True)
class Mutant:
    """A mistake: characters ``start`` to ``end`` of a file become ``new``."""

    path: str
    kind: str
    line: int
    start: int
    end: int
    old: str
    new: str

    def applied(self, source: str) -> str:
        """The file with the mistake in it."""
        assert source[self.start : self.end] == self.old
        return source[: self.start] + self.new + source[self.end :]

    def __str__(self) -> str:
        return f"{self.path}:{self.line} {self.kind}: {self.old!r} -> {self.new!r}"


class _Places(ast.NodeVisitor):
    """Collects what can be spoiled in a Python file."""

    def __init__(self, path: str, source: str) -> None:
        self.path, self.source = path, source
        self.starts = [0]
        for line in source.encode().split(b"\n"):
            self.starts.append(self.starts[-1] + len(line) + 1)
        self.bytes = source.encode()
        self.found: list[Mutant] = []

    def place(self, line: int, column: int) -> int:
        return len(self.bytes[: self.starts[line - 1] + column].decode())

    def add(self, kind: str, line: int, start: int, end: int, new: str) -> None:
        self.found.append(Mutant(self.path, kind, line, start, end, self.source[start:end], new))

    def span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.place(node.lineno, node.col_offset), self.place(node.end_lineno, node.end_col_offset)

    def between(self, left: ast.expr, right: ast.expr, new: str, kind: str) -> None:
        """Replace the operator that stands between two operands."""
        start, end = self.span(left)[1], self.span(right)[0]
        gap = self.source[start:end]
        found = re.search(r"(\*\*|//|<=|>=|==|!=|\band\b|\bor\b|[-+*/<>])", gap)
        if found and "#" not in gap:
            self.add(kind, left.lineno, start + found.start(), start + found.end(), new)

    # what is only said, or only fast, is left alone
    def visit_Raise(self, node: ast.Raise) -> None:
        pass

    def visit_Assert(self, node: ast.Assert) -> None:
        pass

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        if node.name == "main" or node.name in LEADING:
            return
        for child in node.body:
            self.visit(child)
        for value in (*node.args.defaults, *filter(None, node.args.kw_defaults)):
            self.visit(value)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for child in node.body:
            self.visit(child)

    def visit_If(self, node: ast.If) -> None:
        if isinstance(node.test, ast.Name) and node.test.id in ("TYPE_CHECKING", "PLAIN"):
            return
        if "__name__" in ast.dump(node.test):
            return
        names = {each.id for each in ast.walk(node.test) if isinstance(each, ast.Name)}
        if names <= CHOOSING or names & CLOSE:
            for child in (*node.body, *node.orelse):
                self.visit(child)
            return
        self.generic_visit(node)

    def visit_For(self, node: ast.For) -> None:
        if getattr(node.target, "id", "") != "_":
            self.visit(node.iter)
        for child in node.body:
            self.visit(child)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in SAID or name.endswith("Error"):
            return
        plain = [arg for arg in node.args if not isinstance(arg, ast.Starred)]
        if len(plain) == len(node.args) >= 2 and name not in (
            "isinstance",
            "getattr",
            "max",
            "min",
            "isclose",
        ):
            (a, b), (c, d) = self.span(plain[0]), self.span(plain[1])
            one, two, gap = self.source[a:b], self.source[c:d], self.source[b:c]
            if one != two and "\n" not in one + gap + two and name not in ALIKE:
                self.add("swapped arguments", node.lineno, a, d, two + gap + one)
        self.visit(node.func)
        for arg in node.args:
            floor = isinstance(arg, ast.Constant) and isinstance(arg.value, float) and arg.value <= FLOOR
            if name != "max" or not floor:
                self.visit(arg)
        for keyword in node.keywords:
            if keyword.arg not in SPEED:
                self.visit(keyword.value)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        words = (ast.Constant, ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp)
        said = any(
            isinstance(side, words) and not isinstance(getattr(side, "value", ""), (int, float))
            for side in (node.left, node.right)
        )
        new = SWAPPED.get(type(node.op))
        if new and not said:
            kind = "sign" if new in "+-" else "factor"
            self.between(node.left, node.right, new, kind)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        start, _ = self.span(node)
        if isinstance(node.op, ast.USub) and not isinstance(node.operand, ast.Constant):
            self.add("sign", node.lineno, start, start + 1, "")
        if isinstance(node.op, ast.Not):
            self.add("condition", node.lineno, start, start + 4, "")
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        if len(node.ops) == 1 and type(node.ops[0]) in TURNED:
            op, sides = type(node.ops[0]), (node.left, node.comparators[0])
            whole = any(_counts(side) for side in sides)
            new = SHIFTED[op] if whole and op in SHIFTED else TURNED[op]
            kind = "comparison shifted" if whole and op in SHIFTED else "comparison turned"
            self.between(sides[0], sides[1], new, kind)
        if _is_flag(node.left) and isinstance(node.ops[0], ast.Lt):
            return
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        self.between(
            node.values[0], node.values[1], "or" if isinstance(node.op, ast.And) else "and", "condition"
        )
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        start, end = self.span(node)
        if type(node.value) is float and node.value != 0.0:
            self.add("factor", node.lineno, start, end, repr(node.value * 2.0))
        if type(node.value) is int:
            self.add("off by one", node.lineno, start, end, repr(node.value + 1))
        if node.value is True or node.value is False:
            self.add("condition", node.lineno, start, end, repr(not node.value))

    def dropped(self, node: ast.stmt) -> None:
        start, end = self.span(node)
        if self.source.count("\n", start, end) < 6:
            self.add("dropped statement", node.lineno, start, end, "pass")

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Constant):
            return  # a docstring
        if isinstance(node.value, ast.Call):
            name = getattr(node.value.func, "attr", getattr(node.value.func, "id", ""))
            if name in SAID or name in ("addHandler", "add_argument", "sleep", "setflags"):
                return
            self.dropped(node)
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        if isinstance(node.op, ast.Mult) and isinstance(node.value, ast.Constant) and node.value.value == 0.5:
            return  # the Illinois variant's halved weight
        self.dropped(node)
        self.generic_visit(node)

    def visit_Assign(self, node: ast.Assign) -> None:
        if any(isinstance(target, (ast.Attribute, ast.Subscript)) for target in node.targets):
            self.dropped(node)
        plain = isinstance(node.value, (ast.Constant, ast.UnaryOp, ast.Tuple))
        names = {
            each.id for target in node.targets for each in ast.walk(target) if isinstance(each, ast.Name)
        }
        if plain and (names & CHOOSING or any(_is_flag(target) for target in node.targets)):
            return
        if not any(getattr(target, "id", "") == "__all__" for target in node.targets):
            self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        pass


def _is_flag(node: ast.expr) -> bool:
    """Whether it is one of the modes ``m`` of a run."""
    return isinstance(node, ast.Subscript) and getattr(node.value, "id", "") == "m"


def _counts(node: ast.expr) -> bool:
    """Whether an operand is a whole number: a literal or a length."""
    literal = isinstance(node, ast.Constant) and type(node.value) is int
    return literal or (isinstance(node, ast.Call) and getattr(node.func, "id", "") == "len")


#: In scripts: what is looked for, what stands instead, what it is called.
SCRIPTED = (
    (r" \+ (?=[\w(])(?!['\"`])", " - ", "sign"),
    (r" - ", " + ", "sign"),
    (r" \* ", " / ", "factor"),
    (r" / ", " * ", "factor"),
    (r" === ", " !== ", "comparison turned"),
    (r" !== ", " === ", "comparison turned"),
    (r" < ", " >= ", "comparison turned"),
    (r" >= ", " < ", "comparison turned"),
    (r" > ", " <= ", "comparison turned"),
    (r" && ", " || ", "condition"),
    (r" \|\| ", " && ", "condition"),
    (r"(?<=[(\s])!(?=[\w(])", "", "condition"),
)
STYLED = re.compile(r"""['"`]|//|/\*|^\s*\*|style|class|import |export |console""")
STATEMENT = re.compile(r"^(\s+)([A-Za-z_$][\w.$]*\([^;{}]*\)|[A-Za-z_$][\w.$]* [-+*]?= [^;{}]+);$")


def script_places(path: str, source: str) -> list[Mutant]:
    """What can be spoiled in a script: operators on lines without words, and whole statements."""
    found, at = [], 0
    for number, line in enumerate(source.splitlines(keepends=True), 1):
        if not STYLED.search(line):
            for pattern, new, kind in SCRIPTED:
                for hit in re.finditer(pattern, line):
                    start, end = at + hit.start(), at + hit.end()
                    found.append(Mutant(path, kind, number, start, end, hit.group(), new))
            whole = STATEMENT.match(line.rstrip("\n"))
            if whole and not re.match(r"\s+(const|let|return)\b", line):
                start, end = at + whole.start(2), at + whole.end(2)
                found.append(
                    Mutant(path, "dropped statement", number, start, end, source[start:end], "void 0")
                )
        at += len(line)
    return found


@cache
def python_places(path: str, source: str) -> list[Mutant]:
    """What can be spoiled in a Python file; a spoiled file that compiles to the same code is left out."""
    finder = _Places(path, source)
    finder.visit(ast.parse(source))
    same = ast.dump(ast.parse(source))
    out = []
    for mutant in finder.found:
        try:
            if ast.dump(ast.parse(mutant.applied(source))) != same:
                out.append(mutant)
        except SyntaxError:
            continue
    return out


def files_of(root: Path, paths: list[str]) -> Iterator[Path]:
    """The files below some paths that mistakes are drawn in."""
    for path in paths:
        below = root / path
        for file in [below] if below.is_file() else sorted(below.rglob("*")):
            parts = file.relative_to(root).parts
            if file.suffix in (".py", ".js", ".ts") and not any(part in BESIDE for part in parts):
                yield file


def drawn(root: Path, paths: list[str], seed: int, count: int) -> list[Mutant]:
    """So many mistakes, the layers in turn, then a file by its lines, then a place by chance; no two in one line.

    Parameters
    ----------
    root : of the project.
    paths : folders or files under it; each is a layer, ``simulator`` stands for all folders in it.
    seed, count : of the draw; how many [-].
    """
    layers = []
    for path in paths:
        inner = sorted(p for p in (root / path).iterdir() if p.is_dir()) if path == "simulator" else []
        layers += [p.relative_to(root).as_posix() for p in inner] or [path]
    pools: dict[str, list[Path]] = {}
    for layer in layers:
        files = list(files_of(root, [layer]))
        for kind, suffixes in (("", (".py",)), (" scripts", (".js", ".ts"))):
            some = [file for file in files if file.suffix in suffixes]
            if some:
                pools[layer + kind] = some
    chance = random.Random(seed)
    out: list[Mutant] = []
    lines: set[tuple[str, int]] = set()
    tries = 0
    while len(out) < count and tries < 100 * count:
        layer = list(pools)[tries % len(pools)]
        tries += 1
        sizes = [file.stat().st_size for file in pools[layer]]
        file = chance.choices(pools[layer], sizes)[0]
        name, source = file.relative_to(root).as_posix(), file.read_text(encoding="utf-8")
        places = python_places(name, source) if file.suffix == ".py" else script_places(name, source)
        if not places:
            continue
        kind = chance.choice(sorted({place.kind for place in places}))
        mutant = chance.choice([place for place in places if place.kind == kind])
        if (name, mutant.line) not in lines:
            lines.add((name, mutant.line))
            out.append(mutant)
    return out
