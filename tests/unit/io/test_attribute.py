"""Texts as attributes of XML: as the standard library writes them, and nothing loaded for it."""

from __future__ import annotations

import subprocess
import sys
from xml.sax.saxutils import quoteattr

from hypothesis import given
from hypothesis import strategies as st

from planner.io.results.attribute import quoted


@given(st.text(alphabet=st.sampled_from("ab<>&\"'\n\r\té;#")))
def test_attributes_are_those_of_the_standard_library(text: str) -> None:
    """To the letter: the digests of beds hang on it."""
    assert quoted(text) == quoteattr(text)


def test_bed_files_load_no_networking() -> None:
    """What writes bed files asks for no ``ssl`` and no ``http``."""
    told = "import sys, planner.io.results.bed_files; print({'ssl', 'http.client'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
