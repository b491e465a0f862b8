"""How functions are compiled that compiled code alone calls: kept as intermediate code, never made machine code.

The compiler readies every function to run by itself, though the kernel takes all of its functions into itself and
nobody else calls them. Here only what the kernel takes is made: the optimised intermediate code. Results are the same
to the bit, and the first compilation takes a quarter less.

This leans on the inside of the compiler. Should that change, it is the time that is lost, or compilation that fails;
results cannot change.
"""

from __future__ import annotations

from typing import Any

import numba.core.codegen
import numba.core.compiler
import numba.core.compiler_machinery
import numba.core.typed_passes

# The compiler's own parts, which carry no types.
Library: Any = numba.core.codegen.JITCodeLibrary
CompilerBase: Any = numba.core.compiler.CompilerBase
DefaultPassBuilder: Any = numba.core.compiler.DefaultPassBuilder
LoweringPass: Any = numba.core.compiler_machinery.LoweringPass
register_pass: Any = numba.core.compiler_machinery.register_pass
AnnotateTypes: Any = numba.core.typed_passes.AnnotateTypes


class NoMachineCode:
    """What stands in for the machine: nothing is ever looked up in it."""

    @staticmethod
    def set_env(name: str, environment: Any) -> None:
        """Leave out what only a function that is called from Python needs."""


class InnerLibrary(Library):  # type: ignore[misc]
    """The code of one inner function, with that of those it calls."""

    codegen = NoMachineCode

    def _optimize_functions(self, module: Any) -> None:
        """Pass over a first round of each function alone; the round of all together does it again."""

    def _finalize_final_module(self) -> None:
        """End with the optimised intermediate code."""
        self._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        """Return nil, as for any function without a wrapper for Python."""
        self._ensure_finalized()
        return 0


@register_pass(mutates_CFG=False, analysis_only=False)
class KeepInside(LoweringPass):  # type: ignore[misc]
    """Give a function that is to be compiled the library above."""

    _name = "keep_inside"

    def __init__(self) -> None:
        LoweringPass.__init__(self)

    def run_pass(self, state: Any) -> bool:
        """Set the library into which the next pass writes."""
        state.library = InnerLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        return True


class InnerCompiler(CompilerBase):  # type: ignore[misc]
    """The compiler of inner functions: the usual passes, with the library set before code is written."""

    def define_pipelines(self) -> list[Any]:
        """Return the passes."""
        passes = DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.add_pass_after(KeepInside, AnnotateTypes)
        passes.finalize()
        return [passes]
