"""The compiler from within: untyped."""

from typing import Any

__version__: str

def __getattr__(name: str) -> Any: ...
