"""The compiler from within: untyped."""

from typing import Any

def __getattr__(name: str) -> Any: ...
