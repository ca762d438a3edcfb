"""Measure the house's size beside its yardstick: python tests/house/yardstick.py [--strict]

'body' is a function without its docstring, in lines; 'code' counts lines that are neither blank, comment nor docstring.
With --strict the end is an error when a maximum is passed and the module's docstring does not say why.
"""

import ast
import io
import sys
import tokenize
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TEMPLATE_MAX = 80
TESTS_TO_CODE, TESTS_TO_CORE = 1.4, 2.0
Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Layer:
    """What a layer's files may be: the longest file, the longest body, both in lines."""

    name: str
    patterns: tuple[str, ...]
    file_p95: int
    file_max: int
    body_p95: int
    body_max: int


LAYERS = (
    Layer("measurement, rules", ("checks/measurement/**/*.py", "checks/rules/**/*.py"), 250, 400, 30, 50),
    Layer("models", ("*/models/*.py",), 150, 200, 15, 30),
    Layer("services, selectors", ("*/services/*.py", "*/selectors/*.py", "checks/convert.py"), 200, 250, 30, 45),
    Layer(
        "views, api, jobs",
        ("*/pages/*.py", "*/api/*.py", "*/jobs/*.py", "*/web/*.py", "*/tablet/**/*.py", "reports/words/*.py",
         "reports/sentences/*.py", "*/jobs.py"),
        120, 200, 25, 40,
    ),
    Layer("tests", ("tests/**/*.py",), 200, 350, 20, 40),
)  # fmt: skip


@dataclass(frozen=True)
class Size:
    """One file, measured."""

    path: Path
    lines: int
    code: int
    comments: int
    bodies: tuple[tuple[str, int], ...]
    typed: tuple[bool, ...]
    documented: tuple[bool, ...]
    excused: bool


def measure(path: Path) -> Size:
    """Measure one file."""
    text = path.read_text()
    tree = ast.parse(text)
    functions = [node for node in ast.walk(tree) if isinstance(node, Function)]
    public = [node for node in functions if not node.name.startswith("_")]
    words = (ast.get_docstring(tree) or "").lower()
    return Size(
        path=path.relative_to(ROOT),
        lines=len(text.splitlines()),
        code=len(code_lines(text, tree)),
        comments=sum(token.type == tokenize.COMMENT for token in tokenize.generate_tokens(io.StringIO(text).readline)),
        bodies=tuple((node.name, body_length(node)) for node in functions),
        typed=tuple(node.returns is not None for node in functions),
        documented=tuple(ast.get_docstring(node) is not None for node in public),
        excused="long because" in words,
    )


def body_length(node: Function) -> int:
    """Return the lines of a function after its signature and docstring."""
    statements = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return (node.end_lineno or 0) - statements[0].lineno + 1 if statements else 0


def code_lines(text: str, tree: ast.Module) -> set[int]:
    """Return the numbers of the lines that hold code."""
    skipped = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT, tokenize.ENDMARKER}
    lines: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in skipped:
            lines.update(range(token.start[0], token.end[0] + 1))
    for node in ast.walk(tree):
        documented = isinstance(node, ast.Module | ast.ClassDef | Function)
        if documented and ast.get_docstring(node) is not None:
            first = node.body[0]
            lines.difference_update(range(first.lineno, (first.end_lineno or first.lineno) + 1))
    return lines


