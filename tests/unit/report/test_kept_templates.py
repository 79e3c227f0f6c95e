"""Templates that were kept give the page that those give which are compiled anew."""

from __future__ import annotations

from pathlib import Path

import jinja2
import pytest

from planner.report.sheets import kept_templates
from planner.report.sheets.kept_templates import KeptTemplates

TEXT = "{% for n in numbers %}<b>{{ n }}</b>{% endfor %}"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(kept_templates, "folders", lambda: (tmp_path / "kept",))
    return tmp_path / "kept"


def made(text: str, monkeypatch: pytest.MonkeyPatch, *, compiles: bool) -> str:
    """The page by an environment that knows nothing yet; whether it compiled."""
    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"page": text}), bytecode_cache=KeptTemplates(), autoescape=True
    )
    asked: list[object] = []
    compiled = environment.compile
    monkeypatch.setattr(environment, "compile", lambda *words: asked.append(words) or compiled(*words))
    page = environment.get_template("page").render(numbers=["a", "<"])
    assert bool(asked) == compiles
    return page


def test_a_template_is_compiled_once(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = made(TEXT, monkeypatch, compiles=True)
    assert first == "<b>a</b><b>&lt;</b>"
    assert len(list(place.glob("page-*.code"))) == 1
    assert made(TEXT, monkeypatch, compiles=False) == first


@pytest.mark.parametrize("told", ["version", "text", "cut", "other"])
def test_what_is_not_the_same_is_compiled_anew(
    told: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = made(TEXT, monkeypatch, compiles=True)
    (kept,) = place.iterdir()
    if told == "version":
        monkeypatch.setattr(jinja2, "__version__", "0.0")
    elif told == "cut":
        kept.write_bytes(kept.read_bytes()[:-5])
    elif told == "other":
        kept.write_bytes(b"x" * 500)
    text = TEXT + "!" if told == "text" else TEXT
    assert made(text, monkeypatch, compiles=True) == first + ("!" if told == "text" else "")
    assert made(text, monkeypatch, compiles=False) == first + ("!" if told == "text" else "")


def test_where_nothing_can_be_kept_it_is_compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setattr(kept_templates, "folders", lambda: (tmp_path / "file",))
    assert made(TEXT, monkeypatch, compiles=True) == made(TEXT, monkeypatch, compiles=True)
