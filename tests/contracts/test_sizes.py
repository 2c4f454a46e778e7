"""A function fits a screen, a file can be read in one go; what doesn't yet is named and may shrink.

A body is counted without its docstring. Goals: no body over 40 lines, 95 of 100 within 20, no
file over 400.
"""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCREEN, MOST, LONGEST_FILE = 20, 40, 400
WITHIN_A_SCREEN = 0.94  # measured 0.9407 on 2026-12-01; raise it when more are
#: What is over the limit, with lines that it must not pass; to be taken out, never added to.
BODIES = {
    "graph/planning/make.py:plan": 62,
}
FILES = {
    "graph/authoring/check_knowledge.py": 430,
    "graph/knowledge/concepts.py": 541,
    "graph/questions/why.py": 414,
    "graph/questions/changes.py": 408,
    "graph/questions/exposure_picture.py": 424,
}

PATHS = sorted([*ROOT.glob("graph/**/*.py"), *ROOT.glob("api/**/*.py")])


def bodies() -> list[tuple[str, int]]:
    """Return (file and function, lines of the body without the docstring) for every function."""
    found: list[tuple[str, int]] = []
    for path in PATHS:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                first = node.body[min(ast.get_docstring(node) is not None, len(node.body) - 1)]
                lines = (node.body[-1].end_lineno or 0) - first.lineno + 1
                found.append((f"{path.relative_to(ROOT)}:{node.name}", lines))
    return found


def test_no_further_body_is_over_forty_lines() -> None:
    found = {name: lines for name, lines in bodies() if lines > MOST}

    assert {n: lines for n, lines in found.items() if lines > BODIES.get(n, 0)} == {}
    assert set(BODIES) == set(found), "what fits by now goes from the list"


def test_most_bodies_fit_a_screen() -> None:
    found = [lines for _, lines in bodies()]

    assert len(found) > 3000
    assert sum(lines <= SCREEN for lines in found) / len(found) >= WITHIN_A_SCREEN


def test_no_further_file_is_over_four_hundred_lines() -> None:
    lengths = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in PATHS}
    found = {name: lines for name, lines in lengths.items() if lines > LONGEST_FILE}

    assert {n: lines for n, lines in found.items() if lines > FILES.get(n, 0)} == {}
    assert set(FILES) == set(found), "what fits by now goes from the list"