def quantile(values: Iterable[int], share: float) -> int:
    """Return the value that `share` of the values do not pass."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else 0


def sizes_of(layer: Layer) -> list[Size]:
    """Measure the files of a layer."""
    folders = {"tests"} if layer.name == "tests" else {"fleet", "checks", "reports"}
    paths = {path for pattern in layer.patterns for path in ROOT.glob(pattern)}
    ours = (
        path for path in sorted(paths) if path.relative_to(ROOT).parts[0] in folders and "migrations" not in path.parts
    )
    return [measure(path) for path in ours]


def breaches(layer: Layer, sizes: list[Size]) -> Iterator[str]:
    """Yield what passes a maximum without giving its reason."""
    for size in sizes:
        if size.excused:
            continue
        if size.lines > layer.file_max:
            yield f"{size.path} has {size.lines} lines (maximum {layer.file_max})"
        for name, length in size.bodies:
            if length > layer.body_max:
                yield f"{size.path}: {name} has {length} lines (maximum {layer.body_max})"


def share(flags: Iterable[bool]) -> str:
    """Return how many of the flags are set, in percent."""
    known = list(flags)
    return f"{100 * sum(known) / len(known):.0f} %" if known else "-"


def row(layer: Layer, sizes: list[Size]) -> str:
    """Return one line of the table, and below it the yardstick, with a star where it is passed."""
    bodies = [length for size in sizes for _, length in size.bodies]
    lines = [size.lines for size in sizes]
    code, comments = sum(size.code for size in sizes), sum(size.comments for size in sizes)
    cells = (
        f"{layer.name:<20}", f"{len(sizes):>5}", f"{code:>6}",
        f"{quantile(lines, 0.5):>4} /{quantile(lines, 0.95):>4} /{max(lines, default=0):>4}",
        f"{quantile(bodies, 0.5):>3} /{quantile(bodies, 0.95):>3} /{max(bodies, default=0):>3}",
        f"{share(flag for size in sizes for flag in size.typed):>6}",
        f"{share(flag for size in sizes for flag in size.documented):>6}",
        f"{100 * comments / max(code, 1):>5.1f} %",
    )  # fmt: skip
    files, body_95 = quantile(lines, 0.95), quantile(bodies, 0.95)
    stars = (files > layer.file_p95, max(lines, default=0) > layer.file_max,
             body_95 > layer.body_p95, max(bodies, default=0) > layer.body_max)  # fmt: skip
    asked = (
        f"{'  asked for at most':<35}",
        f"   - /{layer.file_p95:>3}{'*' * stars[0] or ' '}/{layer.file_max:>3}{'*' * stars[1]}",
        f" {'' if stars[1] else ' '} - /{layer.body_p95:>2}{'*' * stars[2] or ' '}/{layer.body_max:>3}{'*' * stars[3]}",
    )
    return "  ".join(cells) + "\n" + "  ".join(asked).rstrip()


def templates() -> Iterator[str]:
    """Yield the line of the templates, then each that passes its maximum."""
    paths = [path for name in ("fleet", "checks", "reports") for path in (ROOT / name).rglob("templates/**/*.html")]
    lengths = {path: len(path.read_text().splitlines()) for path in paths}
    yield (
        f"{'templates':<20}  {len(paths):>5}          {quantile(lengths.values(), 0.5):>4} /"
        f"{quantile(lengths.values(), 0.95):>4} /{max(lengths.values()):>4}\n"
        f"{'  asked for at most':<35}     - /  - /{TEMPLATE_MAX:>4}"
    )
    for path, length in lengths.items():
        if length > TEMPLATE_MAX:
            yield f"{path.relative_to(ROOT)} has {length} lines (maximum {TEMPLATE_MAX})"


def main(strict: bool) -> int:
    """Print the table and what passes a maximum."""
    print("layer                 files    code  file 50/95/max    body 50/95/max  typed   docs  comments")
    wrong: list[str] = []
    code: dict[str, int] = {}
    for layer in LAYERS:
        sizes = sizes_of(layer)
        code[layer.name] = sum(size.code for size in sizes)
        wrong += breaches(layer, sizes)
        print(row(layer, sizes))
    told, *long = templates()
    print(told)
    wrong += long
    core = [measure(path) for folder in ("measurement", "rules") for path in (ROOT / "tests" / folder).rglob("*.py")]
    ours = [measure(path) for package in ("fleet", "checks", "reports") for path in (ROOT / package).rglob("*.py")]
    all_code = sum(size.code for size in ours if "migrations" not in size.path.parts)
    of_core = sum(size.code for size in core) / max(code["measurement, rules"], 1)
    print(f"tests to code: {code['tests'] / max(all_code, 1):.2f} overall (asked for {TESTS_TO_CODE}),", end=" ")
    print(f"{of_core:.2f} in measurement and rules (asked for {TESTS_TO_CORE})")
    print(*wrong, sep="\n")
    return 1 if strict and wrong else 0


if __name__ == "__main__":
    sys.exit(main("--strict" in sys.argv))
