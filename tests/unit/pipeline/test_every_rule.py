"""Each sentence that a check can say has a test that breaks a sound plan, file by file, and expects it.

The table of rules and tests is the code itself: sentences are read from the checks, expectations from the
tests beside them.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import planner

PACKAGE = Path(planner.__file__).parent
UNIT = Path(__file__).resolve().parents[1]
CHECKS = sorted(path for path in PACKAGE.rglob("verify*.py"))
TESTS = sorted(UNIT.rglob("test_verify*.py"))
PREFIX = "bed {}: {}"  # a sentence of one bed, said of the bed
FEWEST = 150  # sentences; a reader of code that finds less has gone blind


def text(node: ast.AST) -> str | None:
    """A text with ``{}`` for all that is filled in."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return None


def said(source: str) -> Iterator[str]:
    """Texts that are yielded, appended, or listed in what is given back."""
    for node in ast.walk(ast.parse(source)):
        own: list[ast.expr] = []
        if isinstance(node, ast.Yield) and node.value is not None:
            own = [node.value]
        elif (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "append"
        ):
            own = list(node.args)
        elif isinstance(node, ast.ListComp | ast.GeneratorExp):
            own = [node.elt]
        elif isinstance(node, ast.Return) and isinstance(node.value, ast.List | ast.Tuple):
            own = list(node.value.elts)
        for one in own:
            words = text(one)
            if words is not None and len(re.findall(r"[a-z]+", words)) > 1 and words != PREFIX:
                yield words


def expected() -> set[str]:
    """Every text that stands in a test of a check."""
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in TESTS]
    return {words for tree in trees for node in ast.walk(tree) if (words := text(node)) is not None}


def _pattern(words: str) -> re.Pattern[str]:
    return re.compile(r"(bed \S+: )?" + ".+".join(map(re.escape, words.split("{}"))), re.DOTALL)


def _among(there: set[str], sentence: str) -> bool:
    words = sentence.replace("{}{}", "{}")
    longest, pattern = max(words.split("{}"), key=len), _pattern(words)
    return any(longest in one and pattern.fullmatch(one) for one in there)


def test_every_sentence_of_a_check_is_expected_by_a_test() -> None:
    """Whole, from its first word to its last."""
    there = expected()
    sentences = [(path, one) for path in CHECKS for one in said(path.read_text(encoding="utf-8"))]
    assert len(sentences) >= FEWEST
    missing = [f"{path.relative_to(PACKAGE)}: {one}" for path, one in sentences if not _among(there, one)]
    assert missing == []


def test_every_check_is_kept_apart_from_the_search() -> None:
    """The contract that forbids it to import the search names each of them."""
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = {one["id"]: one for one in project["tool"]["importlinter"]["contracts"]}
    modules = [path.relative_to(PACKAGE.parent).with_suffix("") for path in CHECKS]
    assert sorted(contracts["verifiers"]["source_modules"]) == sorted(
        ".".join(path.parts) for path in modules
    )


def test_a_sentence_without_a_test_is_seen() -> None:
    """Yielded, appended, in a list; texts that are no sentence are not asked for."""
    code = 'def f(a):\n    yield f"{a} is no spool"\n    b.append("it is wet")'
    code += '\n    return [f"{a} is old" for a in b]'
    assert sorted(said(code)) == ["it is wet", "{} is no spool", "{} is old"]
    assert _pattern("{} is old").fullmatch("bed 1: fin is old")
    assert not _pattern("{} is old").fullmatch("fin is older")
    assert list(said('x = "a b"\nyield_ = f"{x} c"')) == []
