"""A path on a terminal: the tests as a tree, with what to do at the end of each branch."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.text import Text
from rich.tree import Tree

from leastwise.graph.questions.path_values import Branch, Path, rest_in_words

__all__ = ["print_path"]


def print_path(path: Path, console: Console | None = None) -> None:
    """Print a path: the sentence, the tree, what is to be expected and what was taken for given."""
    console = console or Console()
    console.print(Text(path.sentence, style="bold"))
    console.print(Padding(_tree(path.first), (1, 0, 1, 0)))
    console.print(
        f"To be expected: {path.minutes:g} min of testing, burden {path.burden:.2f} "
        f"(added up over the problems), and a chance of {path.serves:.0%} that it can serve."
    )
    for title, lines in (
        ("Also needed, and taken as to be had", [change.label for change in path.also_needed]),
        ("Open tests that were not looked at", [trial.label for trial in path.left_out]),
    ):
        if lines:
            console.print(Text(f"\n{title}", style="bold"))
            for line in lines:
                console.print(Padding(f"- {line}", (0, 0, 0, 1)))


def _tree(branch: Branch) -> Tree:
    if branch.test is None:
        return _end(branch)
    tree = Tree(f"{branch.test.label} ({branch.test.minutes} min)")
    for result, inner in (("good", branch.if_good), ("bad", branch.if_bad)):
        if inner is not None:
            tree.add(f"if {result}").add(_tree(inner))
    return tree


def _end(branch: Branch) -> Tree:
    tree = Tree("it can serve" if branch.serves else "it can't serve yet")
    for choice in branch.choices:
        tree.add(
            f"{choice.problem}: {choice.label}" + ("" if choice.meets_aim else " (aim not met)")
        )
    if branch.rest:
        then = tree.add(rest_in_words(branch))
        changed = [c for c in branch.then if c not in branch.choices]
        for choice in changed:
            then.add(f"{choice.problem}: {choice.label}")
    return tree
