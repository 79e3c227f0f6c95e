"""A compiled function taken out of the compiler and put back, without the work that only compiling needs.

The compiler's record of a function holds its machine code and the code that callers link in when they are
compiled. Of the second only the names are needed as long as nothing is compiled; to read it takes longer than
all the rest. Where the compiler is not built as it is expected here, its own way back is taken.
"""

from __future__ import annotations

import io
import pickle
import sys
from typing import Any

import llvmlite.binding as ll
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompileResult
from numba.core.environment import Environment, lookup_environment


class LinkedLater(JITCodeLibrary):
    """Machine code whose other half is read when a caller is compiled."""

    _bitcode: bytes = b""

    @classmethod
    def _unserialize(cls, codegen: Any, state: Any) -> Any:
        name, _, (machine_code, bitcode, names) = state
        made = cls(codegen, name)
        made.enable_object_caching()
        made._set_compiled_object(machine_code)
        made._bitcode = bitcode
        made._finalize_final_module()
        codegen._engine._defined_symbols.update(names)
        return made

    def _get_module_for_linking(self) -> Any:
        if self._shared_module is None:
            self._shared_module = ll.parse_bitcode(self._bitcode)
        return self._shared_module


def from_the_compiler(cres: Any) -> tuple[Any, ...]:
    """The record of a function, and the names that it defines."""
    library, descriptor, environment, signature, objectmode, lifted, _, *rest = cres._reduce()
    module = cres.library._get_module_for_linking()
    names = [
        one.name for of in (module.functions, module.global_variables) for one in of if not one.is_declaration
    ]
    return (library, descriptor, environment, signature, objectmode, lifted, "", *rest), names


def unpickled(held: bytes) -> Any:
    """A record as it was written; raises what `pickle` raises."""
    return _Reader(io.BytesIO(held)).load()


class _Reader(pickle.Unpickler):
    """Reads without importing what the compiler made parts of the function from: 0.4 s and 30 MB."""

    def find_class(self, module: str, name: str) -> Any:
        return _environment if name == "_rebuild_env" else super().find_class(module, name)


def _environment(module: str, constants: list[Any], name: str) -> Any:
    """What a function holds of the interpreter: its constants; the globals are for interpreted code alone."""
    found = lookup_environment(name)
    if found is None:
        held = sys.modules.get(module)
        found = Environment({"__name__": module} if held is None else held.__dict__)
        found.consts[:] = constants
        found.env_name = name
        Environment._memo[name] = found
    return found


def into_the_compiler(target_context: Any, record: tuple[Any, ...]) -> Any:
    """The function, ready to be called; the compiler is locked meanwhile by whoever asks."""
    (library, *rest), names = record
    codegen = target_context.codegen()
    name, kind, (machine_code, bitcode) = library
    try:
        before, codegen._library_class = codegen._library_class, LinkedLater
        try:
            later = (name, kind, (machine_code, bitcode, names))
            return CompileResult._rebuild(target_context, later, *rest)
        finally:
            codegen._library_class = before
    except (AttributeError, TypeError):  # another version of the compiler
        return CompileResult._rebuild(target_context, library, *rest)
