"""What the kernels use of numba, with types: a compiled function is called as it was written."""

from collections.abc import Callable
from typing import Any, TypeVar

_F = TypeVar("_F", bound=Callable[..., Any])

__version__: str

def njit(
    *,
    cache: bool = ...,
    nogil: bool = ...,
    error_model: str = ...,
    inline: str = ...,
    _nrt: bool = ...,
) -> Callable[[_F], _F]: ...
